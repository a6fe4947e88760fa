//! Goals of a student and talks with them: kept, changed and undone from their page.

use academy::{Conversation, Goal};
use axum::extract::{Path, State};
use axum::response::Response;
use store::{ConversationId, GoalId, MemberId, StoreError, Subject};

use crate::error::PageError;
use crate::fields::Fields;
use crate::frame::go;
use crate::pages::history;
use crate::pages::which_rounds::Which;
use crate::state::App;
use crate::visitor::Visitor;

/// The page with the rounds it was of, at one of its parts.
fn address(id: i64, fields: &Fields, part: &str) -> String {
    let query = Which::of(fields).rounds("").query;
    format!("/students/{id}{query}#{part}")
}

fn back(id: i64, fields: &Fields, part: &str, said: &str) -> Response {
    go(&address(id, fields, part), said)
}

/// What was typed, with the line ends that the book keeps.
fn words(fields: &Fields) -> String {
    fields.text("words").replace("\r\n", "\n")
}

pub(crate) async fn add_goal(
    State(app): State<App>,
    visitor: Visitor,
    Path(id): Path<i64>,
    fields: Fields,
) -> Result<Response, PageError> {
    let visitor = visitor.staff()?;
    // A new goal is right whatever was changed in between, and words that were typed are not lost.
    let by = app.by(&visitor, None);
    let goal = Goal { set: app.today(), words: words(&fields), reached: None };
    app.book.put_goal(&by, MemberId(id), None, &goal).await?;
    Ok(back(id, &fields, "goals", "The goal is kept."))
}

/// Marks a goal as reached today, or as still open.
pub(crate) async fn reach_goal(
    State(app): State<App>,
    visitor: Visitor,
    Path((id, goal)): Path<(i64, i64)>,
    fields: Fields,
) -> Result<Response, PageError> {
    let visitor = visitor.staff()?;
    let by = app.by(&visitor, Some(fields.revision()?));
    let (member, goal) = (MemberId(id), GoalId(goal));
    let goals = app.book.goals(member).await?;
    let kept = goals.into_iter().find(|(other, _)| *other == goal);
    let (_, mut kept) = kept.ok_or(StoreError::Missing("goal"))?;
    let reached = fields.text("reached") == "yes";
    // The clock may have been set back since the goal was set.
    kept.reached = reached.then(|| app.today().max(kept.set));
    app.book.put_goal(&by, member, Some(goal), &kept).await?;
    let said = if reached { "The goal is reached." } else { "The goal is open again." };
    Ok(back(id, &fields, "goals", said))
}

pub(crate) async fn delete_goal(
    State(app): State<App>,
    visitor: Visitor,
    Path((id, goal)): Path<(i64, i64)>,
    fields: Fields,
) -> Result<Response, PageError> {
    let visitor = visitor.staff()?;
    let by = app.by(&visitor, Some(fields.revision()?));
    app.book.delete_goal(&by, MemberId(id), GoalId(goal)).await?;
    Ok(back(id, &fields, "goals", "The goal is taken out. You can undo that."))
}

/// Notes that coach and student talked today.
pub(crate) async fn talked(
    State(app): State<App>,
    visitor: Visitor,
    Path(id): Path<i64>,
    fields: Fields,
) -> Result<Response, PageError> {
    let visitor = visitor.staff()?;
    let by = app.by(&visitor, None);
    let talk = Conversation { day: app.today(), words: words(&fields) };
    app.book.put_conversation(&by, MemberId(id), None, &talk).await?;
    Ok(back(id, &fields, "changed", "Noted that you talked today."))
}

pub(crate) async fn delete_talk(
    State(app): State<App>,
    visitor: Visitor,
    Path((id, talk)): Path<(i64, i64)>,
    fields: Fields,
) -> Result<Response, PageError> {
    let visitor = visitor.staff()?;
    let by = app.by(&visitor, Some(fields.revision()?));
    app.book.delete_conversation(&by, MemberId(id), ConversationId(talk)).await?;
    Ok(back(id, &fields, "goals", "The talk is taken out. You can undo that."))
}

pub(crate) async fn undo(
    State(app): State<App>,
    visitor: Visitor,
    Path(id): Path<i64>,
    fields: Fields,
) -> Result<Response, PageError> {
    let (visitor, to) = (visitor.staff()?, address(id, &fields, "goals"));
    history::step(&app, &visitor, &fields, Subject::Student(MemberId(id)), true, &to).await
}

pub(crate) async fn redo(
    State(app): State<App>,
    visitor: Visitor,
    Path(id): Path<i64>,
    fields: Fields,
) -> Result<Response, PageError> {
    let (visitor, to) = (visitor.staff()?, address(id, &fields, "goals"));
    history::step(&app, &visitor, &fields, Subject::Student(MemberId(id)), false, &to).await
}
