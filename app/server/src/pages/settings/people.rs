//! Who may log in: logins, invitations, and taking either away.

use std::collections::HashMap;

use academy::{Member, Role};
use askama::Template;
use axum::extract::{Path, State};
use axum::http::{HeaderMap, StatusCode, header};
use axum::response::{IntoResponse, Response};
use store::{AccountId, MemberId, StoreError};

use super::invited_as_picture::picture;
use crate::error::PageError;
use crate::fields::{Fields, FormView};
use crate::frame::{Frame, Tab, go, page};
use crate::login::invitation::{in_words, invite};
use crate::serve::network_address;
use crate::state::{Access, App};
use crate::visitor::Visitor;
use crate::wording::moment;

#[derive(Template)]
#[template(path = "pages/settings/people.html")]
struct PeoplePage {
    frame: Frame,
    form: FormView,
    on_network: bool,
    accounts: Vec<AccountView>,
    invitations: Vec<InvitationView>,
    roles: [(&'static str, &'static str); 3],
    people: Vec<(String, String)>,
}

struct AccountView {
    id: i64,
    login: String,
    role: &'static str,
    person: Option<String>,
    own: bool,
}

struct InvitationView {
    id: String,
    role: &'static str,
    person: Option<String>,
    until: String,
}

#[derive(Template)]
#[template(path = "pages/settings/invited.html")]
struct InvitedPage {
    frame: Frame,
    link: String,
    picture: String,
    person: Option<String>,
    role: &'static str,
}

async fn people_page(
    app: &App,
    visitor: &Visitor,
    headers: &HeaderMap,
    form: FormView,
) -> Result<Response, PageError> {
    let members: HashMap<MemberId, Member> = app.book.members().await?.into_iter().collect();
    let name = |id: Option<MemberId>| members.get(&id?).map(|member| member.name.clone());
    let accounts = app.book.accounts().await?.into_iter().map(|account| AccountView {
        id: account.id.0,
        role: account.role.id(),
        person: name(account.member),
        own: visitor.account == Some(account.id),
        login: account.login,
    });
    let invitations = app.book.invitations(app.now()).await?.into_iter();
    let invitations = invitations.map(|invitation| InvitationView {
        role: invitation.role.id(),
        person: name(invitation.member),
        until: moment(invitation.expires_at),
        id: invitation.id,
    });
    let mut people: Vec<_> = members.iter().filter(|(_, member)| !member.left).collect();
    people.sort_by_key(|(_, member)| member.name.to_lowercase());
    let people = people.into_iter().map(|(id, member)| (id.0.to_string(), member.name.clone()));
    let nobody = (String::new(), "nobody of the book".to_owned());
    page(&PeoplePage {
        frame: Frame::new(app, visitor, Some(Tab::Settings), "Logins", headers).await?,
        form,
        on_network: app.access == Access::LocalNetwork,
        accounts: accounts.collect(),
        invitations: invitations.collect(),
        roles: Role::ALL.map(|role| (role.id(), in_words(role))),
        people: std::iter::once(nobody).chain(people).collect(),
    })
}

pub(crate) async fn show(
    State(app): State<App>,
    visitor: Visitor,
    headers: HeaderMap,
) -> Result<Response, PageError> {
    people_page(&app, &visitor.coach()?, &headers, FormView::default()).await
}

/// Makes an invitation and shows its link, which can't be shown again later.
pub(crate) async fn make_invitation(
    State(app): State<App>,
    visitor: Visitor,
    headers: HeaderMap,
    fields: Fields,
) -> Result<Response, PageError> {
    let visitor = visitor.coach()?;
    let member = fields.text("member").parse().ok().map(MemberId);
    let mut form = FormView::new(fields);
    let Some(role) = Role::from_id(form.fields.text("role")) else {
        form.wrong("role", "choose what they may do");
        let again = people_page(&app, &visitor, &headers, form).await?;
        return Ok((StatusCode::UNPROCESSABLE_ENTITY, again).into_response());
    };
    let path = match invite(&app, role, member).await {
        Ok(path) => path,
        Err(PageError::Store(StoreError::Refused(told))) => {
            form.wrong("member", told);
            let again = people_page(&app, &visitor, &headers, form).await?;
            return Ok((StatusCode::UNPROCESSABLE_ENTITY, again).into_response());
        }
        Err(error) => return Err(error),
    };
    let person = match member {
        Some(member) => Some(app.book.member(member).await?.name),
        None => None,
    };
    let link = format!("http://{}{path}", host(&headers, app.access));
    page(&InvitedPage {
        frame: Frame::new(&app, &visitor, Some(Tab::Settings), "Invitation", &headers).await?,
        picture: picture(&link)?,
        link,
        person,
        role: role.id(),
    })
}

/// Under which address others reach this program: the one that the coach uses, or the machine's
/// in the local network where the coach sits at the machine itself.
fn host(headers: &HeaderMap, access: Access) -> String {
    let host = headers.get(header::HOST).and_then(|host| host.to_str().ok()).unwrap_or_default();
    let (name, port) = host.rsplit_once(':').unwrap_or((host, "80"));
    let here = name.eq_ignore_ascii_case("localhost") || name.starts_with("127.");
    match network_address() {
        Some(address) if here && access == Access::LocalNetwork => format!("{address}:{port}"),
        _ => host.to_owned(),
    }
}

/// Takes a login away. One's own stays, so that a coach is always left.
pub(crate) async fn revoke(
    State(app): State<App>,
    visitor: Visitor,
    Path(id): Path<i64>,
) -> Result<Response, PageError> {
    let visitor = visitor.coach()?;
    if visitor.account == Some(AccountId(id)) {
        let told = "your own login can only be taken away by another coach";
        return Err(PageError::Refused(told.to_owned()));
    }
    app.book.delete_account(AccountId(id)).await?;
    Ok(go("/settings/people", "The login is taken away and logged out everywhere"))
}

/// Takes an invitation back.
pub(crate) async fn withdraw(
    State(app): State<App>,
    visitor: Visitor,
    Path(id): Path<String>,
) -> Result<Response, PageError> {
    visitor.coach()?;
    app.book.withdraw_invitation(&id).await?;
    Ok(go("/settings/people", "The invitation is taken back"))
}
