//! Answering questions, passing over them, going back and forth, confirming.

use academy::{Answer, Time};
use axum::response::Response;
use decode::UnderstandError;
use store::{StoreError, Subject};

use super::editing::Editing;
use crate::error::PageError;
use crate::pages::history::stepped;

/// Keeps an answer, if a round can be that fits it and all answers before.
pub(crate) async fn answer(editing: Editing) -> Result<Response, PageError> {
    let Editing { app, id, sent, .. } = &editing;
    let by = editing.by()?;
    editing.is_not_told_live().await?;
    let mut shown = app.round_at_once(*id).await?;
    if shown.facts.confirmed.is_some() {
        let told = "the round is confirmed: change what is wrong in the list";
        return Err(PageError::Refused(told.to_owned()));
    }
    let token = sent.text("token");
    let (start, end) = (sent.maybe_time("start")?, sent.maybe_time("end")?);
    let answer = match (start, end) {
        (None, None) => review::answer_from(token, &shown.round),
        _ => review::with_times(token, &shown.round, start, end),
    };
    let answer = answer.ok_or_else(|| PageError::Refused(unfit(start, end)))?;
    let words = review::answer(&shown.round, &answer);
    let what = match moment(&answer) {
        Some(time) => format!("Answered at {time}: {words}"),
        None => format!("Answered: {words}"),
    };
    shown.told.answers.push(answer.clone());
    let forms = app.book.spoken_forms().await?;
    match app.read(&shown.facts, &shown.round, &shown.told, &forms).await {
        Ok(_) => {}
        Err(PageError::Understand(UnderstandError::Contradiction)) => {
            let told = format!(
                "together with your earlier answers that can't be, so it isn't kept: {words}. \
                 Answer otherwise, or undo an earlier answer"
            );
            return Err(PageError::Refused(told));
        }
        Err(error) => return Err(error),
    }
    app.book.add_answer(&by, *id, &what, &answer).await?;
    Ok(editing.back(&format!("{what}.")))
}

fn unfit(start: Option<Time>, end: Option<Time>) -> String {
    if start.is_none() && end.is_none() {
        return "that answer doesn't fit this round: open the page again".to_owned();
    }
    "the moment asked about must lie between the beginning and the end: check the times".to_owned()
}

/// The moment that an answer is about, where it has one that its words do not tell.
fn moment(answer: &Answer) -> Option<Time> {
    match answer {
        Answer::State { time, .. } | Answer::Top { time, .. } | Answer::Event { time, .. } => {
            Some(*time)
        }
        Answer::Nothing { span } => Some(span.start().later(span.millis() / 2)),
        Answer::Spell { .. } => None,
    }
}

/// Passes over a question.
pub(crate) async fn pass(editing: Editing) -> Result<Response, PageError> {
    let time = editing.sent.time("at")?;
    editing.app.book.pass_over(&editing.by()?, editing.id, time).await?;
    Ok(editing.back("Passed over."))
}

/// Undoes the last change of the round.
pub(crate) async fn undo(editing: Editing) -> Result<Response, PageError> {
    step(editing, true).await
}

/// Does the last undone change of the round again.
pub(crate) async fn redo(editing: Editing) -> Result<Response, PageError> {
    step(editing, false).await
}

async fn step(editing: Editing, back: bool) -> Result<Response, PageError> {
    let by = editing.by()?;
    editing.is_not_told_live().await?;
    let said = stepped(&editing.app, &by, Subject::Round(editing.id), back).await?;
    Ok(editing.back(&said))
}

/// Makes everything that is shown the word of whoever confirms it.
pub(crate) async fn confirm(editing: Editing) -> Result<Response, PageError> {
    let Editing { app, id, .. } = &editing;
    let by = editing.by()?;
    editing.is_not_told_live().await?;
    let shown = app.round_at_once(*id).await?;
    // A word taught or a person renamed since then reads the round otherwise.
    if !["", shown.reading()].contains(&editing.sent.text("reading")) {
        return Err(StoreError::OutOfDate.into());
    }
    let by_hand = review::confirm(&review::listed(&shown.ledger), &shown.told.by_hand);
    app.book.confirm_round(&by, *id, app.today(), &by_hand).await?;
    Ok(editing.back("Confirmed the round. It counts as you see it now."))
}
