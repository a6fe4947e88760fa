//! How sure a number is: the level asked for, and the interval that goes with an estimate.

use crate::distributions::normal_quantile;

/// How often an interval of this kind should hold the truth, as a share between 0 and 1.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Level {
    share: f64,
    deviations: f64,
}

/// A level that is no share strictly between 0 and 1.
#[derive(Clone, Copy, Debug, PartialEq, thiserror::Error)]
#[error("a level of confidence lies between 0 and 1, not at {0}")]
pub struct LevelError(f64);

impl Level {
    /// The usual 95 %.
    pub const NINETY_FIVE: Level = Level { share: 0.95, deviations: 1.959_963_984_540_054 };

    /// A level from its share, such as 0.95.
    ///
    /// # Errors
    /// Unless 0 < share < 1.
    pub fn new(share: f64) -> Result<Level, LevelError> {
        if !(share > 0.0 && share < 1.0) {
            return Err(LevelError(share));
        }
        Ok(Level { share, deviations: -normal_quantile((1.0 - share) / 2.0) })
    }

    /// The share, between 0 and 1.
    #[must_use]
    pub fn share(self) -> f64 {
        self.share
    }

    /// The chance left over at either end: 0.025 for 95 %.
    #[must_use]
    pub fn tail(self) -> f64 {
        (1.0 - self.share) / 2.0
    }

    /// Half the width of a normal interval in standard deviations: 1.96 for 95 %.
    #[must_use]
    pub fn deviations(self) -> f64 {
        self.deviations
    }
}

/// Two limits, the lower first; the upper may be infinite where there is no upper limit.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Interval {
    low: f64,
    high: f64,
}

impl Interval {
    /// From two limits in either order.
    pub(crate) fn between(one: f64, other: f64) -> Interval {
        Interval { low: one.min(other), high: one.max(other) }
    }

    /// The lower limit.
    #[must_use]
    pub fn low(self) -> f64 {
        self.low
    }

    /// The upper limit; infinite where there is none.
    #[must_use]
    pub fn high(self) -> f64 {
        self.high
    }

    /// Whether the value lies within the limits or on one.
    #[must_use]
    pub fn contains(self, value: f64) -> bool {
        self.low <= value && value <= self.high
    }
}

/// A number with its interval, both in the same units.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Estimate {
    /// The number.
    pub value: f64,
    /// Where the truth may lie.
    pub interval: Interval,
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_usual_level_is_the_one_that_is_computed() {
        let computed = Level::new(0.95).unwrap();
        assert_eq!(computed.share(), Level::NINETY_FIVE.share());
        assert!((computed.deviations() - Level::NINETY_FIVE.deviations()).abs() < 1e-14);
    }
}
