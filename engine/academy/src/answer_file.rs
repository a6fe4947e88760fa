//! The file form of what a person answered about a round: JSON, versioned. `docs/ledger-format.md`
//! describes it for people.

use serde::{Deserialize, Serialize};

use crate::answer::Answer;
use crate::file_form::{self, FileFormError, time};
use crate::person::Athlete;
use crate::position::{EventKind, Position};
use crate::round::Round;
use crate::time::{Span, Time};

/// What is kept of this form in every file. Version 2 added the kind `spell`.
pub const FORM: file_form::FileForm = file_form::FileForm {
    what: "file of answers",
    format: "grapevine answers",
    oldest: 1,
    version: 2,
};

/// Why a text is not a file of answers about a round.
#[derive(Debug, thiserror::Error)]
pub enum AnswerFileError {
    /// It is no file of this form.
    #[error(transparent)]
    Form(#[from] FileFormError),
    /// It is about other people.
    #[error("these answers are about {} and {}, not about this round's two athletes", .0[0], .0[1])]
    Athletes([String; 2]),
    /// An id or a name that does not exist.
    #[error("\"{id}\" is not a {what}")]
    Unknown {
        /// What it should be.
        what: &'static str,
        /// What it is.
        id: String,
    },
    /// A position and who is on top do not fit.
    #[error("{} and who is on top do not fit", .0.name())]
    Top(Position),
    /// A spell that starts after, or ends before, the moment at which it was seen.
    #[error("the spell seen at {0} starts after that or ends before it")]
    Spell(Time),
}

#[derive(Serialize, Deserialize)]
struct Content {
    format: String,
    version: u32,
    athletes: [String; 2],
    answers: Vec<AnswerForm>,
}

#[derive(Serialize, Deserialize)]
#[serde(tag = "kind", rename_all = "snake_case")]
enum AnswerForm {
    State { t: f64, position: String, top: Option<String> },
    Spell { t: f64, position: String, top: Option<String>, start: Option<f64>, end: Option<f64> },
    Top { t: f64, top: String },
    Event { t: f64, event: String, actor: Option<String> },
    Nothing { start: f64, end: f64 },
}

/// Writes answers about a round, with a line end at the end.
#[must_use]
pub fn write(round: &Round, answers: &[Answer]) -> String {
    let name = |athlete: Athlete| round.name(athlete).to_owned();
    let form = |answer: &Answer| match answer {
        Answer::State { time, position, top } => AnswerForm::State {
            t: time.seconds(),
            position: position.id().to_owned(),
            top: top.map(name),
        },
        Answer::Spell { time, position, top, start, end } => AnswerForm::Spell {
            t: time.seconds(),
            position: position.id().to_owned(),
            top: top.map(name),
            start: start.map(Time::seconds),
            end: end.map(Time::seconds),
        },
        Answer::Top { time, top } => AnswerForm::Top { t: time.seconds(), top: name(*top) },
        Answer::Event { time, kind, actor } => AnswerForm::Event {
            t: time.seconds(),
            event: kind.id().to_owned(),
            actor: actor.map(name),
        },
        Answer::Nothing { span } => {
            AnswerForm::Nothing { start: span.start().seconds(), end: span.end().seconds() }
        }
    };
    let file = Content {
        format: FORM.format.to_owned(),
        version: FORM.version,
        athletes: Athlete::BOTH.map(name),
        answers: answers.iter().map(form).collect(),
    };
    // Strings and finite numbers in structs: nothing here that JSON cannot hold.
    let mut text = serde_json::to_string_pretty(&file).unwrap_or_default();
    text.push('\n');
    text
}

/// Reads the answers about a round; the athletes may be in either order.
///
/// # Errors
/// See [`AnswerFileError`]; nothing is half read.
pub fn read(round: &Round, text: &str) -> Result<Vec<Answer>, AnswerFileError> {
    let file: Content = FORM.parse(text)?;
    let [first, second] = file.athletes.each_ref().map(|name| round.athlete(name));
    if first.is_none() || second.is_none() || first == second {
        return Err(AnswerFileError::Athletes(file.athletes));
    }
    file.answers.into_iter().map(|form| answer(round, form)).collect()
}

fn answer(round: &Round, form: AnswerForm) -> Result<Answer, AnswerFileError> {
    let athlete = |name: String| {
        round
            .athlete(&name)
            .ok_or(AnswerFileError::Unknown { what: "name of this round", id: name })
    };
    let place = |position: String, top: Option<String>| {
        let position = Position::from_id(&position)
            .ok_or(AnswerFileError::Unknown { what: "position", id: position })?;
        let top = top.map(athlete).transpose()?;
        // No top where there should be one means that the person does not know.
        if top.is_some() && !position.has_top() {
            return Err(AnswerFileError::Top(position));
        }
        Ok((position, top))
    };
    Ok(match form {
        AnswerForm::State { t, position, top } => {
            let (position, top) = place(position, top)?;
            Answer::State { time: time(t)?, position, top }
        }
        AnswerForm::Spell { t, position, top, start, end } => {
            let (position, top) = place(position, top)?;
            let (start, end) = (start.map(time).transpose()?, end.map(time).transpose()?);
            let time = time(t)?;
            if start.is_some_and(|start| time < start) || end.is_some_and(|end| end < time) {
                return Err(AnswerFileError::Spell(time));
            }
            Answer::Spell { time, position, top, start, end }
        }
        AnswerForm::Top { t, top } => Answer::Top { time: time(t)?, top: athlete(top)? },
        AnswerForm::Event { t, event, actor } => Answer::Event {
            time: time(t)?,
            kind: EventKind::from_id(&event)
                .ok_or(AnswerFileError::Unknown { what: "kind of event", id: event })?,
            actor: actor.map(athlete).transpose()?,
        },
        AnswerForm::Nothing { start, end } => {
            Answer::Nothing { span: Span::between(time(start)?, time(end)?) }
        }
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::person::Person;
    use crate::round::RoundKind;
    use proptest::prelude::*;

    fn round(names: [&str; 2]) -> Round {
        let athletes = names.map(|name| Person { name: name.to_owned(), pronoun: None });
        Round::new(athletes, RoundKind::Flow, Time::from_millis(300_000)).unwrap()
    }

    fn answers() -> impl Strategy<Value = Answer> {
        let time = || (0u64..86_400_000).prop_map(Time::from_millis);
        let athlete = || prop::sample::select(Athlete::BOTH.to_vec());
        let kind = prop::sample::select(EventKind::ALL.to_vec());
        let place = || {
            let position = prop::sample::select(Position::ALL.to_vec());
            (position, prop::option::of(athlete()))
                .prop_map(|(position, top)| (position, top.filter(|_| position.has_top())))
        };
        prop_oneof![
            (prop::collection::vec(time(), 3), place(), any::<[bool; 2]>()).prop_map(
                |(mut times, (position, top), told)| {
                    times.sort();
                    let [start, time, end] = times[..] else { unreachable!() };
                    let start = told[0].then_some(start);
                    let end = told[1].then_some(end);
                    Answer::Spell { time, position, top, start, end }
                }
            ),
            (time(), place()).prop_map(|(time, (position, top))| Answer::State {
                time,
                position,
                top
            }),
            (time(), athlete()).prop_map(|(time, top)| Answer::Top { time, top }),
            (time(), kind, prop::option::of(athlete()))
                .prop_map(|(time, kind, actor)| Answer::Event { time, kind, actor }),
            (time(), time()).prop_map(|(a, b)| Answer::Nothing { span: Span::between(a, b) }),
        ]
    }

    proptest! {
        #[test]
        fn what_is_written_reads_back(answers in prop::collection::vec(answers(), 0..8)) {
            let round = round(["Petra", "Idris"]);
            prop_assert_eq!(read(&round, &write(&round, &answers)).unwrap(), answers);
        }

        #[test]
        fn any_text_gets_an_answer(text in ".{0,200}") {
            prop_assert!(read(&round(["Petra", "Idris"]), &text).is_err());
        }
    }

    #[test]
    fn names_count_and_not_their_order() {
        let top = |top| vec![Answer::Top { time: Time::from_millis(1500), top }];
        let text = write(&round(["Petra", "Idris"]), &top(Athlete::First));
        assert_eq!(read(&round(["Idris", "petra"]), &text).unwrap(), top(Athlete::Second));
        let error = read(&round(["Petra", "Wren"]), &text).unwrap_err().to_string();
        assert_eq!(
            error,
            "these answers are about Petra and Idris, not about this round's two athletes"
        );
    }

    #[test]
    fn says_what_is_wrong() {
        let round = round(["Petra", "Idris"]);
        let file = |answers: &str| {
            format!(
                r#"{{"format": "grapevine answers", "version": 1,
                "athletes": ["Petra", "Idris"], "answers": [{answers}]}}"#
            )
        };
        for (answer, expected) in [
            (
                r#"{"kind": "state", "t": 1, "position": "guard", "top": null}"#,
                "\"guard\" is not a position",
            ),
            (
                r#"{"kind": "state", "t": 1, "position": "standing", "top": "Petra"}"#,
                "standing and who is on top do not fit",
            ),
            (
                r#"{"kind": "spell", "t": 9, "position": "mount", "top": "Petra", "start": 9.5}"#,
                "the spell seen at 0:09 starts after that or ends before it",
            ),
            (r#"{"kind": "top", "t": 1, "top": "Wren"}"#, "\"Wren\" is not a name of this round"),
            (
                r#"{"kind": "top", "t": -1, "top": "Petra"}"#,
                "-1 is not a time in seconds between 0 and 86400",
            ),
        ] {
            assert_eq!(read(&round, &file(answer)).unwrap_err().to_string(), expected);
        }
        assert!(
            read(&round, &file(r#"{"kind": "guess"}"#))
                .unwrap_err()
                .to_string()
                .starts_with("line 2")
        );
        let told = |text: &str| read(&round, text).unwrap_err().to_string();
        assert!(told("{}").starts_with("this is not a file of answers"));
        assert_eq!(
            told(&file("").replace("\"version\": 1", "\"version\": 3")),
            "this file of answers has version 3, this program reads version 1 to 2"
        );
    }
}
