//! Every URL on one screen.

use axum::Router;
use axum::extract::DefaultBodyLimit;
use axum::middleware::{from_fn, from_fn_with_state};
use axum::routing::{get, post};
use tower_http::compression::CompressionLayer;

use crate::error::{PageError, as_asked};
use crate::login::{self, invitation};
use crate::pages::today;
use crate::state::App;
use crate::{assets, safety};

/// Bytes of a form; routes that take files have limits of their own.
const LARGEST_FORM: usize = 64 * 1024;

/// The whole app as a service.
pub(crate) fn router(app: App) -> Router {
    let pages = Router::new()
        .route("/", get(today::show))
        .route("/login", get(login::show).post(login::enter))
        .route("/logout", post(login::leave))
        .route("/welcome/{token}", get(invitation::show).post(invitation::accept))
        .route("/assets/{version}/{name}", get(assets::file))
        .fallback(async || PageError::NoPage);
    pages
        .layer(DefaultBodyLimit::max(LARGEST_FORM))
        .layer(from_fn_with_state(app.clone(), as_asked))
        .layer(from_fn_with_state(app.clone(), safety::own_pages_only))
        .layer(from_fn(safety::headers))
        .layer(CompressionLayer::new())
        .with_state(app)
}
