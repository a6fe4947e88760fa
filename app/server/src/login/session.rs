//! Logged-in browsers: a random token in a cookie, of which the book keeps a hash.

use academy::Role;
use axum::http::{HeaderMap, header};
use axum::response::{IntoResponse, Redirect, Response};
use store::{Account, AccountId};

use crate::error::PageError;
use crate::frame::cookie;
use crate::state::App;
use crate::visitor::Visitor;

/// Name of the cookie.
pub(crate) const SESSION: &str = "grapevine_session";

/// The cookie of somebody who has logged out.
pub(super) const GONE: &str = "grapevine_session=; Path=/; Max-Age=0; HttpOnly; SameSite=Strict";

const DAY: i64 = 24 * 60 * 60;

/// Seconds for which a browser stays logged in after it was last used.
const LASTS: i64 = 30 * DAY;

/// A token nobody can guess: 256 random bits, in hexadecimal.
pub(crate) fn new_token() -> Result<String, PageError> {
    let mut bytes = [0; 32];
    getrandom::fill(&mut bytes).map_err(|error| PageError::Fault(error.to_string()))?;
    Ok(bytes.iter().map(|byte| format!("{byte:02x}")).collect())
}

/// Logs a browser in and goes to a page.
pub(super) async fn begin(app: &App, account: AccountId, to: &str) -> Result<Response, PageError> {
    let (token, now) = (new_token()?, app.now());
    app.book.begin_session(account, &token, now, now + LASTS).await?;
    // The book decides when it ends; the browser keeps the cookie for as long as browsers do.
    let cookie =
        format!("{SESSION}={token}; Path=/; Max-Age={}; HttpOnly; SameSite=Strict", 400 * DAY);
    Ok(([(header::SET_COOKIE, cookie)], Redirect::to(to)).into_response())
}

/// Who is logged in at the browser that sends these headers.
pub(crate) async fn still_logged_in(
    app: &App,
    headers: &HeaderMap,
) -> Result<Option<Visitor>, PageError> {
    let Some(token) = cookie(headers, SESSION) else { return Ok(None) };
    let now = app.now();
    let Some((account, expires_at)) = app.book.session(&token, now).await? else {
        return Ok(None);
    };
    // Once a day is enough to keep it going.
    if expires_at < now + LASTS - DAY {
        app.book.extend_session(&token, now + LASTS).await?;
    }
    visitor(app, account).await
}

/// Whom an account lets in. Students and assistants who are no longer here are not let in, however
/// that came into the book.
pub(super) async fn visitor(app: &App, account: Account) -> Result<Option<Visitor>, PageError> {
    let Account { id, login, role, member, .. } = account;
    let name = match member {
        Some(member) => {
            let member = app.book.member(member).await?;
            if member.left && role != Role::Coach {
                return Ok(None);
            }
            member.name
        }
        None => login,
    };
    Ok(Some(Visitor { name, role, member, account: Some(id) }))
}
