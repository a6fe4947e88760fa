//! What the live pages show.

use std::collections::HashMap;

use academy::{EventKind, Position, Round};
use store::{KeptPress, RoundId};

use super::super::add_round::form::{Known, Problems};
use super::super::add_round::view::{Choice, kinds, people};
use super::press::SentPress;

/// The form that begins a round.
pub(crate) struct BeginView {
    pub(crate) first: String,
    pub(crate) second: String,
    pub(crate) length: String,
    pub(crate) gi: bool,
    pub(crate) kinds: Vec<Choice>,
    pub(crate) people: Vec<String>,
    pub(crate) problems: Problems,
    pub(crate) add_people: bool,
    /// Rounds that go on: id and names.
    pub(crate) going: Vec<(i64, [String; 2])>,
}

impl BeginView {
    pub(crate) fn empty(known: &Known) -> Self {
        let fields = HashMap::from([("length".to_owned(), "5:00".to_owned())]);
        BeginView::again(&fields, known, Problems::default())
    }

    pub(crate) fn again(
        fields: &HashMap<String, String>,
        known: &Known,
        mut problems: Problems,
    ) -> Self {
        let typed = |name: &str| fields.get(name).map_or("", |text| text.trim());
        if typed("length").is_empty() {
            problems.by_field.entry("length").or_insert_with(|| "Write a length like 5:00.".into());
        }
        BeginView {
            first: typed("first").to_owned(),
            second: typed("second").to_owned(),
            length: typed("length").to_owned(),
            gi: typed("gi") != "no",
            kinds: kinds(typed("kind")),
            people: people(known),
            problems,
            add_people: !typed("add_people").is_empty(),
            going: Vec::new(),
        }
    }

    pub(crate) fn problem(&self, field: &str) -> Option<&str> {
        self.problems.by_field.get(field).map(String::as_str)
    }

    pub(crate) fn tied(&self, field: &str) -> String {
        match self.problem(field) {
            Some(_) => format!(" aria-invalid=\"true\" aria-describedby=\"{field}-problem\""),
            None => String::new(),
        }
    }
}

/// The page of buttons.
pub(crate) struct BoardView {
    pub(crate) id: i64,
    pub(crate) names: [String; 2],
    pub(crate) planned: String,
    pub(crate) planned_millis: u64,
    /// Positions with somebody on top: id and name.
    pub(crate) positions: Vec<(&'static str, &'static str)>,
    pub(crate) events: Vec<(&'static str, &'static str)>,
    /// What was pressed so far, as JSON.
    pub(crate) presses: String,
}

/// Moments that have a button. Moving on to a better pin has none: pressing the pin says it.
const EVENTS: [EventKind; 12] = [
    EventKind::Takedown,
    EventKind::GuardPull,
    EventKind::Pass,
    EventKind::Sweep,
    EventKind::Reversal,
    EventKind::Escape,
    EventKind::BackTake,
    EventKind::FailedTry,
    EventKind::SubmissionAttempt,
    EventKind::SubmissionEscape,
    EventKind::Release,
    EventKind::Tap,
];

impl BoardView {
    pub(crate) fn new(id: RoundId, round: &Round, kept: &[KeptPress]) -> Self {
        let presses: Vec<serde_json::Value> = (kept.iter())
            .map(|kept| serde_json::json!({ "page": kept.page, "press": SentPress::of(kept) }))
            .collect();
        let tops = Position::ALL.into_iter().filter(|position| position.has_top());
        BoardView {
            id: id.0,
            names: round.athletes().each_ref().map(|person| person.name.clone()),
            planned: round.length().to_string(),
            planned_millis: round.length().millis(),
            positions: tops.map(|position| (position.id(), position.name())).collect(),
            events: EVENTS.map(|kind| (kind.id(), kind.name())).to_vec(),
            presses: serde_json::Value::Array(presses).to_string(),
        }
    }
}
