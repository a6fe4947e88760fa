//! A question with all that a page needs to ask it.

use academy::{Answer, Athlete, Position, Round, Time};
use decode::{About, Question};
use reports::wording;

use crate::questions;
use crate::tokens::token;

/// A question ready to be asked.
#[derive(Clone, Debug, PartialEq)]
pub struct QuestionView {
    /// The moment it is about.
    pub time: Time,
    /// The question as a sentence.
    pub sentence: String,
    /// The likeliest answers, likeliest first.
    pub choices: Vec<ChoiceView>,
    /// Where it asks when a position began or ended: what is asked and guessed.
    pub asks_when: Option<AsksWhen>,
    /// Everything that can be answered where no choice fits, by position.
    pub other: Vec<OtherPosition>,
    /// The token of "nothing changed around here"; `None` where the question asks when, since
    /// nothing changes in the middle of a spell anyhow.
    pub nothing: Option<String>,
}

/// A choice of a question.
#[derive(Clone, Debug, PartialEq)]
pub struct ChoiceView {
    /// In words.
    pub words: String,
    /// The chance, 0 to 1, that it is right; of one with times, that all but the times is.
    pub chance: f64,
    /// What a form sends.
    pub token: String,
}

/// What a question for times asks.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct AsksWhen {
    /// The spell without times: [`with_times`](crate::with_times) makes the answer from it.
    pub token: String,
    /// Whether the start is asked for.
    pub start: bool,
    /// Whether the end is asked for.
    pub end: bool,
    /// When it probably began.
    pub guessed_start: Option<Time>,
    /// When it probably ended.
    pub guessed_end: Option<Time>,
}

/// A position, or that only the top is known, with the answers it allows.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct OtherPosition {
    /// The position in words.
    pub words: String,
    /// Who was on top.
    pub choices: Vec<OtherChoice>,
}

/// An answer that was not among the choices.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct OtherChoice {
    /// In words, complete without the position's heading.
    pub words: String,
    /// What a form sends.
    pub token: String,
}

impl QuestionView {
    /// A question about a round, with the chances as they are shown (`Understood::as_shown`).
    #[must_use]
    pub fn new(round: &Round, question: &Question) -> Self {
        let words = questions::choices(round, question);
        let choices = (words.into_iter().zip(&question.choices))
            .map(|((words, chance), choice)| ChoiceView {
                words,
                chance,
                token: token(&choice.answer),
            })
            .collect();
        let asks_when = asks_when(question);
        let nothing =
            asks_when.is_none().then(|| token(&within(round, questions::nothing(question))));
        QuestionView {
            time: question.time,
            sentence: questions::question(round, question),
            choices,
            asks_when,
            other: other(round, question.time),
            nothing,
        }
    }
}

/// A stretch around a moment, not beyond the end of the round.
fn within(round: &Round, answer: Answer) -> Answer {
    match answer {
        Answer::Nothing { span } => {
            let inside = |time: Time| time.min(round.length());
            let span = academy::Span::between(inside(span.start()), inside(span.end()));
            Answer::Nothing { span }
        }
        other => other,
    }
}

fn asks_when(question: &Question) -> Option<AsksWhen> {
    let About::Spell { position, top, start, end } = question.about else { return None };
    let guessed = question.choices.iter().find_map(|choice| match choice.answer {
        Answer::Spell { start, end, .. } => Some((start, end)),
        _ => None,
    });
    let (guessed_start, guessed_end) = guessed.unwrap_or_default();
    let spell = Answer::Spell { time: question.time, position, top, start: None, end: None };
    Some(AsksWhen { token: token(&spell), start, end, guessed_start, guessed_end })
}

/// Every answer about where they were at this moment.
fn other(round: &Round, time: Time) -> Vec<OtherPosition> {
    let choice = |words: String, answer: Answer| OtherChoice { words, token: token(&answer) };
    let mut all: Vec<OtherPosition> = (Position::ALL.into_iter())
        .map(|position| {
            let state = |top| Answer::State { time, position, top };
            let words = |top| wording::state(round, position, top);
            let unknown = match position.has_top() {
                true => format!("{}, who was on top isn't clear", position.name()),
                false => words(None),
            };
            let tops = Athlete::BOTH.into_iter().filter(|_| position.has_top());
            let known = tops.map(|top| choice(words(Some(top)), state(Some(top))));
            let choices = known.chain([choice(unknown, state(None))]).collect();
            OtherPosition { words: words(None), choices }
        })
        .collect();
    let on_top = |top| {
        let answer = Answer::Top { time, top };
        choice(questions::answer(round, &answer), answer)
    };
    all.push(OtherPosition {
        words: "the position isn't clear".to_owned(),
        choices: Athlete::BOTH.into_iter().map(on_top).collect(),
    });
    all
}
