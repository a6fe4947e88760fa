//! What truly happened in a round whose talk is used for learning or for judging.

use academy::{
    Athlete, Event, EventKind, Ledger, LedgerError, Person, Position, Pronoun, Round, RoundError,
    RoundKind, Source, Span, Spell, Time,
};
use serde::Deserialize;
use std::collections::{BTreeMap, BTreeSet};

/// A round, what happened in it, and which of its events the talk speaks of.
#[derive(Clone, Debug)]
pub struct Truth {
    /// Who met.
    pub round: Round,
    /// What happened.
    pub ledger: Ledger,
    /// The ids of the ledger's events, in the ledger's order.
    pub ids: Vec<String>,
    /// What was said, where it is known line by line.
    pub lines: Vec<Line>,
}

/// One line of a talk, with the events it speaks of.
#[derive(Clone, Debug, PartialEq)]
pub struct Line {
    /// When it begins.
    pub start: Time,
    /// The ids of the events that it speaks of; empty for general talk.
    pub about: Vec<String>,
    /// What is said.
    pub text: String,
}

/// Why a truth could not be read.
#[derive(Debug, thiserror::Error)]
pub enum TruthError {
    /// Not the expected JSON.
    #[error("{0}")]
    Json(#[from] serde_json::Error),
    /// An id that nobody knows.
    #[error("there is no {what} called {id}")]
    Unknown {
        /// What kind of thing.
        what: &'static str,
        /// What was found.
        id: String,
    },
    /// The round cannot be.
    #[error("{0}")]
    Round(#[from] RoundError),
    /// The ledger cannot be.
    #[error("{0}")]
    Ledger(#[from] LedgerError),
    /// A line of the talk is not three columns: second, ids, text.
    #[error("line {0} of the talk is not: second, tab, ids or -, tab, text")]
    Line(usize),
}

#[derive(Deserialize)]
struct TruthFile {
    athletes: [String; 2],
    #[serde(default)]
    pronouns: BTreeMap<String, String>,
    kind: String,
    duration: f64,
    spells: Vec<SpellFile>,
    events: Vec<EventFile>,
}

#[derive(Deserialize)]
struct SpellFile {
    start: f64,
    end: f64,
    position: String,
    top: Option<String>,
    guard: Option<String>,
}

#[derive(Deserialize)]
struct EventFile {
    t: f64,
    kind: String,
    actor: Option<String>,
    technique: Option<String>,
    id: String,
}

impl Truth {
    /// Reads a truth (JSON) and its talk (three columns: second, ids, text).
    ///
    /// # Errors
    /// See [`TruthError`].
    pub fn parse(truth: &str, talk: &str) -> Result<Self, TruthError> {
        let file: TruthFile = serde_json::from_str(truth)?;
        let unknown = |what, id: &str| TruthError::Unknown { what, id: id.to_owned() };
        let person = |name: &String| Person {
            name: name.clone(),
            pronoun: file.pronouns.get(name).and_then(|text| Pronoun::parse(text)),
        };
        let kind =
            RoundKind::from_id(&file.kind).ok_or_else(|| unknown("kind of round", &file.kind))?;
        let length = Time::from_seconds(file.duration);
        let round =
            Round::new([person(&file.athletes[0]), person(&file.athletes[1])], kind, length)?;
        let athlete = |name: &Option<String>| -> Result<Option<Athlete>, TruthError> {
            name.as_ref()
                .map(|name| round.athlete(name).ok_or_else(|| unknown("athlete", name)))
                .transpose()
        };
        let mut spells = Vec::with_capacity(file.spells.len());
        for spell in &file.spells {
            spells.push(Spell {
                span: Span::between(Time::from_seconds(spell.start), Time::from_seconds(spell.end)),
                position: Position::from_id(&spell.position)
                    .ok_or_else(|| unknown("position", &spell.position))?,
                top: athlete(&spell.top)?,
                variant: spell.guard.clone(),
                confidence: 1.0,
                source: Source::Hand,
            });
        }
        let mut events = Vec::with_capacity(file.events.len());
        for event in &file.events {
            let found = Event {
                time: Time::from_seconds(event.t),
                kind: EventKind::from_id(&event.kind)
                    .ok_or_else(|| unknown("kind of event", &event.kind))?,
                actor: athlete(&event.actor)?,
                technique: event.technique.clone(),
                confidence: 1.0,
                source: Source::Hand,
            };
            events.push((found, event.id.clone()));
        }
        // The ledger sorts by time and keeps the order of equals; so must the ids.
        events.sort_by_key(|(event, _)| event.time);
        let (events, ids): (Vec<_>, Vec<_>) = events.into_iter().unzip();
        Ok(Truth { ledger: Ledger::new(spells, events)?, round, ids, lines: lines(talk)? })
    }

    /// The ids of the events that the talk speaks of.
    #[must_use]
    pub fn heard(&self) -> BTreeSet<&str> {
        self.lines.iter().flat_map(|line| &line.about).map(String::as_str).collect()
    }
}

fn lines(talk: &str) -> Result<Vec<Line>, TruthError> {
    let mut lines = Vec::new();
    for (number, line) in talk.lines().enumerate().filter(|(_, line)| !line.trim().is_empty()) {
        let mut columns = line.splitn(3, '\t');
        let parts = (columns.next(), columns.next(), columns.next());
        let (Some(start), Some(about), Some(text)) = parts else {
            return Err(TruthError::Line(number + 1));
        };
        let start: f64 = start.trim().parse().map_err(|_| TruthError::Line(number + 1))?;
        let about = match about.trim() {
            "" | "-" => Vec::new(),
            ids => ids.split(',').map(|id| id.trim().to_owned()).collect(),
        };
        lines.push(Line { start: Time::from_seconds(start), about, text: text.to_owned() });
    }
    Ok(lines)
}

#[cfg(test)]
mod tests {
    use super::*;

    const TRUTH: &str = r#"{"athletes":["Ada","Bo"],"pronouns":{"Ada":"she"},"kind":"flow",
        "duration":20.0,"facts":[],
        "spells":[{"start":0,"end":8.5,"position":"standing","top":null},
                  {"start":8.5,"end":20,"position":"mount","top":"Bo"}],
        "events":[{"t":8.5,"kind":"takedown","actor":"Bo","technique":"trip","id":"e1",
                   "from":"standing","to":"mount"}]}"#;

    #[test]
    fn a_truth_and_its_talk_are_read() {
        let truth = Truth::parse(TRUTH, "1.0\t-\thello\n9.5\te1\tdown they go\n").unwrap();
        assert_eq!(truth.ledger.spells()[1].top, Some(Athlete::Second));
        assert_eq!(truth.ids, ["e1"]);
        assert!(truth.heard().contains("e1"));
        assert_eq!(truth.lines[1].start, Time::from_millis(9500));
    }

    #[test]
    fn a_bad_line_is_named() {
        let error = Truth::parse(TRUTH, "1.0\t-\thello\nno columns\n").unwrap_err();
        assert!(error.to_string().contains("line 2"), "{error}");
    }

    #[test]
    fn an_unknown_position_is_named() {
        let error = Truth::parse(&TRUTH.replace("mount", "moon"), "").unwrap_err();
        assert!(error.to_string().contains("moon"), "{error}");
    }
}
