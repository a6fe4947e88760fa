//! Adding somebody and changing what is kept of them.

use academy::{Belt, Member, Role};
use askama::Template;
use axum::extract::{Path, State};
use axum::http::{HeaderMap, StatusCode};
use axum::response::{IntoResponse, Response};
use store::{Account, MemberId, Subject};

use super::form;
use crate::error::PageError;
use crate::fields::{Fields, FormView};
use crate::frame::{Frame, Tab, go, page};
use crate::state::App;
use crate::visitor::Visitor;

#[derive(Template)]
#[template(path = "pages/student/edit.html")]
struct EditPage {
    frame: Frame,
    form: FormView,
    action: String,
    back: String,
    revision: i64,
    changed_meanwhile: Option<&'static str>,
    pronouns: [(&'static str, &'static str); 4],
    roles: [(&'static str, &'static str); 3],
    belts: Vec<(&'static str, &'static str)>,
}

/// What is said when somebody else was faster. What was typed is still there.
const MEANWHILE: &str = "Somebody else changed the list of people in the meantime. What you typed \
    is still here and isn't kept yet: look at the page as it is now, then press Keep again.";

async fn edit_page(
    app: &App,
    visitor: &Visitor,
    headers: &HeaderMap,
    id: Option<MemberId>,
    form: FormView,
    changed_meanwhile: bool,
) -> Result<Response, PageError> {
    let (title, action, back) = match id {
        None => ("Add somebody".to_owned(), "/students/add".to_owned(), "/students".to_owned()),
        Some(id) => {
            let path = format!("/students/{}", id.0);
            (format!("Change {}", app.book.member(id).await?.name), path.clone(), path)
        }
    };
    page(&EditPage {
        frame: Frame::new(app, visitor, Some(Tab::Students), title, headers).await?,
        form,
        action,
        back,
        revision: app.book.revision(Subject::Roster).await?.0,
        changed_meanwhile: changed_meanwhile.then_some(MEANWHILE),
        pronouns: [("", "not said"), ("she", "she"), ("he", "he"), ("they", "they")],
        roles: Role::ALL.map(|role| (role.id(), role.id())),
        belts: Belt::ALL.iter().map(|belt| (belt.id(), belt.id())).collect(),
    })
}

pub(crate) async fn show_add(
    State(app): State<App>,
    visitor: Visitor,
    headers: HeaderMap,
) -> Result<Response, PageError> {
    let visitor = visitor.staff()?;
    let form = FormView::new(form::fields_of(&Member::default()));
    edit_page(&app, &visitor, &headers, None, form, false).await
}

pub(crate) async fn show_edit(
    State(app): State<App>,
    visitor: Visitor,
    Path(id): Path<i64>,
    headers: HeaderMap,
) -> Result<Response, PageError> {
    let visitor = visitor.staff()?;
    let member = app.book.member(MemberId(id)).await?;
    let form = FormView::new(form::fields_of(&member));
    edit_page(&app, &visitor, &headers, Some(MemberId(id)), form, false).await
}

pub(crate) async fn add(
    State(app): State<App>,
    visitor: Visitor,
    headers: HeaderMap,
    fields: Fields,
) -> Result<Response, PageError> {
    keep(&app, visitor.staff()?, &headers, None, fields).await
}

pub(crate) async fn change(
    State(app): State<App>,
    visitor: Visitor,
    Path(id): Path<i64>,
    headers: HeaderMap,
    fields: Fields,
) -> Result<Response, PageError> {
    keep(&app, visitor.staff()?, &headers, Some(MemberId(id)), fields).await
}

async fn keep(
    app: &App,
    visitor: Visitor,
    headers: &HeaderMap,
    id: Option<MemberId>,
    fields: Fields,
) -> Result<Response, PageError> {
    let by = app.by(&visitor, Some(fields.revision()?));
    let kept = match id {
        Some(id) => app.book.member(id).await?,
        None => Member::default(),
    };
    let mut form = FormView::new(fields);
    let member = form::read(&mut form, &kept, visitor.is_coach());
    let mut status = StatusCode::UNPROCESSABLE_ENTITY;
    if form.is_right() {
        let done = match id {
            Some(id) => app.book.change_member(&by, id, &member).await.map(|()| id),
            None => app.book.add_member(&by, &member).await,
        };
        match done {
            Ok(kept) => {
                let verb = if id.is_some() { "Changed" } else { "Added" };
                let said = format!("{verb} {}", member.name);
                return Ok(go(&format!("/students/{}", kept.0), &said));
            }
            Err(error) => status = form.not_kept("name", error)?,
        }
    }
    let meanwhile = status == StatusCode::CONFLICT;
    let again = edit_page(app, &visitor, headers, id, form, meanwhile).await?;
    Ok((status, again).into_response())
}

/// Marks somebody as no longer here, or as back.
pub(crate) async fn mark_left(
    State(app): State<App>,
    visitor: Visitor,
    Path(id): Path<i64>,
    fields: Fields,
) -> Result<Response, PageError> {
    let visitor = visitor.staff()?;
    let by = app.by(&visitor, Some(fields.revision()?));
    let mut member = app.book.member(MemberId(id)).await?;
    member.left = fields.text("left") == "yes";
    let accounts = app.book.accounts().await?.into_iter();
    let accounts: Vec<_> =
        accounts.filter(|account| member.left && account.member == Some(MemberId(id))).collect();
    let is_coach = |account: &Account| account.role == Role::Coach;
    if !visitor.is_coach() && accounts.iter().any(is_coach) {
        let told = "only a coach can mark somebody as no longer here who logs in as a coach";
        return Err(PageError::Refused(told.to_owned()));
    }
    if accounts.iter().any(|account| visitor.account == Some(account.id)) {
        let told = "your own login would end with that: let another coach mark you";
        return Err(PageError::Refused(told.to_owned()));
    }
    app.book.change_member(&by, MemberId(id), &member).await?;
    let mut now = if member.left { "is marked as no longer here" } else { "is back" }.to_owned();
    for account in &accounts {
        app.book.delete_account(account.id).await?;
    }
    if !accounts.is_empty() {
        now += " and can't log in any more";
    }
    Ok(go(&format!("/students/{id}"), &format!("{} {now}", member.name)))
}

/// Takes somebody out of the book whom no round and no class needs.
pub(crate) async fn delete(
    State(app): State<App>,
    visitor: Visitor,
    Path(id): Path<i64>,
    fields: Fields,
) -> Result<Response, PageError> {
    let visitor = visitor.staff()?;
    let by = app.by(&visitor, Some(fields.revision()?));
    let name = app.book.member(MemberId(id)).await?.name;
    app.book.delete_member(&by, MemberId(id)).await?;
    Ok(go("/students", &format!("Took {name} out of the book")))
}
