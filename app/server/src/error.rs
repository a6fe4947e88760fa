//! Errors as pages, or as JSON for the pages' own scripts.

use askama::Template;
use axum::Json;
use axum::extract::{Request, State};
use axum::http::{HeaderMap, HeaderValue, Method, StatusCode, header};
use axum::middleware::Next;
use axum::response::{Html, IntoResponse, Redirect, Response};
use review::EditError;
use serde_json::json;
use store::StoreError;

use crate::state::{App, NotUnderstood};

/// Why a page could not be given or a change not be made.
#[derive(Debug, thiserror::Error)]
pub(crate) enum PageError {
    /// Nobody is logged in.
    #[error("log in first")]
    LogIn,
    /// The role does not allow it.
    #[error("this page is not yours to see")]
    NotYours,
    /// There is no such page.
    #[error("there is no such page")]
    NoPage,
    /// What was sent cannot be.
    #[error("{0}")]
    Refused(String),
    /// What was sent does not go together with what is there.
    #[error("{0}")]
    Clash(String),
    /// The book.
    #[error(transparent)]
    Store(#[from] StoreError),
    /// The answers contradict each other.
    #[error(transparent)]
    Understand(#[from] NotUnderstood),
    /// An edit that cannot be.
    #[error(transparent)]
    Edit(#[from] EditError),
    /// It took longer than anybody waits.
    #[error("that took too long and was given up: try again")]
    TooSlow,
    /// Figures take longer than a page waits.
    #[error("the rounds are still being added up: this page looks again by itself")]
    StillAdding,
    /// A fault of the program.
    #[error("something went wrong in the program: {0}")]
    Fault(String),
}

impl PageError {
    pub(crate) fn refused(error: impl std::fmt::Display) -> Self {
        PageError::Refused(error.to_string())
    }

    fn status(&self) -> StatusCode {
        match self {
            PageError::LogIn => StatusCode::UNAUTHORIZED,
            PageError::NotYours => StatusCode::FORBIDDEN,
            PageError::NoPage | PageError::Store(StoreError::Missing(_)) => StatusCode::NOT_FOUND,
            PageError::TooSlow => StatusCode::REQUEST_TIMEOUT,
            PageError::StillAdding => StatusCode::SERVICE_UNAVAILABLE,
            PageError::Clash(_) | PageError::Store(StoreError::OutOfDate) => StatusCode::CONFLICT,
            PageError::Refused(_)
            | PageError::Understand(_)
            | PageError::Edit(_)
            | PageError::Store(StoreError::Refused(_)) => StatusCode::UNPROCESSABLE_ENTITY,
            PageError::Store(StoreError::CannotWrite(_)) => StatusCode::INSUFFICIENT_STORAGE,
            PageError::Store(_) | PageError::Fault(_) => StatusCode::INTERNAL_SERVER_ERROR,
        }
    }
}

/// After how many seconds a page that waits for figures looks again.
const LOOK_AGAIN: &str = "2";

/// What is said to somebody whose form would have to wait for figures.
const STILL_ADDING_A_FORM: &str =
    "The rounds are still being added up: go back, and send the form again in a moment.";

/// What a page's script says that stays with what was typed or pressed there.
const LOGGED_OUT: &str = "You are logged out. Log in in another tab, then try again.";

/// The message of an error, for [`as_asked`] to word.
#[derive(Clone)]
struct Told(String);

#[derive(Template)]
#[template(path = "error.html")]
struct ErrorPage<'a> {
    title: &'a str,
    text: &'a str,
    style: String,
}

impl IntoResponse for PageError {
    fn into_response(self) -> Response {
        if let PageError::LogIn = self {
            let mut response = Redirect::to("/login").into_response();
            response.extensions_mut().insert(Told(LOGGED_OUT.to_owned()));
            return response;
        }
        let text = reports::wording::capital(&self.to_string());
        let mut response = self.status().into_response();
        response.extensions_mut().insert(Told(text));
        if let PageError::StillAdding = self {
            let again = HeaderValue::from_static(LOOK_AGAIN);
            response.headers_mut().insert(header::RETRY_AFTER, again.clone());
            response.headers_mut().insert(header::REFRESH, again);
        }
        response
    }
}

/// Whether a page's script asks, not a person's browser for a page.
pub(crate) fn asked_by_script(headers: &HeaderMap) -> bool {
    let accept = headers.get(header::ACCEPT).and_then(|value| value.to_str().ok());
    accept.is_some_and(|accept| accept.starts_with("application/json"))
}

/// Words errors as whoever asked can take them.
pub(crate) async fn as_asked(State(app): State<App>, request: Request, next: Next) -> Response {
    let script = asked_by_script(request.headers());
    // A browser that looks again asks for the page, and what was sent with a form is gone.
    let looks_again = matches!(*request.method(), Method::GET | Method::HEAD);
    let response = next.run(request).await;
    let status = response.status();
    let text = match response.extensions().get::<Told>() {
        Some(_) if status == StatusCode::SERVICE_UNAVAILABLE && !looks_again => {
            STILL_ADDING_A_FORM.to_owned()
        }
        Some(Told(text)) => text.clone(),
        // What the framework refuses has a plain text of its own; a missing page has none.
        None if status == StatusCode::NOT_FOUND => "There is no such page.".to_owned(),
        None => return response,
    };
    if script {
        // A script that is led to another page would take that for its answer.
        let status = if status.is_redirection() { StatusCode::UNAUTHORIZED } else { status };
        return (status, Json(json!({ "error": text }))).into_response();
    }
    if status.is_redirection() {
        return response;
    }
    let title = match status {
        StatusCode::NOT_FOUND => "Not here",
        StatusCode::FORBIDDEN => "Not yours to see",
        StatusCode::SERVICE_UNAVAILABLE => "One moment",
        StatusCode::CONFLICT => "Changed in the meantime",
        status if status.is_server_error() => "That did not work",
        _ => "That cannot be",
    };
    let page = ErrorPage { title, text: &text, style: app.assets.address("style.css") };
    let mut headers = response.headers().clone();
    if !looks_again {
        headers.remove(header::REFRESH);
    }
    let mut response = match page.render() {
        Ok(html) => (status, Html(html)).into_response(),
        Err(error) => (status, error.to_string()).into_response(),
    };
    for name in [header::RETRY_AFTER, header::REFRESH] {
        if let Some(value) = headers.get(&name) {
            response.headers_mut().insert(name, value.clone());
        }
    }
    response
}

#[cfg(test)]
mod tests {
    use tower::ServiceExt as _;

    use super::*;

    #[tokio::test]
    async fn only_a_page_looks_again_by_itself() {
        let folder = tempfile::tempdir().unwrap();
        let book = store::Book::open(folder.path()).await.unwrap();
        let app = App::new(book, crate::Access::ThisMachine).unwrap();
        let waits = async || PageError::StillAdding;
        let routes = axum::Router::new()
            .route("/", axum::routing::get(waits).post(waits))
            .layer(axum::middleware::from_fn_with_state(app.clone(), as_asked))
            .with_state(app);
        for (method, looks) in [("GET", true), ("HEAD", true), ("POST", false)] {
            let request = Request::builder().method(method).uri("/");
            let request = request.body(axum::body::Body::empty()).unwrap();
            let response = routes.clone().oneshot(request).await.unwrap();
            assert_eq!(response.status(), StatusCode::SERVICE_UNAVAILABLE);
            let refresh = response.headers().contains_key(header::REFRESH);
            assert_eq!(refresh, looks, "{method}");
            let text = axum::body::to_bytes(response.into_body(), usize::MAX).await.unwrap();
            let again = String::from_utf8_lossy(&text).contains("looks again by itself");
            assert_eq!(again, method == "GET", "{method}");
        }
    }

    #[test]
    fn a_page_that_waits_for_figures_looks_again_by_itself() {
        let response = PageError::StillAdding.into_response();
        assert_eq!(response.status(), StatusCode::SERVICE_UNAVAILABLE);
        assert_eq!(response.headers()[header::REFRESH], LOOK_AGAIN);
        let told = response.extensions().get::<Told>().map(|told| told.0.clone());
        assert!(told.is_some_and(|told| told.contains("still being added up")));
        assert!(!PageError::NoPage.into_response().headers().contains_key(header::REFRESH));
    }
}
