//! Shares of a number of trials, with Wilson's interval, and the difference of two shares.

use crate::distributions::beta_quantile;
use crate::interval::{Estimate, Interval, Level};

/// Why a share could not be told.
#[derive(Clone, Copy, Debug, PartialEq, thiserror::Error)]
pub enum ProportionError {
    /// No trial, or a number of trials that is none.
    #[error("a share needs at least some trials, not {0}")]
    Trials(f64),
    /// More successes than trials, or fewer than none.
    #[error("{successes} of {trials} is no share")]
    Successes {
        /// What was counted.
        successes: f64,
        /// Out of so many.
        trials: f64,
    },
}

fn check(successes: f64, trials: f64) -> Result<(), ProportionError> {
    if !(trials > 0.0 && trials.is_finite()) {
        return Err(ProportionError::Trials(trials));
    }
    if !(0.0..=trials).contains(&successes) {
        return Err(ProportionError::Successes { successes, trials });
    }
    Ok(())
}

/// A share with Wilson's score interval (without correction for continuity).
///
/// With p = x / n and z the deviations of the level, the limits are
/// (2np + z² ± z sqrt(z² + 4np(1 − p))) / (2(n + z²)). Wilson 1927, *JASA* 22:209; method 3 of
/// Newcombe 1998, *Statistics in Medicine* 17:857. Unitless. Counts may be expected counts; the
/// interval is then the one for that many whole trials, and does not hold the doubt about which
/// trials took place.
///
/// # Errors
/// Unless 0 <= successes <= trials and trials > 0.
pub fn wilson(successes: f64, trials: f64, level: Level) -> Result<Estimate, ProportionError> {
    check(successes, trials)?;
    let (share, z) = (successes / trials, level.deviations());
    let square = z * z;
    let middle = 2.0 * successes + square;
    let spread = z * (square + 4.0 * successes * (1.0 - share)).sqrt();
    let width = 2.0 * (trials + square);
    // Rounding must not push a limit past what is possible.
    let low = if successes == 0.0 { 0.0 } else { (middle - spread) / width };
    let high = if successes == trials { 1.0 } else { (middle + spread) / width };
    let interval = Interval::between(low.clamp(0.0, share), high.clamp(share, 1.0));
    Ok(Estimate { value: share, interval })
}

/// A share with the exact interval of Clopper and Pearson (1934, *Biometrika* 26:404).
///
/// The limits are quantiles of beta distributions: Beta(x, n − x + 1) below, Beta(x + 1, n − x)
/// above. Never covers less often than the level says. Unitless; expected counts as in [`wilson`].
///
/// # Errors
/// Unless 0 <= successes <= trials and trials > 0.
pub fn clopper_pearson(
    successes: f64,
    trials: f64,
    level: Level,
) -> Result<Estimate, ProportionError> {
    check(successes, trials)?;
    let (failures, tail) = (trials - successes, level.tail());
    let low = if successes > 0.0 { beta_quantile(tail, successes, failures + 1.0) } else { 0.0 };
    let high =
        if failures > 0.0 { beta_quantile(1.0 - tail, successes + 1.0, failures) } else { 1.0 };
    Ok(Estimate { value: successes / trials, interval: Interval::between(low, high) })
}

/// The first share minus the second, with the interval that Newcombe builds from the two Wilson
/// intervals: with shares p, q and limits l, u of each, from
/// p − q − sqrt((p − l₁)² + (u₂ − q)²) to p − q + sqrt((u₁ − p)² + (q − l₂)²).
///
/// Method 10 of Newcombe 1998, *Statistics in Medicine* 17:873. Unitless, between −1 and 1. Each
/// argument is (successes, trials).
///
/// # Errors
/// Unless 0 <= successes <= trials and trials > 0, for both.
pub fn difference(
    first: (f64, f64),
    second: (f64, f64),
    level: Level,
) -> Result<Estimate, ProportionError> {
    let one = wilson(first.0, first.1, level)?;
    let other = wilson(second.0, second.1, level)?;
    let value = one.value - other.value;
    let below = (one.value - one.interval.low()).hypot(other.interval.high() - other.value);
    let above = (one.interval.high() - one.value).hypot(other.value - other.interval.low());
    let interval = Interval::between((value - below).max(-1.0), (value + above).min(1.0));
    Ok(Estimate { value, interval })
}
