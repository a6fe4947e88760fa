//! The list of what happened, each line with what can be changed in it.

use academy::{Athlete, Event, EventKind, Ledger, Position, Round, Time};
use reports::wording;

use crate::pages::round::editing::{athlete_id, nearest, state_id};
use crate::pages::round::entries::name_of;
use crate::wording::fragment;

/// A line of what happened.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Entry {
    /// The id that a link to the moment leads to; none where an earlier line has it.
    pub(crate) id: Option<String>,
    pub(crate) fragment: String,
    pub(crate) millis: u64,
    pub(crate) at: String,
    /// Whose it is: `first`, `second` or `nobody`, with a sign that says so without colour.
    pub(crate) whose: &'static str,
    pub(crate) sign: &'static str,
    pub(crate) sentence: String,
    /// How sure it is, or that a person said so.
    pub(crate) sure: String,
    pub(crate) unsure: bool,
    /// Whether it is less likely than not, so that it wants a look before all is confirmed.
    pub(crate) doubtful: bool,
    /// Whether somebody gave up here.
    pub(crate) tap: bool,
    pub(crate) spell: Option<EntrySpell>,
    pub(crate) events: Vec<EntryEvent>,
}

/// The stretch that begins with a line.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct EntrySpell {
    /// The moment as forms send it.
    pub(crate) at: String,
    pub(crate) until: String,
    pub(crate) state: String,
    /// Whether there is a border before it that can be moved.
    pub(crate) moves: bool,
}

/// An event of a line.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct EntryEvent {
    pub(crate) name: String,
    pub(crate) words: String,
    pub(crate) at: String,
    pub(crate) kind: &'static str,
    pub(crate) who: &'static str,
    pub(crate) technique: String,
}

/// A border on the tide that can be dragged.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Border {
    pub(crate) millis: u64,
    pub(crate) earliest: u64,
    pub(crate) latest: u64,
    /// "both standing, then closed guard, Petra on top"
    pub(crate) words: String,
}

/// A choice of a list.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Choice {
    pub(crate) id: String,
    pub(crate) words: String,
}

/// What happened, line by line.
pub(crate) fn entries(round: &Round, ledger: &Ledger) -> Vec<Entry> {
    let mut entries: Vec<Entry> = Vec::new();
    for told in reports::told(round, ledger) {
        let fragment = fragment(told.time);
        let first = entries.iter().all(|entry| entry.fragment != fragment);
        let unread = told.spell.is_some_and(review::is_unread);
        let by_hand = match (told.spell, told.event) {
            (Some(spell), _) => spell.source == academy::Source::Hand,
            (None, Some(event)) => event.source == academy::Source::Hand,
            (None, None) => false,
        };
        let sure = match (unread, by_hand) {
            (true, _) => String::new(),
            (_, true) => "told".to_owned(),
            _ => wording::percent(told.confidence),
        };
        let tap = told.event.is_some_and(|event| event.kind == EventKind::Tap);
        let (whose, sign) = match owner(told.athlete, told.spell.is_some()) {
            (whose, _) if tap => (whose, "\u{25c6}"),
            owner => owner,
        };
        let events = told.attempt.into_iter().chain(told.event);
        entries.push(Entry {
            id: first.then(|| fragment.clone()),
            millis: told.time.millis(),
            at: nearest(told.time),
            whose,
            sign,
            sentence: if unread { "Nothing told yet".to_owned() } else { told.sentence },
            sure,
            unsure: !unread && told.confidence < UNSURE_BELOW,
            doubtful: !unread && !by_hand && told.confidence < DOUBTFUL_BELOW,
            tap,
            spell: told.spell.map(|spell| EntrySpell {
                at: format!("{:.3}", spell.span.start()),
                until: nearest(spell.span.end()),
                state: state_id(spell.position, spell.top),
                moves: spell.span.start() > Time::ZERO,
            }),
            events: events.map(|event| entry_event(round, event)).collect(),
            fragment,
        });
    }
    entries
}

/// Below this a line is more likely wrong than right.
const DOUBTFUL_BELOW: f64 = 0.5;

/// Below this a line shows as unsure, as in the pictures.
const UNSURE_BELOW: f64 = 0.6;

fn owner(athlete: Option<Athlete>, begins: bool) -> (&'static str, &'static str) {
    match (athlete, begins) {
        (Some(Athlete::First), true) => ("first", "\u{25b2}"),
        (Some(Athlete::Second), true) => ("second", "\u{25bc}"),
        (None, true) => ("nobody", "\u{2500}"),
        (Some(Athlete::First), false) => ("first", "\u{b7}"),
        (Some(Athlete::Second), false) => ("second", "\u{b7}"),
        (None, false) => ("nobody", "\u{b7}"),
    }
}

fn entry_event(round: &Round, event: &Event) -> EntryEvent {
    EntryEvent {
        name: name_of(event),
        words: wording::event(round, event),
        at: format!("{:.1}", event.time),
        kind: event.kind.id(),
        who: athlete_id(event.actor),
        technique: event.technique.clone().unwrap_or_default(),
    }
}

/// Milliseconds that must be left of a stretch beside a border.
const LEAST_MILLIS: u64 = 1_000;

/// The borders between the stretches of a ledger.
pub(crate) fn borders(round: &Round, ledger: &Ledger) -> Vec<Border> {
    let border = |pair: &[academy::Spell]| {
        let (before, after) = (&pair[0], &pair[1]);
        let at = before.span.end();
        let state = |spell: &academy::Spell| wording::state(round, spell.position, spell.top);
        Border {
            millis: at.millis(),
            earliest: before.span.start().later(LEAST_MILLIS).min(at).millis(),
            latest: after.span.end().earlier(LEAST_MILLIS).max(at).millis(),
            words: format!("{}, then {}", state(before), state(after)),
        }
    };
    ledger.spells().windows(2).map(border).collect()
}

/// Every position with who can be on top in it.
pub(crate) fn states(round: &Round) -> Vec<Choice> {
    let tops = |position: Position| match position.has_top() {
        true => vec![Some(Athlete::First), Some(Athlete::Second)],
        false => vec![None],
    };
    let all = Position::ALL
        .into_iter()
        .flat_map(|position| tops(position).into_iter().map(move |top| (position, top)));
    all.map(|(position, top)| Choice {
        id: state_id(position, top),
        words: wording::state(round, position, top),
    })
    .collect()
}

/// Every kind of event.
pub(crate) fn kinds() -> Vec<Choice> {
    let choice = |kind: EventKind| Choice {
        id: kind.id().to_owned(),
        words: wording::does(kind).to_owned(),
    };
    EventKind::ALL.into_iter().map(choice).collect()
}
