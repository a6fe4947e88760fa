//! What is lost where: the wrong seconds of a round by their cause.

use academy::{Ledger, Position, Time};

use super::truth::Truth;
use crate::decoder::Heard;

/// Seconds of a round by what became of them; pauses left out.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Losses {
    /// Position and top right.
    pub right: f64,
    /// The state of the neighbouring spell, close to the change between them.
    pub wrong_time: f64,
    /// The right position with the wrong athlete on top.
    pub wrong_athlete: f64,
    /// The change that led here was never spoken of.
    pub never_said: f64,
    /// It was spoken of, but no term was found where it was.
    pub term_not_found: f64,
    /// It was spoken of and a term was found, but it was not understood.
    pub not_understood: f64,
}

/// Within so many seconds of a change a neighbour's state counts as a wrong time.
const NEAR_A_CHANGE: f64 = 5.0;
const STEP: f64 = 0.5;

impl Losses {
    /// These seconds and others together.
    #[must_use]
    pub fn with(self, other: Losses) -> Losses {
        Losses {
            right: self.right + other.right,
            wrong_time: self.wrong_time + other.wrong_time,
            wrong_athlete: self.wrong_athlete + other.wrong_athlete,
            never_said: self.never_said + other.never_said,
            term_not_found: self.term_not_found + other.term_not_found,
            not_understood: self.not_understood + other.not_understood,
        }
    }

    /// Names and shares of all counted seconds.
    #[must_use]
    pub fn shares(&self) -> [(&'static str, f64); 6] {
        let all = [
            ("right", self.right),
            ("wrong time", self.wrong_time),
            ("wrong athlete", self.wrong_athlete),
            ("never said", self.never_said),
            ("term not found", self.term_not_found),
            ("not understood", self.not_understood),
        ];
        let sum: f64 = all.iter().map(|(_, seconds)| seconds).sum();
        all.map(|(name, seconds)| (name, seconds / sum.max(f64::MIN_POSITIVE)))
    }
}

/// The seconds of a round read, by what became of them.
#[must_use]
pub fn losses(truth: &Truth, heard: &Heard, read: &Ledger) -> Losses {
    let mut losses = Losses::default();
    let spells = truth.ledger.spells();
    let mut t = STEP / 2.0;
    while t < truth.round.length().seconds() {
        let time = Time::from_seconds(t);
        t += STEP;
        let Some(index) = spells.iter().position(|spell| spell.span.contains(time)) else {
            continue;
        };
        let truly = &spells[index];
        if truly.position == Position::Reset {
            continue;
        }
        let Some(guess) = read.spell_at(time) else { continue };
        let state = (guess.position, guess.top);
        let neighbour = |index: Option<usize>, change: Time| {
            let near = (change.seconds() - time.seconds()).abs() <= NEAR_A_CHANGE;
            let spell = index.and_then(|index| spells.get(index));
            near && spell.is_some_and(|spell| (spell.position, spell.top) == state)
        };
        let place = if state == (truly.position, truly.top) {
            &mut losses.right
        } else if neighbour(index.checked_sub(1), truly.span.start())
            || neighbour(Some(index + 1), truly.span.end())
        {
            &mut losses.wrong_time
        } else if guess.position == truly.position {
            &mut losses.wrong_athlete
        } else {
            match spoken_of(truth, truly.span.start()) {
                None => &mut losses.never_said,
                Some(line) if term_found(heard, line) => &mut losses.not_understood,
                Some(_) => &mut losses.term_not_found,
            }
        };
        *place += STEP;
    }
    losses
}

/// When the change at this moment was spoken of.
fn spoken_of(truth: &Truth, change: Time) -> Option<Time> {
    let events = truth.ledger.events().iter().zip(&truth.ids);
    let at = |time: Time| time.distance(change) <= 60;
    let id = events.filter(|(event, _)| at(event.time)).map(|(_, id)| id);
    let ids: Vec<&String> = id.collect();
    let line = truth.lines.iter().find(|line| line.about.iter().any(|id| ids.contains(&id)));
    // The round's beginning needs no word.
    line.map(|line| line.start).or((change == Time::ZERO).then_some(Time::ZERO))
}

/// Whether a term was found in the words from a line's start on, for about as long as a line.
fn term_found(heard: &Heard, line: Time) -> bool {
    const LINE_SECONDS: f64 = 5.0;
    let window = line.seconds() - 0.5..line.seconds() + LINE_SECONDS;
    heard.seen.words.iter().any(|word| word.term.is_some() && window.contains(&word.start))
}
