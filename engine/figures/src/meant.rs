//! Whether a round was of the kind it was meant to be, with the evidence.
//!
//! No published norm exists for the pace of training rounds or the length of their holds (FACTS
//! C12), so a round is held against the academy's own rounds of the same kind, where there are
//! enough, and against nothing else. The one thing said without a comparison is what a word means:
//! mostly is more than half.

use academy::{Athlete, EventKind, RoundKind};

use crate::known_round::KnownRound;
use crate::round::{changes_per_minute, give_and_take, happened_per_minute, holds, pinned_share};
use crate::stretch::Lived;

/// With fewer other rounds of its kind a round is compared with none. `common practice`: quartiles
/// of fewer than eight say little.
pub const ENOUGH_ROUNDS: usize = 8;

/// A measure is unusual where the chance of being so far out on one side is at most this, reckoned
/// as (rounds further out, ties counting half, + ½) / (rounds + 1). `common practice`: one in
/// fifty, so that nothing is called unusual beside fewer than 24 rounds.
pub const UNUSUAL: f64 = 0.02;

/// What is looked at, with its unit.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Measure {
    /// Changes per minute.
    Changes,
    /// Share of the time in pins, 0 to 1.
    Pinned,
    /// Longest pin, seconds.
    LongestPin,
    /// Give and take, 0 to 1.
    GiveAndTake,
    /// Submission attempts per minute, by either.
    Attempts,
    /// Submissions let go per minute, by either.
    Releases,
    /// Taps per minute, by either.
    Taps,
}

impl Measure {
    /// All of them.
    pub const ALL: [Measure; 7] = [
        Measure::Changes,
        Measure::Pinned,
        Measure::LongestPin,
        Measure::GiveAndTake,
        Measure::Attempts,
        Measure::Releases,
        Measure::Taps,
    ];

    /// The measure of a round, the same for both athletes; nothing where it cannot be told.
    #[must_use]
    pub fn of(self, round: &KnownRound<'_>) -> Option<f64> {
        let lived = [Lived::new(round, Athlete::First)];
        let value = |figure: Option<crate::Figure>| figure.map(|figure| figure.value);
        match self {
            Measure::Changes => value(changes_per_minute(&lived)),
            Measure::Pinned => value(pinned_share(&lived)),
            Measure::LongestPin => {
                let pins = holds(&lived)
                    .into_iter()
                    .filter(|hold| hold.place.depth().max(hold.place.across().depth()) >= 3);
                let longest = pins.map(|hold| hold.longest).fold(0.0, f64::max);
                (lived[0].rolling() > 0.0).then_some(longest)
            }
            Measure::GiveAndTake => value(give_and_take(&lived)),
            Measure::Attempts => value(happened_per_minute(&lived, EventKind::SubmissionAttempt)),
            Measure::Releases => value(happened_per_minute(&lived, EventKind::Release)),
            Measure::Taps => value(happened_per_minute(&lived, EventKind::Tap)),
        }
    }
}

/// The academy's other rounds of the kind, by one measure.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Others {
    /// How many rounds.
    pub rounds: usize,
    /// Lower quartile, median and upper quartile, in the measure's unit (type 7 of Hyndman and Fan
    /// 1996, *American Statistician* 50:361).
    pub quartiles: [f64; 3],
    /// Share of them below this round's value, a tie counting half.
    pub below: f64,
}

/// One measure of a round.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Evidence {
    /// Which.
    pub measure: Measure,
    /// Its value, in the measure's unit.
    pub value: f64,
    /// What it is compared with; nothing where there are too few rounds.
    pub others: Option<Others>,
}

/// How a round looks beside its kind.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Reading {
    /// More than half of a flow roll was pins.
    MostlyPins,
    /// At least one measure is unusual among the academy's rounds of the kind ([`UNUSUAL`]).
    Unlike,
    /// None is.
    Alike,
    /// There is nothing to compare it with.
    NothingToCompare,
}

/// A round beside its kind, with the evidence, unusual measures first.
#[derive(Clone, Debug, PartialEq)]
pub struct Meant {
    /// What it was meant to be.
    pub kind: RoundKind,
    /// How it looks.
    pub reading: Reading,
    /// By measure.
    pub evidence: Vec<Evidence>,
    /// Share of the round's time that a person told or confirmed, 0 to 1.
    pub confirmed: f64,
}

/// Reads a round beside the academy's other rounds; those of another kind are left out. Give the
/// round itself among them or not, it is left out too where it is the same ledger.
///
/// Seven measures are looked at on both sides, so one that is unusual comes up by chance in up to a
/// quarter of all rounds: `Unlike` is a reason to look, no verdict.
#[must_use]
pub fn meant(round: &KnownRound<'_>, academy: &[KnownRound<'_>]) -> Meant {
    let others: Vec<&KnownRound<'_>> = (academy.iter())
        .filter(|other| other.kind == round.kind && !std::ptr::eq(other.ledger, round.ledger))
        .collect();
    let mut evidence: Vec<Evidence> = (Measure::ALL.into_iter())
        .filter_map(|measure| {
            let value = measure.of(round)?;
            let values = others.iter().filter_map(|other| measure.of(other)).collect();
            Some(Evidence { measure, value, others: compare(value, values) })
        })
        .collect();
    evidence.sort_by(|one, other| oddness(one).total_cmp(&oddness(other)));
    let lived = [Lived::new(round, Athlete::First)];
    let pinned = pinned_share(&lived);
    let mostly_pins = pinned.is_some_and(|share| share.value > 0.5);
    let reading = if round.kind == RoundKind::Flow && mostly_pins {
        Reading::MostlyPins
    } else if evidence.iter().all(|one| one.others.is_none()) {
        Reading::NothingToCompare
    } else if evidence.iter().any(|one| oddness(one) <= UNUSUAL) {
        Reading::Unlike
    } else {
        Reading::Alike
    };
    let confirmed = pinned.map_or(0.0, |share| share.confirmed);
    Meant { kind: round.kind, reading, evidence, confirmed }
}

/// The chance to be so far out, see [`UNUSUAL`]; 1 where nothing is compared.
fn oddness(evidence: &Evidence) -> f64 {
    evidence.others.map_or(1.0, |others| {
        let rounds = others.rounds as f64;
        let out = others.below.min(1.0 - others.below) * rounds;
        (out + 0.5) / (rounds + 1.0)
    })
}

fn compare(value: f64, mut values: Vec<f64>) -> Option<Others> {
    if values.len() < ENOUGH_ROUNDS {
        return None;
    }
    values.sort_by(f64::total_cmp);
    let less = values.iter().filter(|other| **other < value).count() as f64;
    let same = values.iter().filter(|other| **other == value).count() as f64;
    Some(Others {
        rounds: values.len(),
        quartiles: [0.25, 0.5, 0.75].map(|share| quantile(&values, share)),
        below: (less + same / 2.0) / values.len() as f64,
    })
}

/// Quantile of sorted values, by linear interpolation between ranks (type 7); values must not be
/// empty.
pub(crate) fn quantile(sorted: &[f64], share: f64) -> f64 {
    let rank = share * (sorted.len() - 1) as f64;
    let below = rank.floor() as usize;
    let above = (below + 1).min(sorted.len() - 1);
    sorted[below] + (rank - below as f64) * (sorted[above] - sorted[below])
}
