//! Questions, choices and answers in words.

use academy::{Answer, Event, Position, Round, Source, Span, Time};
use decode::{About, Question};
use reports::{OpenQuestion, wording};

/// How many open questions a report shows.
const MOST_QUESTIONS: usize = 5;

/// "1 answer", "3 answers"
#[must_use]
pub fn how_many_answers(count: usize) -> String {
    if count == 1 { "1 answer".to_owned() } else { format!("{count} answers") }
}

/// The first few questions, ready to show.
#[must_use]
pub fn open_questions(round: &Round, questions: &[Question]) -> Vec<OpenQuestion> {
    let ready = |open: &Question| OpenQuestion {
        time: open.time,
        text: question(round, open),
        choices: choices(round, open),
    };
    questions.iter().take(MOST_QUESTIONS).map(ready).collect()
}

/// The position that all choices of a question name, where they differ only in who is on top.
fn one_position(question: &Question) -> Option<Position> {
    let mut positions = question.choices.iter().map(|choice| match &choice.answer {
        Answer::State { position, top: Some(_), .. } => Some(*position),
        _ => None,
    });
    let first = positions.next().flatten()?;
    (question.choices.len() > 1 && positions.all(|other| other == Some(first))).then_some(first)
}

/// A question as a sentence: when, where that is asked; who, where only that is open; else which
/// position.
#[must_use]
pub fn question(round: &Round, question: &Question) -> String {
    if let About::Spell { position, top, start, end } = question.about {
        let state = wording::state(round, position, top);
        let when = match (start, end) {
            (true, false) => "begin",
            (false, true) => "end",
            _ => "begin and end",
        };
        return format!("Here: {state}. When did that {when}?");
    }
    match one_position(question) {
        Some(position) => who_was_on_top(position),
        None => "Where were they, and who was on top?".to_owned(),
    }
}

/// The choices in words with their chances; only the name where only that is open, only the times
/// where the question names the rest.
#[must_use]
pub fn choices(round: &Round, question: &Question) -> Vec<(String, f64)> {
    let only_who = one_position(question).is_some();
    let asks_when = matches!(question.about, About::Spell { .. });
    let words = |answer: &Answer| match answer {
        Answer::Spell { start, end, .. } if asks_when => guess(*start, *end),
        answer if asks_when => format!("no, {}", self::answer(round, answer)),
        Answer::State { top: Some(top), .. } if only_who => round.name(*top).to_owned(),
        answer => self::answer(round, answer),
    };
    question.choices.iter().map(|choice| (words(&choice.answer), choice.probability)).collect()
}

/// Times that are guessed.
fn guess(start: Option<Time>, end: Option<Time>) -> String {
    match (start, end) {
        (Some(start), Some(end)) => format!("about {start} to {end}"),
        (Some(start), None) => format!("about {start}"),
        (None, Some(end)) => format!("about {end}"),
        (None, None) => "yes".to_owned(),
    }
}

/// The question who was on top, as the trade asks it for this position.
#[must_use]
pub fn who_was_on_top(position: Position) -> String {
    match position {
        Position::BackControl => "Who was behind, in back control?".to_owned(),
        Position::LegEntanglement => "Who attacked, in the leg entanglement?".to_owned(),
        Position::Turtle => "Who was on top of the turtle?".to_owned(),
        Position::FrontHeadlock => "Who had the front headlock?".to_owned(),
        _ => format!("Who was on top in {}?", position.name()),
    }
}

/// An answer in a few words.
#[must_use]
pub fn answer(round: &Round, answer: &Answer) -> String {
    match answer {
        Answer::State { position, top, .. } => wording::state(round, *position, *top),
        Answer::Spell { position, top, start, end, .. } => {
            let state = wording::state(round, *position, *top);
            match (start, end) {
                (Some(start), Some(end)) => format!("{state}, from {start} to {end}"),
                (Some(start), None) => format!("{state}, from {start} on"),
                (None, Some(end)) => format!("{state}, until {end}"),
                (None, None) => state,
            }
        }
        Answer::Top { top, .. } => format!("{} on top", round.name(*top)),
        Answer::Event { time, kind, actor } => wording::event(
            round,
            &Event {
                time: *time,
                kind: *kind,
                actor: *actor,
                technique: None,
                confidence: 1.0,
                source: Source::Hand,
            },
        ),
        Answer::Nothing { .. } => "nothing happened".to_owned(),
    }
}

/// "Nothing changed around here": the choice that says so, else a few seconds around the moment.
#[must_use]
pub fn nothing(question: &Question) -> Answer {
    const AROUND_MILLIS: u64 = 3_000;
    let nothing = |answer: &Answer| matches!(answer, Answer::Nothing { .. });
    let offered = question.choices.iter().map(|choice| &choice.answer).find(|a| nothing(a));
    offered.cloned().unwrap_or_else(|| Answer::Nothing {
        span: Span::between(
            question.time.earlier(AROUND_MILLIS),
            question.time.later(AROUND_MILLIS),
        ),
    })
}
