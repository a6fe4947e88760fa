//! Settings, for the coach alone: the academy's name, taught words, where the book lies.

use askama::Template;
use axum::extract::{Path, State};
use axum::http::{HeaderMap, StatusCode};
use axum::response::{IntoResponse, Response};
use store::{AcademyFacts, SpokenForm, StoreError, Subject};

use crate::error::PageError;
use crate::fields::{Fields, FormView};
use crate::frame::{Frame, Tab, go, page};
use crate::pages::history::{self, HistoryView};
use crate::state::{Access, App};
use crate::visitor::Visitor;
use crate::wording;

pub(crate) mod empty;
mod invited_as_picture;
pub(crate) mod people;

#[derive(Template)]
#[template(path = "pages/settings/page.html")]
struct SettingsPage {
    frame: Frame,
    form: FormView,
    revision: i64,
    words: Vec<SpokenForm>,
    history: HistoryView,
    folder: String,
    /// Whether that is a folder for trying things out.
    trial: bool,
    on_network: bool,
}

async fn settings_page(
    app: &App,
    visitor: &Visitor,
    headers: &HeaderMap,
    form: FormView,
) -> Result<Response, PageError> {
    page(&SettingsPage {
        frame: Frame::new(app, visitor, Some(Tab::Settings), "Settings", headers).await?,
        form,
        revision: app.book.revision(Subject::Academy).await?.0,
        words: app.book.spoken_forms().await?,
        history: HistoryView::new(app, Subject::Words, "/settings/words").await?,
        folder: app.book.folder().display().to_string(),
        trial: wording::is_trial(app.book.folder()),
        on_network: app.access == Access::LocalNetwork,
    })
}

pub(crate) async fn show(
    State(app): State<App>,
    visitor: Visitor,
    headers: HeaderMap,
) -> Result<Response, PageError> {
    let visitor = visitor.coach()?;
    let name = app.book.academy().await?.map_or_else(String::new, |academy| academy.name);
    let form = FormView::new(Fields::of([("name", name)]));
    settings_page(&app, &visitor, &headers, form).await
}

/// Names the academy.
pub(crate) async fn rename(
    State(app): State<App>,
    visitor: Visitor,
    headers: HeaderMap,
    fields: Fields,
) -> Result<Response, PageError> {
    let visitor = visitor.coach()?;
    let by = app.by(&visitor, Some(fields.revision()?));
    let invented = app.book.academy().await?.is_some_and(|academy| academy.invented);
    let facts = AcademyFacts { name: fields.text("name").to_owned(), invented };
    let mut form = FormView::new(fields);
    let status = match app.book.put_academy(&by, &facts).await {
        Ok(()) => return Ok(go("/settings", &format!("The academy is called {}", facts.name))),
        Err(StoreError::Refused(told)) => {
            form.wrong("name", told);
            StatusCode::UNPROCESSABLE_ENTITY
        }
        Err(StoreError::OutOfDate) => {
            let told = "somebody else named the academy in the meantime: keep this name with \
                        another press, or load the page again";
            form.wrong("name", told);
            StatusCode::CONFLICT
        }
        Err(error) => return Err(error.into()),
    };
    Ok((status, settings_page(&app, &visitor, &headers, form).await?).into_response())
}

/// Forgets a taught word.
pub(crate) async fn forget(
    State(app): State<App>,
    visitor: Visitor,
    Path(id): Path<i64>,
    fields: Fields,
) -> Result<Response, PageError> {
    let visitor = visitor.coach()?;
    let by = app.by(&visitor, Some(fields.revision()?));
    app.book.unteach(&by, id).await?;
    Ok(go("/settings", "The word is forgotten"))
}

pub(crate) async fn undo(
    State(app): State<App>,
    visitor: Visitor,
    fields: Fields,
) -> Result<Response, PageError> {
    let visitor = visitor.coach()?;
    history::step(&app, &visitor, &fields, Subject::Words, true, "/settings").await
}

pub(crate) async fn redo(
    State(app): State<App>,
    visitor: Visitor,
    fields: Fields,
) -> Result<Response, PageError> {
    let visitor = visitor.coach()?;
    history::step(&app, &visitor, &fields, Subject::Words, false, "/settings").await
}
