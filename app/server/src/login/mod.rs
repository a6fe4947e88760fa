//! Logging in from other machines: the page, passwords, tokens, what slows down guessing.

use std::net::SocketAddr;

use askama::Template;
use axum::extract::{ConnectInfo, State};
use axum::http::{HeaderMap, StatusCode, header};
use axum::response::{IntoResponse, Redirect, Response};

use crate::error::PageError;
use crate::fields::{Fields, FormView};
use crate::frame::{cookie, page};
use crate::state::{Access, App};

pub(crate) mod invitation;
mod passwords;
mod session;
mod throttle;

pub(crate) use session::{SESSION, new_token, still_logged_in};

/// What logging in remembers between requests.
pub(crate) struct Login {
    passwords: passwords::Passwords,
    throttle: throttle::Throttle,
}

impl Login {
    pub(crate) fn new() -> Self {
        Login { passwords: passwords::Passwords::new(), throttle: throttle::Throttle::new() }
    }
}

#[derive(Template)]
#[template(path = "login/page.html")]
struct LoginPage {
    style: String,
    academy: String,
    form: FormView,
}

#[derive(Template)]
#[template(path = "login/wait.html")]
struct WaitPage {
    style: String,
    academy: String,
    wait: String,
}

pub(crate) async fn academy_name(app: &App) -> Result<String, PageError> {
    Ok(app.book.academy().await?.map_or_else(|| "grapevine".to_owned(), |academy| academy.name))
}

async fn login_page(app: &App, form: FormView) -> Result<Response, PageError> {
    let academy = academy_name(app).await?;
    page(&LoginPage { style: app.assets.address("style.css"), academy, form })
}

/// The page to log in.
pub(crate) async fn show(State(app): State<App>) -> Result<Response, PageError> {
    match app.access {
        Access::ThisMachine => Ok(Redirect::to("/").into_response()),
        Access::LocalNetwork => login_page(&app, FormView::default()).await,
    }
}

/// Logs in, if name and password fit and nobody has been guessing.
pub(crate) async fn enter(
    State(app): State<App>,
    ConnectInfo(from): ConnectInfo<SocketAddr>,
    fields: Fields,
) -> Result<Response, PageError> {
    let (login, now) = (fields.text("login"), app.now());
    if let Err(wait) = app.login.throttle.attempt(login, from.ip(), now) {
        let academy = academy_name(&app).await?;
        let shown = WaitPage {
            style: app.assets.address("style.css"),
            academy,
            wait: throttle::in_words(wait),
        };
        let headers = [(header::RETRY_AFTER, wait.to_string())];
        return Ok((StatusCode::TOO_MANY_REQUESTS, headers, page(&shown)?).into_response());
    }
    let account = app.book.account(login).await?;
    let kept = account.as_ref().map(|account| account.password.clone());
    let fits = app.login.passwords.fits(fields.raw("password"), kept).await?;
    let Some(account) = account.filter(|_| fits) else {
        let mut form = FormView::new(Fields::of([("login", login.to_owned())]));
        form.wrong("login", "the name or the password is not right");
        let again = login_page(&app, form).await?;
        return Ok((StatusCode::UNPROCESSABLE_ENTITY, again).into_response());
    };
    app.login.throttle.succeeded(login, from.ip());
    // Said to nobody who does not know the password.
    if session::visitor(&app, account.clone()).await?.is_none() {
        let mut form = FormView::new(Fields::of([("login", login.to_owned())]));
        form.wrong("login", "the book says that you have left: ask your coach if that is wrong");
        let again = login_page(&app, form).await?;
        return Ok((StatusCode::FORBIDDEN, again).into_response());
    }
    session::begin(&app, account.id, "/").await
}

/// Logs out.
pub(crate) async fn leave(
    State(app): State<App>,
    headers: HeaderMap,
) -> Result<Response, PageError> {
    if let Some(token) = cookie(&headers, SESSION) {
        app.book.end_session(&token).await?;
    }
    Ok(([(header::SET_COOKIE, session::GONE)], Redirect::to("/login")).into_response())
}
