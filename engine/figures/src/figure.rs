//! What every figure says besides its value.

use crate::exact_rates::{Count, rate};
use crate::interval::{Interval, Level};

/// A number with what it rests on.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Figure {
    /// The number, in the units that its definition names.
    pub value: f64,
    /// How many stretches, changes or moments it rests on; an expected count where some are guessed.
    pub count: f64,
    /// 95 % limits, in the units of the value.
    pub interval: Interval,
    /// Share of what it rests on that a person told or confirmed, 0 to 1.
    pub confirmed: f64,
}

/// Two sums: of everything by its probability, and of what thereof a person told or confirmed.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Tally {
    /// Everything.
    pub all: f64,
    /// What a person told or confirmed.
    pub told: f64,
}

impl Tally {
    /// Adds so much, a share of which is confirmed.
    pub fn add(&mut self, amount: f64, confirmed: f64) {
        self.all += amount;
        self.told += amount * confirmed;
    }

    /// Both sums.
    #[must_use]
    pub fn plus(self, other: Tally) -> Tally {
        Tally { all: self.all + other.all, told: self.told + other.told }
    }

    /// The share told or confirmed, 0 to 1; 0 of nothing.
    #[must_use]
    pub fn confirmed(self) -> f64 {
        // Sums of the same terms in the same order: only rounding can push it past 1.
        if self.all > 0.0 { (self.told / self.all).min(1.0) } else { 0.0 }
    }
}

/// A rate per minute from a count and the seconds it was watched in, with Garwood's interval
/// ([`rate`]); nothing without any time. `confirmed` is that of the time.
///
/// The interval takes what happens as a Poisson process: it says what other rounds like these may
/// show. It is too narrow where rounds differ much among each other.
#[must_use]
pub fn per_minute(count: f64, seconds: Tally) -> Option<Figure> {
    let watched = Count::new(count, seconds.all / 60.0).ok()?;
    let estimate = rate(watched, Level::NINETY_FIVE);
    Some(Figure {
        value: estimate.value,
        count,
        interval: estimate.interval,
        confirmed: seconds.confirmed(),
    })
}
