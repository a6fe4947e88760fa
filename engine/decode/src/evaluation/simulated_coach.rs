//! A coach who knows the truth answers questions: how many answers does a round need?

use academy::{Answer, Ledger, Time};
use talk::Lexicon;

use super::truth::Truth;
use crate::decoder::{Decoder, Heard};
use crate::ledger::ledger;
use crate::questions::{About, questions};
use crate::semi_markov::Workspace;

/// In which order moments are asked about.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Order {
    /// The most useful first.
    MostUseful,
    /// At even distances from the start of the round to its end.
    FromTheStart,
}

/// The ledgers after 0, 1, 2 ... `most` answers by somebody who knows the truth.
///
/// Stops early where nothing is left to ask.
#[must_use]
pub fn answered(
    decoder: &Decoder,
    heard: &Heard,
    truth: &Truth,
    order: Order,
    most: usize,
    lexicon: &Lexicon,
) -> Vec<Ledger> {
    let mut workspace = Workspace::new();
    let mut answers: Vec<Answer> = Vec::new();
    let mut ledgers = Vec::new();
    // True answers cannot contradict each other, but for changes faster than a bin.
    while let Ok(decoded) = decoder.decode(heard, &answers, &mut workspace) {
        match ledger(decoder, heard, &decoded, &truth.round, &answers, lexicon) {
            Ok(ledger) => ledgers.push(ledger),
            Err(_) => break,
        }
        if answers.len() >= most {
            break;
        }
        let next = match order {
            Order::MostUseful => {
                let asked = questions(decoder, heard, &decoded, &answers, 1, &mut workspace);
                let question = asked.ok().and_then(|asked| asked.into_iter().next());
                question.map(|question| (question.time, question.about))
            }
            Order::FromTheStart => {
                let share = (answers.len() as f64 + 0.5) / most as f64;
                let time = Time::from_seconds(share * truth.round.length().seconds());
                Some((time, About::State))
            }
        };
        let Some(answer) = next.and_then(|(time, about)| answer(truth, time, about)) else { break };
        answers.push(answer);
    }
    ledgers
}

/// People read times off a clock that shows whole seconds.
const CLOCK_MILLIS: u64 = 1_000;

/// What somebody who knows the truth answers: no more than was asked, and times as told by a clock
/// that shows seconds.
#[must_use]
pub fn answer(truth: &Truth, time: Time, about: About) -> Option<Answer> {
    let spell = truth.ledger.spell_at(time)?;
    let (position, top) = (spell.position, spell.top);
    let told = |time: Time| {
        Time::from_millis((time.millis() + CLOCK_MILLIS / 2) / CLOCK_MILLIS * CLOCK_MILLIS)
    };
    Some(match about {
        About::Spell { position: asked, top: on_top, start, end }
            if (asked, on_top) == (position, top) =>
        {
            let start = start.then_some(told(spell.span.start()).min(time));
            let end = end.then_some(told(spell.span.end()).max(time));
            Answer::Spell { time, position, top, start, end }
        }
        _ => Answer::State { time, position, top },
    })
}

#[cfg(test)]
mod tests {
    use academy::{Athlete, Position};

    use super::*;

    #[test]
    fn no_more_is_told_than_was_asked() {
        let truth = r#"{"athletes":["Ada","Bo"],"kind":"flow","duration":20.0,
            "spells":[{"start":0,"end":8.4,"position":"standing","top":null},
                      {"start":8.4,"end":20,"position":"mount","top":"Bo"}],"events":[]}"#;
        let truth = Truth::parse(truth, "").unwrap();
        let (time, position, top) =
            (Time::from_millis(12_250), Position::Mount, Some(Athlete::Second));
        let state = Answer::State { time, position, top };
        assert_eq!(answer(&truth, time, About::State), Some(state.clone()));
        let asked = |top, start, end| About::Spell { position, top, start, end };
        let told = |start, end| Some(Answer::Spell { time, position, top, start, end });
        let at = |seconds: u64| Some(Time::from_millis(seconds * 1000));
        assert_eq!(answer(&truth, time, asked(top, true, false)), told(at(8), None));
        assert_eq!(answer(&truth, time, asked(top, true, true)), told(at(8), at(20)));
        // Asked about what was not so.
        let other = Some(Athlete::First);
        assert_eq!(answer(&truth, time, asked(other, true, true)), Some(state));
        assert_eq!(answer(&truth, Time::from_millis(30_000), About::State), None);
    }
}
