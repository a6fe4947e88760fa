//! The file form of a ledger: JSON, versioned. `docs/ledger-format.md` describes it for people.
//!
//! Seconds are numbers with at most three decimals, confidences have at most four, athletes are
//! named. Readers ignore keys they do not know, so that a later version 1 may add some; a change
//! that would mislead an old reader raises the version.

use serde::{Deserialize, Serialize};

use crate::file_form::{self, FileFormError, time};
use crate::ledger::{Event, Ledger, LedgerError, Source, Spell};
use crate::note::Note;
use crate::person::{Athlete, Person, Pronoun};
use crate::position::{EventKind, Position};
use crate::round::{Round, RoundError, RoundKind};
use crate::time::Span;

/// What is kept of this form in every file.
pub const FORM: file_form::FileForm =
    file_form::FileForm { what: "ledger", format: "grapevine ledger", oldest: 1, version: 1 };

/// Why a text is not a ledger file.
#[derive(Debug, thiserror::Error)]
pub enum LedgerFileError {
    /// It is no file of this form.
    #[error(transparent)]
    Form(#[from] FileFormError),
    /// A position, kind or source has an id that does not exist.
    #[error("\"{id}\" is not a {what}")]
    Id {
        /// What the id should name.
        what: &'static str,
        /// The id found.
        id: String,
    },
    /// A name is neither athlete's.
    #[error("\"{0}\" is neither of the two athletes")]
    Name(String),
    /// The round cannot be.
    #[error(transparent)]
    Round(#[from] RoundError),
    /// The spells and events do not make a ledger.
    #[error(transparent)]
    Ledger(#[from] LedgerError),
}

#[derive(Serialize, Deserialize)]
struct Content {
    format: String,
    version: u32,
    round: RoundForm,
    #[serde(default, skip_deserializing, skip_serializing_if = "Vec::is_empty")]
    notes: Vec<NoteForm>,
    spells: Vec<SpellForm>,
    events: Vec<EventForm>,
}

#[derive(Serialize, Deserialize)]
struct RoundForm {
    athletes: [PersonForm; 2],
    kind: String,
    length: f64,
}

#[derive(Serialize, Deserialize)]
struct PersonForm {
    name: String,
    pronoun: Option<String>,
}

#[derive(Serialize, Deserialize)]
struct SpellForm {
    start: f64,
    end: f64,
    position: String,
    top: Option<String>,
    variant: Option<String>,
    confidence: f64,
    source: String,
}

#[derive(Serialize, Deserialize)]
struct EventForm {
    t: f64,
    kind: String,
    actor: Option<String>,
    technique: Option<String>,
    confidence: f64,
    source: String,
}

/// A remark, with the keys that its kind has.
#[derive(Default, Serialize)]
struct NoteForm {
    kind: &'static str,
    #[serde(skip_serializing_if = "Option::is_none")]
    stretches: Option<Vec<StretchForm>>,
    #[serde(skip_serializing_if = "Option::is_none")]
    athlete: Option<String>,
    #[serde(skip_serializing_if = "Option::is_none")]
    lines: Option<usize>,
    #[serde(skip_serializing_if = "Option::is_none")]
    after: Option<f64>,
}

#[derive(Serialize)]
struct StretchForm {
    start: f64,
    end: f64,
}

/// Writes a ledger with its round, and nothing to note.
#[must_use]
pub fn write(round: &Round, ledger: &Ledger) -> String {
    write_with_notes(round, ledger, &[])
}

/// Writes a ledger with its round and what is to note about it, with a line end at the end.
///
/// Notes are for whoever opens the file; [`read`] leaves them out, as it leaves out keys it does
/// not know. The same ledger always gives the same bytes. Confidences are rounded to four decimals; all
/// else is kept, so `read(&write(round, ledger))` gives both back.
#[must_use]
pub fn write_with_notes(round: &Round, ledger: &Ledger, notes: &[Note]) -> String {
    let name = |athlete: Option<Athlete>| athlete.map(|athlete| round.name(athlete).to_owned());
    let person = |athlete| {
        let person = round.person(athlete);
        PersonForm {
            name: person.name.clone(),
            pronoun: person.pronoun.map(|pronoun| pronoun.subject().to_owned()),
        }
    };
    let form = Content {
        format: FORM.format.to_owned(),
        version: FORM.version,
        notes: notes.iter().map(|note| note_form(round, note)).collect(),
        round: RoundForm {
            athletes: Athlete::BOTH.map(person),
            kind: round.kind().id().to_owned(),
            length: round.length().seconds(),
        },
        spells: (ledger.spells().iter())
            .map(|spell| SpellForm {
                start: spell.span.start().seconds(),
                end: spell.span.end().seconds(),
                position: spell.position.id().to_owned(),
                top: name(spell.top),
                variant: spell.variant.clone(),
                confidence: four_decimals(spell.confidence),
                source: spell.source.id().to_owned(),
            })
            .collect(),
        events: (ledger.events().iter())
            .map(|event| EventForm {
                t: event.time.seconds(),
                kind: event.kind.id().to_owned(),
                actor: name(event.actor),
                technique: event.technique.clone(),
                confidence: four_decimals(event.confidence),
                source: event.source.id().to_owned(),
            })
            .collect(),
    };
    // Strings and finite numbers in structs: nothing here that JSON cannot hold.
    let mut text = serde_json::to_string_pretty(&form).unwrap_or_default();
    text.push('\n');
    text
}

/// Reads a ledger and its round.
///
/// # Errors
/// See [`LedgerFileError`]; nothing is half read.
pub fn read(text: &str) -> Result<(Round, Ledger), LedgerFileError> {
    let form: Content = FORM.parse(text)?;
    let [first, second] = form.round.athletes;
    let round = Round::new(
        [person(first)?, person(second)?],
        known("kind of round", &form.round.kind, RoundKind::from_id)?,
        time(form.round.length)?,
    )?;
    let athlete = |name: Option<String>| match name {
        None => Ok(None),
        Some(name) => round.athlete(&name).map(Some).ok_or(LedgerFileError::Name(name)),
    };
    let mut spells = Vec::with_capacity(form.spells.len());
    for spell in form.spells {
        let (start, end) = (time(spell.start)?, time(spell.end)?);
        spells.push(Spell {
            // A spell that runs backwards is one without length.
            span: Span::new(start, end).ok_or(LedgerError::NoLength(start))?,
            position: known("position", &spell.position, Position::from_id)?,
            top: athlete(spell.top)?,
            variant: spell.variant,
            confidence: spell.confidence,
            source: known("source", &spell.source, Source::from_id)?,
        });
    }
    let mut events = Vec::with_capacity(form.events.len());
    for event in form.events {
        events.push(Event {
            time: time(event.t)?,
            kind: known("kind of event", &event.kind, EventKind::from_id)?,
            actor: athlete(event.actor)?,
            technique: event.technique,
            confidence: event.confidence,
            source: known("source", &event.source, Source::from_id)?,
        });
    }
    let ledger = Ledger::new(spells, events)?;
    Ok((round, ledger))
}

fn note_form(round: &Round, note: &Note) -> NoteForm {
    let kind = note.id();
    let stretch =
        |span: &Span| StretchForm { start: span.start().seconds(), end: span.end().seconds() };
    match note {
        Note::MayBeSwapped { stretches } => {
            let stretches = Some(stretches.iter().map(stretch).collect());
            NoteForm { kind, stretches, ..NoteForm::default() }
        }
        Note::NameNotHeard { athlete } => {
            let athlete = Some(round.name(*athlete).to_owned());
            NoteForm { kind, athlete, ..NoteForm::default() }
        }
        Note::TalkLeftOut { lines, after } => {
            let (lines, after) = (Some(*lines), Some(after.seconds()));
            NoteForm { kind, lines, after, ..NoteForm::default() }
        }
    }
}

fn known<T>(
    what: &'static str,
    id: &str,
    from_id: impl Fn(&str) -> Option<T>,
) -> Result<T, LedgerFileError> {
    from_id(id).ok_or_else(|| LedgerFileError::Id { what, id: id.to_owned() })
}

fn person(form: PersonForm) -> Result<Person, LedgerFileError> {
    let pronoun = match form.pronoun {
        None => None,
        Some(text) => Some(known("pronoun", &text, Pronoun::parse)?),
    };
    Ok(Person { name: form.name, pronoun })
}

fn four_decimals(probability: f64) -> f64 {
    (probability * 1e4).round() / 1e4
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::time::Time;
    use proptest::prelude::*;

    fn round() -> Round {
        let person = |name: &str, pronoun| Person { name: name.to_owned(), pronoun };
        Round::new(
            [person("Petra", Some(Pronoun::She)), person("Idris \"Ido\"", None)],
            RoundKind::Hard,
            Time::from_millis(300_000),
        )
        .unwrap()
    }

    fn ids() -> impl Strategy<Value = (Option<String>, f64, Source)> {
        let source = prop_oneof![Just(Source::Talk), Just(Source::Video), Just(Source::Hand)];
        // Four decimals are what a file keeps.
        (proptest::option::of(".{0,12}"), (0u32..=10_000).prop_map(|k| f64::from(k) / 1e4), source)
    }

    fn athlete() -> impl Strategy<Value = Athlete> {
        proptest::sample::select(Athlete::BOTH.to_vec())
    }

    prop_compose! {
        fn ledgers()(
            spells in proptest::collection::vec(
                (1u64..100_000, proptest::sample::select(Position::ALL.to_vec()), athlete(), ids()),
                1..20,
            ),
            events in proptest::collection::vec(
                (0.0..=1.0f64, proptest::sample::select(EventKind::ALL.to_vec()),
                 proptest::option::of(athlete()), ids()),
                0..20,
            ),
        ) -> Ledger {
            let mut end = Time::ZERO;
            let spells = spells.into_iter().map(|(millis, position, top, rest)| {
                let (variant, confidence, source) = rest;
                let span = Span::between(end, end.later(millis));
                end = span.end();
                let top = position.has_top().then_some(top);
                Spell { span, position, top, variant, confidence, source }
            }).collect();
            let events = events.into_iter().map(|(share, kind, actor, rest)| {
                let (technique, confidence, source) = rest;
                let time = Time::from_millis((share * end.millis() as f64) as u64);
                Event { time, kind, actor, technique, confidence, source }
            }).collect();
            Ledger::new(spells, events).unwrap()
        }
    }

    proptest! {
        #[test]
        fn what_is_written_reads_back(ledger in ledgers()) {
            let text = write(&round(), &ledger);
            let (round_again, ledger_again) = read(&text).unwrap();
            prop_assert_eq!(round_again, round());
            prop_assert_eq!(&ledger_again, &ledger);
            prop_assert_eq!(write(&round(), &ledger_again), text);
        }

        #[test]
        fn a_damaged_file_gets_an_answer(
            changes in proptest::collection::vec(
                (0..SMALL.len(), r#"[\[\]{}:,"0-9e.+-]{0,3}"#), 1..4,
            ),
        ) {
            let mut text = SMALL.to_owned();
            for (at, new) in changes {
                let at = at.min(text.len());
                text.replace_range(at..(at + 1).min(text.len()), &new);
            }
            if let Ok((round, ledger)) = read(&text) {
                prop_assert_eq!(read(&write(&round, &ledger)).unwrap().1.end(), ledger.end());
            }
        }
    }

    const SMALL: &str = r#"{
  "format": "grapevine ledger",
  "version": 1,
  "round": {
    "athletes": [{ "name": "Petra", "pronoun": "she" }, { "name": "Idris", "pronoun": null }],
    "kind": "flow",
    "length": 20.0,
    "place": "a key of a later version"
  },
  "spells": [
    { "start": 0.0, "end": 5.4, "position": "standing", "top": null, "variant": null,
      "confidence": 1.0, "source": "talk" },
    { "start": 5.4, "end": 20.0, "position": "open_guard", "top": "petra",
      "variant": "butterfly guard", "confidence": 0.81, "source": "hand" }
  ],
  "events": [
    { "t": 5.4, "kind": "guard_pull", "actor": "Idris", "technique": "guard pull",
      "confidence": 0.9, "source": "talk" }
  ]
}"#;

    #[test]
    fn reads_the_documented_form() {
        let (round, ledger) = read(SMALL).unwrap();
        assert_eq!(round.name(Athlete::Second), "Idris");
        assert_eq!(ledger.spells()[1].top, Some(Athlete::First));
        assert_eq!(ledger.events()[0].time, Time::from_millis(5400));
        // A file saved by an editor that puts a mark at its start is still the same file.
        assert_eq!(read(&format!("\u{feff}{SMALL}")).unwrap().1, ledger);
    }

    #[test]
    fn says_what_is_wrong() {
        let changed = |from: &str, to: &str| {
            assert!(SMALL.contains(from), "{from}");
            read(&SMALL.replacen(from, to, 1)).unwrap_err().to_string()
        };
        let check = |from: &str, to: &str, expected: &str| assert_eq!(changed(from, to), expected);
        check(
            "\"version\": 1",
            "\"version\": 2",
            "this ledger has version 2, this program reads version 1",
        );
        check(
            "grapevine ledger",
            "shopping list",
            "this is not a ledger: its \"format\" is not \"grapevine ledger\"",
        );
        check("open_guard", "guard", "\"guard\" is not a position");
        check("\"petra\"", "\"Petro\"", "\"Petro\" is neither of the two athletes");
        check(
            "\"end\": 20.0",
            "\"end\": -20.0",
            "-20 is not a time in seconds between 0 and 86400",
        );
        check("\"end\": 20.0", "\"end\": 3.0", "the spell at 0:05 has no length");
        check(
            "\"end\": 5.4",
            "\"end\": 5.0",
            "a spell ends at 0:05.000 but the next one starts at 0:05.400",
        );
        check(
            "\"t\": 5.4",
            "\"t\": 21",
            "an event at 0:21 lies after the end of the round at 0:20",
        );
        check("0.81", "1.81", "a confidence at 0:05 is not between 0 and 1");
        check(
            "\"spells\": [",
            "\"spells\": 3, \"x\": [",
            "line 10, column 13: invalid type: integer `3`, expected a sequence",
        );
        check("\"hand\"", "\"ear\"", "\"ear\" is not a source");
    }

    #[test]
    fn notes_are_there_for_whoever_opens_the_file() {
        let (round, ledger) = read(SMALL).unwrap();
        let at = Time::from_millis;
        let notes = [
            Note::MayBeSwapped { stretches: vec![Span::between(at(5_400), at(20_000))] },
            Note::NameNotHeard { athlete: Athlete::Second },
            Note::TalkLeftOut { lines: 12, after: at(20_000) },
        ];
        let text = write_with_notes(&round, &ledger, &notes);
        let value: serde_json::Value = serde_json::from_str(&text).unwrap();
        assert_eq!(
            value["notes"],
            serde_json::json!([
                { "kind": "may_be_swapped", "stretches": [{ "start": 5.4, "end": 20.0 }] },
                { "kind": "name_not_heard", "athlete": "Idris" },
                { "kind": "talk_left_out", "lines": 12, "after": 20.0 },
            ])
        );
        assert_eq!(read(&text).unwrap(), (round.clone(), ledger.clone()));
        assert!(!write(&round, &ledger).contains("notes"));
    }
}
