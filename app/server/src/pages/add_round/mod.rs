//! Adding a round: captions, a recording, both, or neither.

mod doubts;
pub(super) mod form;
pub(super) mod view;

use askama::Template;
use axum::extract::{Multipart, State};
use axum::http::{HeaderMap, StatusCode};
use axum::response::{IntoResponse, Response};
use jiff::ToSpan;
use store::StoreError;

use crate::captions_form::CaptionsForm;
use crate::error::PageError;
use crate::frame::{Frame, Tab, go, page};
use crate::state::App;
use crate::visitor::Visitor;
use form::{Checked, Known, Problems};
use view::AddView;

#[derive(Template)]
#[template(path = "pages/add_round/page.html")]
struct AddPage {
    frame: Frame,
    sheet: String,
    script: String,
    add: AddView,
}

/// Days back from which a class can be chosen.
const LATEST_DAYS: i32 = 30;

/// What the form is held against.
pub(crate) async fn known(app: &App) -> Result<Known, PageError> {
    let today = app.today();
    let from = today.checked_sub(LATEST_DAYS.days()).unwrap_or(today);
    Ok(Known {
        members: app.book.members().await?,
        classes: app.book.classes(from, today).await?,
        today,
    })
}

async fn render(
    app: &App,
    visitor: &Visitor,
    headers: &HeaderMap,
    add: AddView,
) -> Result<Response, PageError> {
    let frame = Frame::new(app, visitor, Some(Tab::Rounds), "Add a round", headers).await?;
    let (sheet, script) = (app.assets.address("add-round.css"), app.assets.address("add-round.js"));
    page(&AddPage { frame, sheet, script, add })
}

pub(crate) async fn show(
    State(app): State<App>,
    visitor: Visitor,
    headers: HeaderMap,
) -> Result<Response, PageError> {
    let visitor = visitor.staff()?;
    let add = AddView::empty(&known(&app).await?);
    render(&app, &visitor, &headers, add).await
}

pub(crate) async fn add(
    State(app): State<App>,
    visitor: Visitor,
    headers: HeaderMap,
    form: Multipart,
) -> Result<Response, PageError> {
    let visitor = visitor.staff()?;
    let form = CaptionsForm::read(form).await?;
    let known = known(&app).await?;
    let mut recording = None;
    if !form.typed("media").is_empty() {
        // One that is not in the book was never finished; the form goes on without it.
        recording = app.book.media(form.typed("media")).await.ok();
    }
    let problems = match form::check(&form, &known, recording.as_ref()) {
        Ok(checked) => {
            let doubts = doubts::doubts(&app.book, &form, &known, &checked).await?;
            if doubts.by_field.is_empty() {
                match put(&app, &visitor, &known, checked).await? {
                    Ok(done) => return Ok(done),
                    Err(problems) => problems,
                }
            } else {
                doubts
            }
        }
        Err(problems) => problems,
    };
    refuse(&app, &visitor, &headers, &form, &known, problems, recording).await
}

async fn refuse(
    app: &App,
    visitor: &Visitor,
    headers: &HeaderMap,
    form: &CaptionsForm,
    known: &Known,
    problems: Problems,
    recording: Option<store::Media>,
) -> Result<Response, PageError> {
    let add = AddView::again(form, known, problems, recording);
    let shown = render(app, visitor, headers, add).await?;
    Ok((StatusCode::UNPROCESSABLE_ENTITY, shown).into_response())
}

/// Puts the new people and the round into the book, or says what is wrong after all.
async fn put(
    app: &App,
    visitor: &Visitor,
    known: &Known,
    checked: Checked,
) -> Result<Result<Response, Problems>, PageError> {
    let by = app.by(visitor, None);
    // Nobody is put into the book for captions that cannot be read.
    let remarks = match checked.remarks(known) {
        Err(PageError::Refused(told)) => return Ok(Err(Problems::with("captions", told))),
        remarks => remarks?,
    };
    let new = checked.new_people();
    if !new.is_empty() {
        let names = new.iter().map(|(_, member)| member.name.as_str()).collect::<Vec<_>>();
        let names = names.join(" and ");
        match app.book.put_members(&by, &format!("Added {names}"), &new).await {
            Err(StoreError::Refused(_)) => {
                let told = format!(
                    "Somebody else has just put {names} into the book: look whether that is who you \
                     mean, then send this again."
                );
                return Ok(Err(Problems::with("first", told)));
            }
            done => done?,
        };
    }
    let facts = checked.facts(&app.book.members().await?)?;
    let mut said = "The round is in the book.".to_owned();
    if !remarks.is_empty() {
        said += &format!(" {remarks}");
    }
    let id = app.book.add_round(&by, &facts).await?;
    Ok(Ok(go(&format!("/rounds/{}", id.0), &said)))
}
