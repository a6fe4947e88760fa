//! A student's report: the coach's message, drafted from the figures and always made their own, and
//! the one file that is handed to the student.
//!
//! Only a coach writes; a student may open their own report once a message for it is kept. Whoever
//! has not agreed to be shown in the club is named nowhere in it.

mod file;

use std::collections::HashMap;

use academy::{Member, Message};
use askama::Template;
use axum::extract::{Path, Query, State};
use axum::http::{HeaderMap, StatusCode};
use axum::response::{IntoResponse, Response};
use store::{MemberId, MessageId, Subject};

pub(crate) use self::file::show as show_file;
use self::file::{Made, made};
use super::adds_up::first_name;
use super::not_counted;
use crate::error::PageError;
use crate::fields::{Fields, FormView};
use crate::frame::{Frame, Tab, go, page};
use crate::pages::history::{HistoryView, stepped};
use crate::pages::which_rounds::{Which, WhichRounds};
use crate::state::App;
use crate::visitor::Visitor;
use crate::wording;

#[derive(Template)]
#[template(path = "pages/student/report.html")]
struct ReportPage {
    frame: Frame,
    look: String,
    id: i64,
    name: String,
    which: WhichRounds,
    form: FormView,
    /// The draft, so that words that are still its are told apart; none without figures.
    draft: Option<String>,
    kept: Vec<(i64, String, String)>,
    unread: Option<String>,
    history: HistoryView,
}

/// What is said of words that nobody has changed.
const STILL_THE_DRAFT: &str =
    "this is still the draft, word for word: change it so that it is yours, or leave it empty";

/// Whether two texts have the same words, however they are set.
fn same_words(one: &str, other: &str) -> bool {
    let words = |text: &str| -> Vec<String> {
        let parts = text.split(|c: char| !c.is_alphanumeric());
        parts.filter(|part| !part.is_empty()).map(str::to_lowercase).collect()
    };
    words(one) == words(other)
}

async fn report_page(
    app: &App,
    visitor: &Visitor,
    headers: &HeaderMap,
    member: (MemberId, &Member),
    (which, made): (WhichRounds, Option<&Made>),
    form: FormView,
) -> Result<Response, PageError> {
    let (id, member) = member;
    let kept = app.book.messages(id).await?.into_iter();
    let title = format!("A report for {}", member.name);
    let path = format!("/students/{}/report", id.0);
    page(&ReportPage {
        frame: Frame::new(app, visitor, Some(Tab::Students), title, headers).await?,
        look: app.assets.address("figures.css"),
        id: id.0,
        name: first_name(&member.name).to_owned(),
        which,
        form,
        draft: made.map(Made::draft),
        kept: kept.map(|(id, one)| (id.0, wording::day(one.day), one.words)).collect(),
        unread: made.and_then(|made| not_counted(made.unread[0], made.unread[1])),
        history: HistoryView::new(app, Subject::Student(id), path).await?,
    })
}

pub(crate) async fn show(
    State(app): State<App>,
    visitor: Visitor,
    Path(id): Path<i64>,
    Query(which): Query<Which>,
    headers: HeaderMap,
) -> Result<Response, PageError> {
    let visitor = visitor.coach()?;
    let which = which.rounds(format!("/students/{id}/report"));
    let id = MemberId(id);
    let member = app.book.member(id).await?;
    let made = made(&app, id, &which).await?;
    let today = app.today();
    let messages = app.book.messages(id).await?;
    // Words that were kept today are gone on with; else a draft is what there is to begin with.
    let words = match messages.first().filter(|(_, one)| one.day == today) {
        Some((_, message)) => message.words.clone(),
        None => made.as_ref().map(Made::draft).unwrap_or_default(),
    };
    let form = FormView::new(Fields::of([("words", words)]));
    report_page(&app, &visitor, &headers, (id, &member), (which, made.as_ref()), form).await
}

/// Keeps the coach's words, unless they are the draft's or name somebody who hasn't agreed.
pub(crate) async fn keep(
    State(app): State<App>,
    visitor: Visitor,
    Path(id): Path<i64>,
    headers: HeaderMap,
    fields: Fields,
) -> Result<Response, PageError> {
    let visitor = visitor.coach()?;
    let which = Which::of(&fields).rounds(format!("/students/{id}/report"));
    let id = MemberId(id);
    let member = app.book.member(id).await?;
    let words = fields.text("words").replace("\r\n", "\n");
    let to = format!("/students/{}/report{}", id.0, which.query);
    if words.is_empty() {
        return Ok(go(&to, "No message is kept: the report goes without new words of yours."));
    }
    let made = made(&app, id, &which).await?;
    let drafts = [made.as_ref().map(Made::draft), Some(fields.text("draft").to_owned())];
    let mut form = FormView::new(fields);
    if drafts.iter().flatten().any(|draft| same_words(draft, &words)) {
        form.wrong("words", STILL_THE_DRAFT);
    }
    let today = app.today();
    let people: HashMap<_, _> = app.book.members().await?.into_iter().collect();
    let hidden = Visitor::reading_for(id).hidden_names(&people, today.year());
    if let Some(name) = hidden.named_in(&words) {
        let told =
            format!("{name} hasn't agreed to be shown in the club: write it without the name");
        form.wrong("words", told);
    }
    let mut status = StatusCode::UNPROCESSABLE_ENTITY;
    if form.is_right() {
        let messages = app.book.messages(id).await?;
        let todays = messages.first().filter(|(_, one)| one.day == today).map(|(id, _)| *id);
        let by = app.by(&visitor, None);
        match app.book.put_message(&by, id, todays, &Message { day: today, words }).await {
            Ok(_) => return Ok(go(&to, "Your words are kept. The report has them.")),
            Err(error) => status = form.not_kept("words", error)?,
        }
    }
    let member = (id, &member);
    let again = report_page(&app, &visitor, &headers, member, (which, made.as_ref()), form).await?;
    Ok((status, again).into_response())
}

pub(crate) async fn delete(
    State(app): State<App>,
    visitor: Visitor,
    Path((id, message)): Path<(i64, i64)>,
    fields: Fields,
) -> Result<Response, PageError> {
    let visitor = visitor.coach()?;
    let by = app.by(&visitor, Some(fields.revision()?));
    app.book.delete_message(&by, MemberId(id), MessageId(message)).await?;
    Ok(go(&format!("/students/{id}/report"), "The message is taken out. You can undo that."))
}

pub(crate) async fn undo(
    State(app): State<App>,
    visitor: Visitor,
    Path(id): Path<i64>,
    fields: Fields,
) -> Result<Response, PageError> {
    step(&app, visitor, id, &fields, true).await
}

pub(crate) async fn redo(
    State(app): State<App>,
    visitor: Visitor,
    Path(id): Path<i64>,
    fields: Fields,
) -> Result<Response, PageError> {
    step(&app, visitor, id, &fields, false).await
}

async fn step(
    app: &App,
    visitor: Visitor,
    id: i64,
    fields: &Fields,
    back: bool,
) -> Result<Response, PageError> {
    let visitor = visitor.coach()?;
    let by = app.by(&visitor, Some(fields.revision()?));
    let said = stepped(app, &by, Subject::Student(MemberId(id)), back).await?;
    Ok(go(&format!("/students/{id}/report"), &said))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_draft_stays_a_draft_however_it_is_set() {
        assert!(same_words("Dear Wren,\nwell  done.", "dear Wren well done"));
        assert!(!same_words("Dear Wren, well done.", "Dear Wren, very well done."));
    }
}
