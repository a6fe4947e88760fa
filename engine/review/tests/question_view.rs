//! Questions as a page asks them.

use academy::{Answer, Athlete, Position, Round};
use decode::{About, Choice, Question};
use review::{QuestionView, answer_from};

use crate::any_round::{LENGTH, at, round};

fn question(about: About, answers: Vec<(Answer, f64)>) -> QuestionView {
    let choices =
        answers.into_iter().map(|(answer, probability)| Choice { answer, probability }).collect();
    let question = Question { time: at(58_500), about, choices, expected_gain: 1.0 };
    QuestionView::new(&round(), &question)
}

fn state(position: Position, top: Option<Athlete>) -> Answer {
    Answer::State { time: at(58_500), position, top }
}

/// Every token that a form could send.
fn tokens(view: &QuestionView) -> Vec<&String> {
    let other = view.other.iter().flat_map(|position| &position.choices).map(|c| &c.token);
    view.choices.iter().map(|c| &c.token).chain(other).chain(&view.nothing).collect()
}

fn all_read_back(view: &QuestionView, round: &Round) {
    for token in tokens(view) {
        assert!(answer_from(token, round).is_some(), "{token}");
    }
}

#[test]
fn a_question_where_they_were_has_choices_and_all_else() {
    let half = state(Position::HalfGuard, Some(Athlete::First));
    let view = question(About::State, vec![(half, 0.7), (state(Position::Standing, None), 0.2)]);
    assert_eq!(view.sentence, "Where were they, and who was on top?");
    let shown: Vec<_> = view.choices.iter().map(|c| (c.words.as_str(), c.chance)).collect();
    assert_eq!(shown, [("half guard, Petra on top", 0.7), ("both standing", 0.2)]);
    assert_eq!(view.choices[0].token, "state.58500.half_guard.0");
    assert_eq!(view.asks_when, None);
    // Not beyond the end of the round.
    assert_eq!(view.nothing, Some(format!("nothing.55500.{LENGTH}")));
    all_read_back(&view, &round());
    let other: Vec<&str> =
        view.other.iter().flat_map(|p| &p.choices).map(|c| c.words.as_str()).collect();
    for words in [
        "both standing",
        "back control, Idris behind",
        "mount, who was on top isn't clear",
        "Idris on top",
    ] {
        assert_eq!(other.iter().filter(|other| **other == words).count(), 1, "{words}");
    }
}

#[test]
fn a_question_when_has_times_to_fill_in() {
    let (time, position, top) = (at(58_500), Position::Mount, Some(Athlete::Second));
    let guessed = Answer::Spell { time, position, top, start: Some(at(40_000)), end: None };
    let about = About::Spell { position, top, start: true, end: false };
    let view = question(about, vec![(guessed, 0.9)]);
    assert_eq!(view.sentence, "Here: mount, Idris on top. When did that begin?");
    let asks = view.asks_when.as_ref().expect("it asks when");
    assert_eq!((asks.start, asks.end), (true, false));
    assert_eq!((asks.guessed_start, asks.guessed_end), (Some(at(40_000)), None));
    assert_eq!(view.nothing, None);
    let told = review::with_times(&asks.token, &round(), Some(at(41_000)), None);
    assert_eq!(
        told,
        Some(Answer::Spell { time, position, top, start: Some(at(41_000)), end: None })
    );
    all_read_back(&view, &round());
}
