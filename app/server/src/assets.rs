//! Style sheets and scripts, inside the program.

use axum::extract::{Path, State};
use axum::http::header;
use axum::response::{IntoResponse, Response};
use rust_embed::RustEmbed;

use crate::error::PageError;
use crate::state::App;

#[derive(RustEmbed)]
#[folder = "src/assets"]
struct Files;

/// The style sheet of the pictures.
pub(crate) const PICTURES: &str = "pictures.css";

/// The embedded files under a name of their content, so that browsers can keep them for good.
pub(crate) struct Assets {
    version: String,
}

impl Assets {
    pub(crate) fn new() -> Self {
        let mut hasher = blake3::Hasher::new();
        let mut names: Vec<_> = Files::iter().collect();
        names.sort();
        for name in names {
            hasher.update(name.as_bytes());
            if let Some(file) = Files::get(&name) {
                hasher.update(&file.data);
            }
        }
        hasher.update(reports::picture_style().as_bytes());
        Assets { version: hasher.finalize().to_hex()[..12].to_owned() }
    }

    /// The address of a file.
    pub(crate) fn address(&self, name: &str) -> String {
        format!("/assets/{}/{name}", self.version)
    }
}

/// Gives an embedded file.
pub(crate) async fn file(
    State(app): State<App>,
    Path((version, name)): Path<(String, String)>,
) -> Result<Response, PageError> {
    if version != app.assets.version {
        return Err(PageError::NoPage);
    }
    let bytes = match Files::get(&name) {
        Some(file) => file.data.into_owned(),
        // The pictures' look comes from where they are drawn.
        None if name == PICTURES => reports::picture_style().into_bytes(),
        None => return Err(PageError::NoPage),
    };
    let kind = match name.rsplit('.').next() {
        Some("css") => "text/css; charset=utf-8",
        Some("js") => "text/javascript; charset=utf-8",
        Some("svg") => "image/svg+xml",
        _ => "application/octet-stream",
    };
    let headers = [
        (header::CONTENT_TYPE, kind),
        (header::CACHE_CONTROL, "private, max-age=31536000, immutable"),
    ];
    Ok((headers, bytes).into_response())
}
