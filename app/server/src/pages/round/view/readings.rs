//! How far the guess from the talk agrees with what a person told or confirmed.

use academy::{ByHand, Ledger, Round, Time};
use figures::two_readings::{Disagreement, Said, two_readings};
use reports::wording;

use crate::wording::{fragment, minutes_and_seconds, share};

/// Disagreements that are listed.
const MOST: usize = 5;

/// The shortest disagreement that is listed, in seconds: borders are set by ear.
const LONG_ENOUGH: f64 = 2.0;

/// Two readings of one round beside each other.
pub(crate) struct ReadingsView {
    pub(crate) line: String,
    pub(crate) numbers: String,
    pub(crate) apart: Vec<Apart>,
}

/// Where they differ.
pub(crate) struct Apart {
    pub(crate) at: String,
    pub(crate) fragment: String,
    pub(crate) millis: u64,
    pub(crate) words: String,
}

/// The guess beside what a person told; nothing where nobody told anything.
pub(crate) fn readings(round: &Round, guess: &Ledger, by_hand: &ByHand) -> Option<ReadingsView> {
    if by_hand.spells.is_empty() {
        return None;
    }
    let told = review::with_hand(&review::unread(round.length()), by_hand);
    let both = two_readings(guess, &told);
    let (position, with_top) = (both.position?, both.position_and_top?);
    let line = format!(
        "Of the {} that a person told or confirmed, the guess from the talk has position and top \
         right for {}, the position alone for {}.",
        minutes_and_seconds(both.compared),
        share(with_top.share.value),
        share(position.share.value)
    );
    let kappa = with_top
        .kappa
        .map_or_else(String::new, |kappa| format!(", Cohen\u{2019}s kappa {:.2}", kappa.value));
    let numbers = format!(
        "Second by second, answers counted as part of the guess{kappa}, Gwet\u{2019}s AC1 {:.2}. \
         Confirming takes the guess over where nothing was put right, so this shows what was mended. \
         Seconds of one round hang together, so no limits are given.",
        with_top.ac1.value
    );
    let long = both.disagreements.iter().filter(|one| seconds(one) >= LONG_ENOUGH);
    Some(ReadingsView {
        line,
        numbers,
        apart: long.take(MOST).map(|one| apart(round, one)).collect(),
    })
}

fn seconds(one: &Disagreement) -> f64 {
    one.span.end().seconds() - one.span.start().seconds()
}

fn apart(round: &Round, one: &Disagreement) -> Apart {
    let start: Time = one.span.start();
    let said = |said: &Said| wording::state(round, said.position, said.top);
    Apart {
        at: start.to_string(),
        fragment: fragment(start),
        millis: start.millis(),
        words: format!("guessed {}; told {}", said(&one.first), said(&one.second)),
    }
}
