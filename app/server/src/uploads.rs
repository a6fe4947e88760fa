//! Recordings on their way in, in pieces. A page's script announces one, sends piece after piece,
//! asks after a break how much is there, and finishes it. Answers are JSON; a refusal is
//! `{"error": words}`, and where a piece does not fit also `{"received": bytes}`, from where to go
//! on.

use std::error::Error as _;

use axum::Json;
use axum::body::{Body, to_bytes};
use axum::extract::{Path, Query, State};
use axum::http::StatusCode;
use axum::response::{IntoResponse, Response};
use http_body_util::LengthLimitError;
use serde::Deserialize;
use serde_json::{Value, json};
use store::{StoreError, UploadError, UploadId};

use crate::error::PageError;
use crate::state::App;
use crate::visitor::Visitor;

/// The largest piece, in bytes. A piece is held in memory until it is on the disk.
const MOST_OF_A_PIECE: usize = 8 << 20;

/// Pieces that are held at once; whoever comes then tries again.
pub(crate) const PIECES_AT_ONCE: usize = 6;

/// Recordings that may be on their way at once.
const MOST_OPEN: u32 = 50;

/// Why an upload does not go on.
pub(crate) enum Problem {
    Page(PageError),
    Upload(UploadError),
    /// Refused with a status and words.
    Told(StatusCode, String),
}

impl From<PageError> for Problem {
    fn from(error: PageError) -> Self {
        Problem::Page(error)
    }
}

impl From<UploadError> for Problem {
    fn from(error: UploadError) -> Self {
        match error {
            UploadError::Store(error) => Problem::Page(error.into()),
            other => Problem::Upload(other),
        }
    }
}

impl From<StoreError> for Problem {
    fn from(error: StoreError) -> Self {
        Problem::Page(error.into())
    }
}

impl IntoResponse for Problem {
    fn into_response(self) -> Response {
        let (status, body) = match self {
            Problem::Page(error) => return error.into_response(),
            Problem::Told(status, words) => (status, json!({ "error": words })),
            Problem::Upload(error) => {
                let words = error.to_string();
                let status = match error {
                    UploadError::NoUpload => StatusCode::NOT_FOUND,
                    UploadError::Offset { .. } | UploadError::Incomplete { .. } => {
                        StatusCode::CONFLICT
                    }
                    UploadError::NotARecording => StatusCode::UNSUPPORTED_MEDIA_TYPE,
                    _ => StatusCode::PAYLOAD_TOO_LARGE,
                };
                let body = match error {
                    UploadError::Offset { there } | UploadError::Incomplete { there, .. } => {
                        json!({ "error": words, "received": there })
                    }
                    _ => json!({ "error": words }),
                };
                (status, body)
            }
        };
        (status, Json(body)).into_response()
    }
}

/// What is announced.
#[derive(Deserialize)]
pub(crate) struct Announced {
    name: String,
    bytes: u64,
}

/// Where a piece belongs.
#[derive(Deserialize)]
pub(crate) struct Place {
    offset: u64,
}

fn upload_id(text: &str) -> Result<UploadId, UploadError> {
    UploadId::parse(text).ok_or(UploadError::NoUpload)
}

/// Announces a recording.
pub(crate) async fn begin(
    State(app): State<App>,
    visitor: Visitor,
    Json(announced): Json<Announced>,
) -> Result<Json<Value>, Problem> {
    visitor.staff()?;
    app.book.give_up_stale_uploads(app.now()).await?;
    if app.book.open_uploads().await? >= MOST_OPEN {
        let words = "Too many recordings are on their way: finish or cancel one of them first.";
        return Err(Problem::Told(StatusCode::TOO_MANY_REQUESTS, words.to_owned()));
    }
    let id = app.book.begin_upload(&announced.name, announced.bytes, app.now()).await?;
    Ok(Json(json!({ "id": id.to_string() })))
}

/// How much has arrived.
pub(crate) async fn received(
    State(app): State<App>,
    visitor: Visitor,
    Path(id): Path<String>,
) -> Result<Json<Value>, Problem> {
    visitor.staff()?;
    let received = app.book.upload_size(&upload_id(&id)?).await?;
    Ok(Json(json!({ "received": received })))
}

/// Takes a piece.
pub(crate) async fn piece(
    State(app): State<App>,
    visitor: Visitor,
    Path(id): Path<String>,
    Query(place): Query<Place>,
    body: Body,
) -> Result<Json<Value>, Problem> {
    visitor.staff()?;
    let id = upload_id(&id)?;
    // Nothing is read of a piece that does not fit.
    let there = app.book.upload_size(&id).await?;
    if there != place.offset {
        return Err(UploadError::Offset { there }.into());
    }
    let Ok(_held) = app.pieces.try_acquire() else {
        let words = "Many recordings are coming in just now: this one goes on in a moment.";
        return Err(Problem::Told(StatusCode::SERVICE_UNAVAILABLE, words.to_owned()));
    };
    let piece = to_bytes(body, MOST_OF_A_PIECE).await.map_err(|error| {
        if error.source().is_some_and(|cause| cause.is::<LengthLimitError>()) {
            let words = format!("A piece may have {} MB at most.", MOST_OF_A_PIECE >> 20);
            Problem::Told(StatusCode::PAYLOAD_TOO_LARGE, words)
        } else {
            let words = "The piece did not arrive whole: send it again.";
            Problem::Told(StatusCode::BAD_REQUEST, words.to_owned())
        }
    })?;
    let received = app.book.append(&id, place.offset, piece).await?;
    Ok(Json(json!({ "received": received })))
}

/// Makes it a recording of the book.
pub(crate) async fn finish(
    State(app): State<App>,
    visitor: Visitor,
    Path(id): Path<String>,
) -> Result<Json<Value>, Problem> {
    visitor.staff()?;
    let hash = app.book.finish_upload(&upload_id(&id)?).await?;
    Ok(Json(json!({ "media": hash })))
}

/// Gives it up.
pub(crate) async fn give_up(
    State(app): State<App>,
    visitor: Visitor,
    Path(id): Path<String>,
) -> Result<StatusCode, Problem> {
    visitor.staff()?;
    app.book.drop_upload(&upload_id(&id)?).await?;
    Ok(StatusCode::NO_CONTENT)
}
