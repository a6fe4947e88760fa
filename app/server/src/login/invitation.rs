//! Invitations: a link that lets somebody make a login, once and within seven days.

use academy::Role;
use askama::Template;
use axum::extract::{Path, State};
use axum::http::StatusCode;
use axum::response::{IntoResponse, Response};
use store::{Invitation, MemberId, StoreError};

use super::{academy_name, new_token, session};
use crate::error::PageError;
use crate::fields::{Fields, FormView};
use crate::frame::page;
use crate::state::{Access, App};

/// Seconds for which an invitation can be used.
const LASTS: i64 = 7 * 24 * 60 * 60;

/// Characters of a password.
const SHORTEST_PASSWORD: usize = 10;

/// Characters of a password. Long enough for any sentence.
const LONGEST_PASSWORD: usize = 1000;

/// The path of the page where the first coach makes a login; `None` if one has, or if nobody has to
/// log in.
///
/// # Errors
/// The book's.
pub async fn first_invitation(app: &App) -> Result<Option<String>, StoreError> {
    if app.access == Access::ThisMachine {
        return Ok(None);
    }
    if app.book.accounts().await?.iter().any(|account| account.role == Role::Coach) {
        return Ok(None);
    }
    let token = new_token().map_err(|error| StoreError::Refused(error.to_string()))?;
    app.book.invite(Role::Coach, None, &token, app.now() + LASTS).await?;
    Ok(Some(path(&token)))
}

fn path(token: &str) -> String {
    format!("/welcome/{token}")
}

/// Invites somebody; gives the path of the page where they make their login.
pub(crate) async fn invite(
    app: &App,
    role: Role,
    member: Option<MemberId>,
) -> Result<String, PageError> {
    let token = new_token()?;
    app.book.invite(role, member, &token, app.now() + LASTS).await?;
    Ok(path(&token))
}

#[derive(Template)]
#[template(path = "login/welcome.html")]
struct WelcomePage {
    style: String,
    academy: String,
    name: Option<String>,
    may: &'static str,
    form: FormView,
}

#[derive(Template)]
#[template(path = "login/gone.html")]
struct GonePage {
    style: String,
    academy: String,
}

async fn gone(app: &App) -> Result<Response, PageError> {
    let style = app.assets.address("style.css");
    let shown = page(&GonePage { style, academy: academy_name(app).await? })?;
    Ok((StatusCode::GONE, shown).into_response())
}

/// A role in a list to choose from.
pub(crate) fn in_words(role: Role) -> &'static str {
    match role {
        Role::Student => "a student: their own page and rounds",
        Role::Assistant => "an assistant: rounds, classes and students",
        Role::Coach => "a coach: everything",
    }
}

/// What a role may do, said to whoever is invited.
fn may(role: Role) -> &'static str {
    match role {
        Role::Coach => "You're invited as a coach: you can see and change everything.",
        Role::Assistant => "You're invited as an assistant: rounds, classes and students.",
        Role::Student => "You're invited to see your own page and the rounds you are in.",
    }
}

async fn welcome_page(
    app: &App,
    invitation: &Invitation,
    form: FormView,
) -> Result<Response, PageError> {
    let name = match invitation.member {
        Some(member) => Some(app.book.member(member).await?.name),
        None => None,
    };
    page(&WelcomePage {
        style: app.assets.address("style.css"),
        academy: academy_name(app).await?,
        name,
        may: may(invitation.role),
        form,
    })
}

/// The page where an invited person makes a login.
pub(crate) async fn show(
    State(app): State<App>,
    Path(token): Path<String>,
) -> Result<Response, PageError> {
    match app.book.invitation(&token, app.now()).await? {
        Some(invitation) => welcome_page(&app, &invitation, FormView::default()).await,
        None => gone(&app).await,
    }
}

/// Makes the login and logs in.
pub(crate) async fn accept(
    State(app): State<App>,
    Path(token): Path<String>,
    fields: Fields,
) -> Result<Response, PageError> {
    let now = app.now();
    let Some(invitation) = app.book.invitation(&token, now).await? else {
        return gone(&app).await;
    };
    let login = fields.text("login").to_owned();
    // What was typed as the password is not sent back.
    let mut form = FormView::new(Fields::of([("login", login.clone())]));
    let password = fields.raw("password");
    match password.chars().count() {
        ..SHORTEST_PASSWORD => form.wrong("password", "at least 10 characters are needed"),
        SHORTEST_PASSWORD..=LONGEST_PASSWORD => {}
        _ => form.wrong("password", "this is longer than anybody can type"),
    }
    if login.is_empty() {
        form.wrong("login", "a name is needed");
    }
    if form.is_right() {
        let hash = app.login.passwords.hash(password).await?;
        match app.book.accept_invitation(&token, now, &login, &hash).await {
            Ok(account) => return session::begin(&app, account, "/").await,
            Err(StoreError::Refused(told)) => form.wrong("login", told),
            Err(StoreError::Missing(_)) => return gone(&app).await,
            Err(error) => return Err(error.into()),
        }
    }
    let again = welcome_page(&app, &invitation, form).await?;
    Ok((StatusCode::UNPROCESSABLE_ENTITY, again).into_response())
}
