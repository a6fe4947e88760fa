//! Leaving the invented academy for one's own: what it does is said first.

use askama::Template;
use axum::extract::State;
use axum::http::{HeaderMap, StatusCode};
use axum::response::{IntoResponse, Response};
use store::{RoundFilter, StoreError};

use crate::error::PageError;
use crate::fields::{Fields, FormView};
use crate::frame::{Frame, Tab, go, page};
use crate::state::App;
use crate::visitor::Visitor;
use crate::wording;

#[derive(Template)]
#[template(path = "pages/settings/empty.html")]
struct EmptyPage {
    frame: Frame,
    form: FormView,
    /// People and rounds that would go.
    gone: String,
    folder: String,
    /// Whether that is a folder for trying things out.
    trial: bool,
}

async fn empty_page(
    app: &App,
    visitor: &Visitor,
    headers: &HeaderMap,
    form: FormView,
) -> Result<Response, PageError> {
    let rounds = app.book.count_rounds(&RoundFilter::default()).await?;
    let title = "Start your own academy";
    page(&EmptyPage {
        frame: Frame::new(app, visitor, Some(Tab::Settings), title, headers).await?,
        form,
        gone: format!(
            "{}, {}",
            wording::count(app.book.members().await?.len(), "person", "people"),
            wording::count(rounds as usize, "round", "rounds")
        ),
        folder: app.book.folder().display().to_string(),
        trial: wording::is_trial(app.book.folder()),
    })
}

pub(crate) async fn show(
    State(app): State<App>,
    visitor: Visitor,
    headers: HeaderMap,
) -> Result<Response, PageError> {
    empty_page(&app, &visitor.coach()?, &headers, FormView::default()).await
}

pub(crate) async fn start(
    State(app): State<App>,
    visitor: Visitor,
    headers: HeaderMap,
    fields: Fields,
) -> Result<Response, PageError> {
    let visitor = visitor.coach()?;
    let mut form = FormView::new(fields);
    if !form.fields.has("sure") {
        form.wrong("sure", "tick this to say that the invented academy may go");
    }
    if form.fields.text("name").is_empty() {
        form.wrong("name", "the academy needs a name");
    }
    if form.is_right() {
        let by = app.by(&visitor, None);
        match app.book.leave_invented(&by, form.fields.text("name")).await {
            Ok(aside) => {
                let file = aside.file_name().unwrap_or_default().display().to_string();
                let said = format!(
                    "The book is yours and empty. The invented academy is put aside in the file \
                     {file}; you won't need it"
                );
                return Ok(go("/", &said));
            }
            Err(StoreError::Refused(told)) => form.wrong("sure", told),
            Err(error) => return Err(error.into()),
        }
    }
    let again = empty_page(&app, &visitor, &headers, form).await?;
    Ok((StatusCode::UNPROCESSABLE_ENTITY, again).into_response())
}
