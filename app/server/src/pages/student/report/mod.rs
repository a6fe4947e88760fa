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
use store::{By, MemberId, MessageId, StoreError, Subject};

pub(crate) use self::file::show as show_file;
use self::file::{Made, made, made_at_hand};
use super::adds_up::first_name;
use crate::error::PageError;
use crate::fields::{Fields, FormView};
use crate::frame::{Frame, Tab, go, page};
use crate::pages::history::{self, HistoryView};
use crate::pages::not_counted::NotCounted;
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
    member: Member,
    /// What is said of a minor's age: the file is theirs to give away, and their guardian's.
    minor: Option<&'static str>,
    which: WhichRounds,
    form: FormView,
    /// The draft, so that words that are still its are told apart; none without figures.
    draft: Option<String>,
    changed_meanwhile: Option<&'static str>,
    kept: Vec<(i64, String, String)>,
    unread: Option<NotCounted>,
    history: HistoryView,
}

/// What is said of words that nobody has changed.
const STILL_THE_DRAFT: &str =
    "this is still the draft, word for word: change it so that it is yours, or leave it empty";

/// What is said when somebody else was faster. What was typed is still there.
const MEANWHILE: &str = "Somebody else changed the messages in the meantime. What you typed is \
    still here and isn't kept yet: look at the kept messages below, then press Keep again.";

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
    (form, draft, changed_meanwhile): (FormView, Option<String>, bool),
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
        member: member.clone(),
        minor: wording::minor(member, app.today().year()),
        which,
        form,
        draft,
        changed_meanwhile: changed_meanwhile.then_some(MEANWHILE),
        kept: kept.map(|(id, one)| (id.0, wording::day(one.day), one.words)).collect(),
        unread: match made {
            Some(made) => NotCounted::of(app, visitor, &made.unread[0], &made.unread[1]).await?,
            None => None,
        },
        history: HistoryView::new(app, Subject::Report(id), path).await?,
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
    let form = (form, made.as_ref().map(Made::draft), false);
    report_page(&app, &visitor, &headers, (id, &member), (which, made.as_ref()), form).await
}

/// Keeps the coach's words, unless they are the draft's or name somebody who hasn't agreed; takes
/// today's back where the box is emptied. Waits for no figures: what was typed must not be lost.
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
    let by = app.by(&visitor, Some(fields.revision()?));
    let made = made_at_hand(&app, id, &which).await?;
    // The one that the words were begun from, else they could be that one's and pass.
    let posted = Some(fields.text("draft").to_owned()).filter(|draft| !draft.is_empty());
    let fresh = made.as_ref().map(Made::draft);
    let today = app.today();
    let mut form = FormView::new(fields);
    if !words.is_empty() {
        if fresh.iter().chain(&posted).any(|draft| same_words(draft, &words)) {
            form.wrong("words", STILL_THE_DRAFT);
        }
        let people: HashMap<_, _> = app.book.members().await?.into_iter().collect();
        let hidden = Visitor::reading_for(id).hidden_names(&people, today.year());
        if let Some(name) = hidden.named_in(&words) {
            let told =
                format!("{name} hasn't agreed to be shown in the club: write it without the name");
            form.wrong("words", told);
        }
    }
    let mut status = StatusCode::UNPROCESSABLE_ENTITY;
    if form.is_right() {
        match put(&app, &by, id, words).await {
            Ok(said) => return Ok(go(&to, &said)),
            Err(error) => status = form.not_kept("words", error)?,
        }
    }
    let meanwhile = status == StatusCode::CONFLICT;
    let draft = posted.or(fresh).unwrap_or_default();
    let (shown, form) = ((which, made.as_ref()), (form, Some(draft), meanwhile));
    let again = report_page(&app, &visitor, &headers, (id, &member), shown, form).await?;
    Ok((status, again).into_response())
}

/// Makes these words today's message, or takes that away where there are none; says what was done.
async fn put(app: &App, by: &By, id: MemberId, words: String) -> Result<String, StoreError> {
    let today = app.today();
    let messages = app.book.messages(id).await?;
    let todays = messages.first().filter(|(_, one)| one.day == today).map(|(id, _)| *id);
    if !words.is_empty() {
        app.book.put_message(by, id, todays, &Message { day: today, words }).await?;
        return Ok("Your words are kept. The report has them.".to_owned());
    }
    let done = match todays {
        Some(todays) => {
            app.book.delete_message(by, id, todays).await?;
            "Today's message is taken out. You can undo that."
        }
        None => "No new message is kept.",
    };
    let left = messages.iter().find(|(one, _)| Some(*one) != todays);
    let report = match left {
        Some((_, message)) => format!("has your words of {}", wording::day(message.day)),
        None => "goes without words of yours".to_owned(),
    };
    Ok(format!("{done} The report {report}."))
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
    let (visitor, to) = (visitor.coach()?, format!("/students/{id}/report"));
    history::step(&app, &visitor, &fields, Subject::Report(MemberId(id)), true, &to).await
}

pub(crate) async fn redo(
    State(app): State<App>,
    visitor: Visitor,
    Path(id): Path<i64>,
    fields: Fields,
) -> Result<Response, PageError> {
    let (visitor, to) = (visitor.coach()?, format!("/students/{id}/report"));
    history::step(&app, &visitor, &fields, Subject::Report(MemberId(id)), false, &to).await
}

#[cfg(test)]
mod tests {
    use store::Book;

    use super::*;

    #[tokio::test]
    async fn words_are_kept_however_long_figures_take() {
        let folder = tempfile::tempdir().unwrap();
        let book = Book::open(folder.path()).await.unwrap();
        let app = App::new(book, crate::Access::ThisMachine).unwrap();
        let coach = Visitor::at_this_machine();
        let petra = Member { name: "Petra".to_owned(), ..Member::default() };
        let id = app.book.add_member(&app.by(&coach, None), &petra).await.unwrap();
        // Nobody gets any figures as long as this is held.
        let _adding = app.figures.hold().await;
        let sent = |words: &str| {
            let pairs = [("words", words), ("draft", "Dear Petra"), ("revision", "0")];
            let fields = Fields::of(pairs.map(|(name, value)| (name, value.to_owned())));
            keep(State(app.clone()), coach.clone(), Path(id.0), HeaderMap::new(), fields)
        };
        let again = sent("Dear Petra.").await.unwrap();
        assert_eq!(again.status(), StatusCode::UNPROCESSABLE_ENTITY);
        let shown = axum::body::to_bytes(again.into_body(), usize::MAX).await.unwrap();
        let shown = String::from_utf8_lossy(&shown);
        assert!(shown.contains(">\nDear Petra.</textarea>"), "{shown}");
        let kept = sent("My own words.").await.unwrap();
        assert_eq!(kept.status(), StatusCode::SEE_OTHER);
        assert_eq!(app.book.messages(id).await.unwrap()[0].1.words, "My own words.");
    }

    #[test]
    fn a_draft_stays_a_draft_however_it_is_set() {
        assert!(same_words("Dear Wren,\nwell  done.", "dear Wren well done"));
        assert!(!same_words("Dear Wren, well done.", "Dear Wren, very well done."));
    }
}
