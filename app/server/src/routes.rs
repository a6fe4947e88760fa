//! Every URL on one screen.

use axum::Router;
use axum::middleware::{from_fn, from_fn_with_state};
use axum::routing::get;
use tower_http::compression::CompressionLayer;

use crate::error::{PageError, as_asked};
use crate::pages::today;
use crate::state::App;
use crate::{assets, safety};

/// The whole app as a service.
pub(crate) fn router(app: App) -> Router {
    let pages = Router::new()
        .route("/", get(today::show))
        .route("/assets/{version}/{name}", get(assets::file))
        .fallback(async || PageError::NoPage);
    pages
        .layer(from_fn_with_state(app.clone(), as_asked))
        .layer(from_fn_with_state(app.clone(), safety::own_pages_only))
        .layer(from_fn(safety::headers))
        .layer(CompressionLayer::new())
        .with_state(app)
}
