//! The frame around every page: name of the academy, ways to the other pages, what was just done.

use askama::Template;
use axum::http::HeaderMap;
use axum::response::{Html, IntoResponse, Response};
use cookie::Cookie;

use crate::error::PageError;
use crate::state::{Access, App};
use crate::visitor::Visitor;

/// Which of the main pages one is on.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Tab {
    Today,
    Rounds,
    Students,
    Settings,
}

/// What the frame shows. Every page's template has one as `frame` and extends `frame.html`.
pub(crate) struct Frame {
    pub(crate) title: String,
    pub(crate) academy: String,
    pub(crate) invented: bool,
    pub(crate) visitor: Visitor,
    pub(crate) tab: Option<Tab>,
    /// What was just done, or why it was not.
    pub(crate) said: Option<Said>,
    pub(crate) logged_in: bool,
    pub(crate) style: String,
    pub(crate) script: String,
}

/// A sentence about what was just done.
#[derive(Clone, Debug)]
pub(crate) struct Said {
    pub(crate) text: String,
    pub(crate) bad: bool,
}

impl Frame {
    pub(crate) async fn new(
        app: &App,
        visitor: &Visitor,
        tab: Option<Tab>,
        title: impl Into<String>,
        headers: &HeaderMap,
    ) -> Result<Self, PageError> {
        let academy = app.book.academy().await?;
        Ok(Frame {
            title: title.into(),
            invented: academy.as_ref().is_some_and(|academy| academy.invented),
            academy: academy.map_or_else(|| "grapevine".to_owned(), |academy| academy.name),
            visitor: visitor.clone(),
            tab,
            said: said(headers),
            logged_in: app.access == Access::LocalNetwork,
            style: app.assets.address("style.css"),
            script: app.assets.address("frame.js"),
        })
    }

    pub(crate) fn is(&self, tab: Tab) -> bool {
        self.tab == Some(tab)
    }
}

/// A page as a response.
pub(crate) fn page(template: &impl Template) -> Result<Response, PageError> {
    let html = template.render().map_err(|error| PageError::Fault(error.to_string()))?;
    Ok(Html(html).into_response())
}

/// The cookie that carries a sentence over a redirect.
pub(crate) const SAID: &str = "grapevine_said";

fn said(headers: &HeaderMap) -> Option<Said> {
    let text = cookie(headers, SAID)?;
    let (bad, text) = match text.strip_prefix('!') {
        Some(text) => (true, text.to_owned()),
        None => (false, text),
    };
    Some(Said { text, bad })
}

/// The value of a cookie.
pub(crate) fn cookie(headers: &HeaderMap, name: &str) -> Option<String> {
    headers
        .get_all(axum::http::header::COOKIE)
        .iter()
        .filter_map(|header| header.to_str().ok())
        .flat_map(|header| Cookie::split_parse_encoded(header.to_owned()).flatten())
        .find(|cookie| cookie.name() == name)
        .map(|cookie| cookie.value().to_owned())
}

/// Goes to a page and says there what was done.
pub(crate) fn go(to: &str, said: &str) -> Response {
    let cookie = Cookie::build((SAID, said.to_owned()))
        .path("/")
        .http_only(true)
        .same_site(cookie::SameSite::Strict)
        .max_age(cookie::time::Duration::seconds(30));
    let cookie = cookie.build().encoded().to_string();
    ([(axum::http::header::SET_COOKIE, cookie)], axum::response::Redirect::to(to)).into_response()
}
