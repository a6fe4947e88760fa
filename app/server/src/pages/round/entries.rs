//! What happened, changed by hand: positions, borders, events, notes.

use academy::{Athlete, Event, EventKind, Source, Span, Time};
use axum::response::Response;
use review::EditError;
use store::Remark;

use super::editing::{Editing, Sent, athlete_id, nearest};
use crate::error::PageError;
use crate::reading::ShownRound;

/// Tells what a stretch was: from a moment to another one, or from a moment on.
pub(crate) async fn spell(editing: Editing) -> Result<Response, PageError> {
    let sent = &editing.sent;
    let (from, to) = (sent.time("from")?, sent.maybe_time("to")?);
    let (position, top) = sent.state("state")?;
    let what = match to {
        Some(to) => format!("Told that from {from} to {to} it was {}", position.name()),
        None => format!("Told that from {from} on it was {}", position.name()),
    };
    let edit = move |shown: &ShownRound| {
        let (ledger, by_hand) = (&shown.ledger, &shown.told.by_hand);
        match to {
            Some(to) => {
                let span = Span::between(from, to);
                review::set_spell(ledger, by_hand, span, position, top, None)
            }
            // From where something else begins anyway it is that which was something else.
            None if begins(shown, from) => review::retell(ledger, by_hand, from, position, top),
            None => review::split(ledger, by_hand, from, position, top),
        }
    };
    editing.by_hand(&what, edit).await
}

fn begins(shown: &ShownRound, time: Time) -> bool {
    shown.ledger.spells().iter().any(|spell| spell.span.start() == time)
}

/// Tells what a shown stretch was instead.
pub(crate) async fn retell(editing: Editing) -> Result<Response, PageError> {
    let at = editing.sent.time("at")?;
    let (position, top) = editing.sent.state("state")?;
    let edit = move |shown: &ShownRound| {
        review::retell(&shown.ledger, &shown.told.by_hand, at, position, top)
    };
    editing.by_hand(&format!("Told that at {at} it was {}", position.name()), edit).await
}

/// Moves the border between two shown stretches, and with it the event that is told with it.
pub(crate) async fn border(editing: Editing) -> Result<Response, PageError> {
    let (at, to) = (editing.sent.time("at")?, editing.sent.time("to")?);
    let edit = move |shown: &ShownRound| {
        let ledger = &shown.ledger;
        let moved = review::move_border(ledger, &shown.told.by_hand, at, to)?;
        let led_to = reports::told(&shown.round, ledger).into_iter().find_map(|told| {
            told.event.filter(|_| told.spell.is_some_and(|spell| spell.span.start() == at))
        });
        match led_to.filter(|_| at != to) {
            Some(event) => {
                let there = Event { time: to, ..event.clone() };
                review::change_event(ledger, &moved, event, there)
            }
            None => Ok(moved),
        }
    };
    editing.by_hand(&format!("Moved the change at {at:.1} to {to:.1}"), edit).await
}

/// Takes a change of position away, and with it the event that is told with it.
pub(crate) async fn drop_change(editing: Editing) -> Result<Response, PageError> {
    let at = editing.sent.time("at")?;
    let edit = move |shown: &ShownRound| {
        let ledger = &shown.ledger;
        let dropped = review::drop_change(ledger, &shown.told.by_hand, at)?;
        let led_to = reports::told(&shown.round, ledger).into_iter().find_map(|told| {
            told.event.filter(|_| told.spell.is_some_and(|spell| spell.span.start() == at))
        });
        match led_to {
            Some(event) => review::delete_event(ledger, &dropped, event),
            None => Ok(dropped),
        }
    };
    editing.by_hand(&format!("Took the change at {} away", nearest(at)), edit).await
}

/// Adds an event, or puts it in the place of one that is shown.
pub(crate) async fn event(editing: Editing) -> Result<Response, PageError> {
    let sent = &editing.sent;
    let (new, old) = (sent_event(sent)?, sent.text("old").to_owned());
    let what = match old.as_str() {
        "" => format!("Added at {}: {}", new.time, new.kind.name()),
        _ => format!("Changed at {}: {}", new.time, new.kind.name()),
    };
    let edit = move |shown: &ShownRound| {
        let (ledger, by_hand) = (&shown.ledger, &shown.told.by_hand);
        match old.as_str() {
            "" => review::add_event(ledger, by_hand, new),
            old => review::change_event(ledger, by_hand, named(shown, old)?, new),
        }
    };
    editing.by_hand(&what, edit).await
}

/// Takes a shown event away.
pub(crate) async fn delete_event(editing: Editing) -> Result<Response, PageError> {
    let old = editing.sent.text("old").to_owned();
    let edit = move |shown: &ShownRound| {
        review::delete_event(&shown.ledger, &shown.told.by_hand, named(shown, &old)?)
    };
    editing.by_hand("Took an event away", edit).await
}

/// Names an event that is shown, for a form to send back.
pub(crate) fn name_of(event: &Event) -> String {
    let technique = event.technique.as_deref().unwrap_or_default();
    let (kind, who) = (event.kind.id(), athlete_id(event.actor));
    format!("{}.{kind}.{who}.{technique}", event.time.millis())
}

/// The shown event with a name.
fn named<'a>(shown: &'a ShownRound, name: &str) -> Result<&'a Event, EditError> {
    let found = shown.ledger.events().iter().find(|event| name_of(event) == name.trim());
    found.ok_or(EditError::NoEvent { kind: "such event", time: Time::ZERO })
}

fn sent_event(sent: &Sent) -> Result<Event, PageError> {
    let kind = EventKind::from_id(sent.text("kind"));
    let kind = kind.ok_or_else(|| PageError::Refused("choose what happened".to_owned()))?;
    let technique = Some(sent.text("technique")).filter(|text| !text.is_empty());
    Ok(Event {
        time: sent.time("at")?,
        kind,
        // Both start again together.
        actor: sent.athlete("who")?.filter(|_| kind != EventKind::Reset),
        technique: technique.map(|text| text.chars().take(LONGEST_TECHNIQUE).collect()),
        confidence: 1.0,
        source: Source::Hand,
    })
}

/// Characters of a technique's name.
const LONGEST_TECHNIQUE: usize = 80;

/// Characters of a note.
const LONGEST_NOTE: usize = 2_000;

/// Keeps a note at a moment, for one of the two or both.
pub(crate) async fn remark(editing: Editing) -> Result<Response, PageError> {
    let Editing { app, id, sent, .. } = &editing;
    let by = editing.by()?;
    let facts = app.book.round_facts(*id).await?;
    let time = sent.time("at")?;
    if time > facts.length {
        return Err(EditError::Outside { time, end: facts.length }.into());
    }
    let words = sent.text("words");
    if words.chars().count() > LONGEST_NOTE {
        let told = format!("a note has {LONGEST_NOTE} characters at most");
        return Err(PageError::Refused(told));
    }
    let whose = |athlete: Athlete| facts.athletes[athlete.index()];
    let remark = Remark {
        id: 0,
        round: *id,
        time,
        member: sent.athlete("who")?.map(whose),
        words: words.to_owned(),
    };
    app.book.put_remark(&by, &remark).await?;
    Ok(editing.back(&format!("Kept the note at {time}.")))
}

/// Takes a note away.
pub(crate) async fn delete_remark(editing: Editing) -> Result<Response, PageError> {
    let number = editing.sent.text("remark").parse().unwrap_or(0);
    editing.app.book.delete_remark(&editing.by()?, editing.id, number).await?;
    Ok(editing.back("Took the note away."))
}
