//! What no request gets past: whose address it names, from whose page it comes, what its answer
//! may load.

use std::net::IpAddr;
use std::time::Duration;

use axum::extract::{Request, State};
use axum::http::header::{self, HeaderValue};
use axum::http::{HeaderMap, Method, StatusCode};
use axum::middleware::Next;
use axum::response::{IntoResponse, Response};

use crate::error::PageError;
use crate::frame::SAID;
use crate::state::{Access, App};

/// Everything comes from here; nothing is written inside the pages.
const POLICY: &str = "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data:; \
    media-src 'self' blob:; connect-src 'self'; form-action 'self'; base-uri 'none'; \
    frame-ancestors 'none'";

/// Adds what every answer carries.
pub(crate) async fn headers(request: Request, next: Next) -> Response {
    let had_said = request
        .headers()
        .get(header::COOKIE)
        .and_then(|value| value.to_str().ok())
        .is_some_and(|cookies| cookies.contains(SAID));
    let shown = request.method() == Method::GET;
    let mut response = next.run(request).await;
    let is_page = response
        .headers()
        .get(header::CONTENT_TYPE)
        .is_some_and(|kind| kind.as_bytes().starts_with(b"text/html"));
    let headers = response.headers_mut();
    // What leaves the book as a file of its own brings a policy that is stricter still.
    let policy = HeaderValue::from_static(POLICY);
    headers.entry(header::CONTENT_SECURITY_POLICY).or_insert(policy);
    headers.insert(header::X_CONTENT_TYPE_OPTIONS, HeaderValue::from_static("nosniff"));
    headers.insert(header::REFERRER_POLICY, HeaderValue::from_static("same-origin"));
    headers.insert("cross-origin-opener-policy", HeaderValue::from_static("same-origin"));
    headers.insert("cross-origin-resource-policy", HeaderValue::from_static("same-origin"));
    headers.entry(header::CACHE_CONTROL).or_insert(HeaderValue::from_static("no-store"));
    if had_said && shown && is_page {
        headers.append(
            header::SET_COOKIE,
            HeaderValue::from_static(
                "grapevine_said=; Path=/; Max-Age=0; HttpOnly; SameSite=Strict",
            ),
        );
    }
    response
}

/// How long a request may take from its head to its answer, with all that is sent in between.
const LONGEST: Duration = Duration::from_secs(60);

/// Gives up requests that do not come to an end, so that nobody can hold the program by dripping
/// a form into it.
pub(crate) async fn in_time(request: Request, next: Next) -> Response {
    match tokio::time::timeout(LONGEST, next.run(request)).await {
        Ok(response) => response,
        Err(_) => PageError::TooSlow.into_response(),
    }
}

/// Refuses requests that name another host, and changes that another site's page asks for.
pub(crate) async fn own_pages_only(
    State(app): State<App>,
    request: Request,
    next: Next,
) -> Response {
    let changes = !matches!(*request.method(), Method::GET | Method::HEAD);
    match refusal(request.headers(), changes, app.access) {
        Some((status, told)) => (status, told).into_response(),
        None => next.run(request).await,
    }
}

fn refusal(
    headers: &HeaderMap,
    changes: bool,
    access: Access,
) -> Option<(StatusCode, &'static str)> {
    let text = |name: &str| headers.get(name).and_then(|value| value.to_str().ok());
    let host = text("host").unwrap_or_default();
    if !is_served(host, access) {
        return Some((StatusCode::MISDIRECTED_REQUEST, "This address is not served here.\n"));
    }
    let own = match (text("origin"), text("sec-fetch-site")) {
        (Some(origin), _) => origin.split_once("://").is_some_and(|(_, other)| other == host),
        (None, Some(site)) => site == "same-origin",
        // Browsers send one of the two with every change.
        (None, None) => false,
    };
    let told = "Changes are taken from this program's own pages only.\n";
    (changes && !own).then_some((StatusCode::FORBIDDEN, told))
}

/// Whether a Host header names this machine. A page of another site that had its name resolve to
/// this machine would come with that name; so a name other than `localhost` is refused, and an
/// address is taken.
fn is_served(host: &str, access: Access) -> bool {
    let name = match host.rsplit_once(':') {
        Some((name, port)) if port.bytes().all(|digit| digit.is_ascii_digit()) => name,
        _ => host,
    };
    if name.eq_ignore_ascii_case("localhost") {
        return true;
    }
    let bare = name.strip_prefix('[').and_then(|name| name.strip_suffix(']')).unwrap_or(name);
    match bare.parse::<IpAddr>() {
        Ok(address) => access == Access::LocalNetwork || address.is_loopback(),
        Err(_) => false,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_this_machine_is_served() {
        for host in ["localhost", "localhost:7100", "127.0.0.1:7100", "[::1]:7100", "LOCALHOST"] {
            assert!(is_served(host, Access::ThisMachine), "{host}");
        }
        for host in ["", "evil.example", "localhost.evil.example:80", "127.0.0.1.evil.example", ":"]
        {
            assert!(!is_served(host, Access::ThisMachine), "{host}");
            assert!(!is_served(host, Access::LocalNetwork), "{host}");
        }
        assert!(!is_served("192.168.1.20:7100", Access::ThisMachine));
        assert!(is_served("192.168.1.20:7100", Access::LocalNetwork));
    }
}
