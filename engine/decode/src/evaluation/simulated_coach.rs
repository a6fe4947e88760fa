//! A coach who knows the truth answers questions: how many answers does a round need?

use academy::{Answer, Ledger};
use talk::Lexicon;

use super::truth::Truth;
use crate::decoder::{Decoder, Heard};
use crate::ledger::ledger;
use crate::questions::{Question, questions};
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
        let time = match order {
            Order::MostUseful => {
                let asked = questions(decoder, heard, &decoded, &answers, 1, &mut workspace);
                asked.ok().and_then(|asked| asked.first().map(|question: &Question| question.time))
            }
            Order::FromTheStart => {
                let share = (answers.len() as f64 + 0.5) / most as f64;
                Some(academy::Time::from_seconds(share * truth.round.length().seconds()))
            }
        };
        let Some(spell) = time.and_then(|time| truth.ledger.spell_at(time)) else { break };
        let (position, top) = (spell.position, spell.top);
        answers.extend(time.map(|time| Answer::State { time, position, top }));
    }
    ledgers
}
