//! Recordings on their way out, whole or the part that a player asks for; and which recording or
//! which captions a round has.

use academy::Audience;
use axum::Json;
use axum::extract::{Multipart, Path, Request, State};
use axum::http::header::{self, HeaderValue};
use axum::response::{IntoResponse, Response};
use serde::Deserialize;
use serde_json::{Value, json};
use store::RoundId;
use tower::ServiceExt;
use tower_http::services::ServeFile;

use crate::captions_form::CaptionsForm;
use crate::error::PageError;
use crate::frame::go;
use crate::reading::remarks_on;
use crate::state::App;
use crate::visitor::Visitor;

/// Whether somebody may see a recording: staff, and students who are in a round with it, if
/// everybody else whom it shows agreed to be shown in the club.
pub(crate) async fn may_see(app: &App, visitor: &Visitor, hash: &str) -> Result<bool, PageError> {
    if visitor.is_staff() {
        return Ok(true);
    }
    let shown = app.book.people_in_recording(hash).await?;
    if !shown.iter().any(|member| visitor.may_see(*member)) {
        return Ok(false);
    }
    let year = app.today().year();
    for member in shown.into_iter().filter(|member| !visitor.may_see(*member)) {
        if app.book.member(member).await?.may_be_shown_to(Audience::Club, year).is_err() {
            return Ok(false);
        }
    }
    Ok(true)
}

/// Gives a recording to whoever may see it.
pub(crate) async fn file(
    State(app): State<App>,
    visitor: Visitor,
    Path(hash): Path<String>,
    request: Request,
) -> Result<Response, PageError> {
    let media = app.book.media(&hash).await?;
    if !may_see(&app, &visitor, &media.hash).await? {
        return Err(PageError::NotYours);
    }
    let path = app.book.media_path(&media.hash).await?;
    let kind = media.media_type.parse().map_err(PageError::refused)?;
    let answer = ServeFile::new_with_mime(path, &kind).oneshot(request).await;
    let mut answer = answer.unwrap_or_else(|never| match never {}).into_response();
    let headers = answer.headers_mut();
    // A recording never changes under its hash.
    headers.insert(
        header::CACHE_CONTROL,
        HeaderValue::from_static("private, max-age=86400, immutable"),
    );
    Ok(answer)
}

/// Which recording a round shall have.
#[derive(Deserialize)]
pub(crate) struct ChosenMedia {
    /// None takes it away from the round; the recording itself stays in the book.
    hash: Option<String>,
    /// What the page was made from.
    revision: Option<i64>,
}

/// Gives a round its recording.
pub(crate) async fn of_round(
    State(app): State<App>,
    visitor: Visitor,
    Path(id): Path<i64>,
    Json(chosen): Json<ChosenMedia>,
) -> Result<Json<Value>, PageError> {
    let visitor = visitor.staff()?;
    let id = RoundId(id);
    let no_revision = || PageError::refused("the page sent no revision: load it again");
    let seen = chosen.revision.ok_or_else(no_revision)?;
    let mut facts = app.book.round_facts(id).await?;
    let what = match &chosen.hash {
        None => "Took the recording away".to_owned(),
        Some(hash) => format!("Added the recording {}", app.book.media(hash).await?.name),
    };
    facts.media = chosen.hash;
    app.book.change_round(&app.by(&visitor, Some(seen)), id, &what, &facts).await?;
    Ok(Json(json!({ "done": what })))
}

/// Gives a round its captions, in the place of any that it had.
pub(crate) async fn captions_of_round(
    State(app): State<App>,
    visitor: Visitor,
    Path(id): Path<i64>,
    form: Multipart,
) -> Result<Response, PageError> {
    let visitor = visitor.staff()?;
    let id = RoundId(id);
    let form = CaptionsForm::read(form).await?;
    let given = form.captions().map_err(|error| PageError::Refused(error.told()))?;
    let Some((given, _)) = given else {
        return Err(PageError::Refused("choose a captions file, or paste its text".to_owned()));
    };
    let mut facts = app.book.round_facts(id).await?;
    let round = app.book.round(&facts).await?;
    let remarks = remarks_on(&given.text, &round)?;
    let verb = if facts.talk.is_some() { "Replaced" } else { "Added" };
    let what = format!("{verb} the captions ({})", given.name);
    facts.talk = Some(given);
    let seen = form.typed("revision").parse().map_err(|_| {
        PageError::Refused("the form came without its revision: load the page again".to_owned())
    })?;
    app.book.change_round(&app.by(&visitor, Some(seen)), id, &what, &facts).await?;
    let mut said = format!("{what}.");
    if !remarks.is_empty() {
        said += &format!(" {remarks}");
    }
    Ok(go(&format!("/rounds/{}", id.0), &said))
}
