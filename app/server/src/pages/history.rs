//! What was changed of a subject, and what undoing or doing again would do. Pages that show it
//! have a `history` and include `pages/history.html`.

use axum::response::Response;
use store::{By, Kept, Subject};

use crate::error::PageError;
use crate::fields::Fields;
use crate::frame::go;
use crate::state::App;
use crate::visitor::Visitor;
use crate::wording::moment;

/// Changes that a page shows.
const SHOWN: u32 = 20;

pub(crate) struct HistoryView {
    /// The path before `/undo` and `/redo`.
    pub(crate) path: String,
    pub(crate) revision: i64,
    /// What would be undone.
    pub(crate) undo: Option<String>,
    /// What would be done again.
    pub(crate) redo: Option<String>,
    pub(crate) changes: Vec<ChangeView>,
}

pub(crate) struct ChangeView {
    pub(crate) what: String,
    pub(crate) who: String,
    pub(crate) when: String,
    pub(crate) undone: bool,
}

impl ChangeView {
    pub(crate) fn of(change: &Kept) -> Self {
        ChangeView {
            what: change.what.clone(),
            who: change.who.clone(),
            when: moment(change.at),
            undone: change.undone,
        }
    }
}

/// What undoing and doing again would take, of changes that are newest first: the undone ones are
/// their beginning, and the last of those was undone last.
pub(crate) fn undo_and_redo(kept: &[Kept]) -> (Option<&Kept>, Option<&Kept>) {
    let undo = kept.iter().find(|change| !change.undone);
    let redo = kept.iter().take_while(|change| change.undone).last();
    (undo, redo)
}

impl HistoryView {
    pub(crate) async fn new(
        app: &App,
        subject: Subject,
        path: impl Into<String>,
    ) -> Result<Self, PageError> {
        let revision = app.book.revision(subject).await?.0;
        let kept = app.book.history(subject, SHOWN).await?;
        let (undo, redo) = undo_and_redo(&kept);
        Ok(HistoryView {
            path: path.into(),
            revision,
            undo: undo.map(|change| change.what.clone()),
            redo: redo.map(|change| change.what.clone()),
            changes: kept.iter().map(ChangeView::of).collect(),
        })
    }
}

/// Undoes the last change of a subject, or does the last undone one again, and goes to a page.
pub(crate) async fn step(
    app: &App,
    visitor: &Visitor,
    fields: &Fields,
    subject: Subject,
    back: bool,
    to: &str,
) -> Result<Response, PageError> {
    let by = app.by(visitor, Some(fields.revision()?));
    Ok(go(to, &stepped(app, &by, subject, back).await?))
}

/// Undoes the last change of a subject, or does the last undone one again; says what that was.
pub(crate) async fn stepped(
    app: &App,
    by: &By,
    subject: Subject,
    back: bool,
) -> Result<String, PageError> {
    let what = match back {
        true => app.book.undo(subject, by).await?,
        false => app.book.redo(subject, by).await?,
    };
    Ok(match (what, back) {
        (Some(what), true) => format!("Undone: {what}."),
        (Some(what), false) => format!("Done again: {what}."),
        (None, true) => "There is nothing to undo.".to_owned(),
        (None, false) => "There is nothing to do again.".to_owned(),
    })
}
