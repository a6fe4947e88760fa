//! How often something happens per unit of time, and the ratio of two such rates: exact intervals.

use crate::distributions::{beta_lower, beta_odds_quantile, gamma_quantile};
use crate::interval::{Estimate, Interval, Level};
use crate::special_functions::ln_gamma;

/// Why a rate or a ratio could not be told.
#[derive(Clone, Copy, Debug, PartialEq, thiserror::Error)]
pub enum RateError {
    /// A count below 0, or none.
    #[error("{0} is no count")]
    Count(f64),
    /// Nothing was watched.
    #[error("a rate needs some time to be seen in, not {0}")]
    Exposure(f64),
    /// Neither side shows a single event, so nothing is known about their ratio.
    #[error("neither side shows the event, so their ratio is unknown")]
    NothingSeen,
}

/// How often something was seen, and in how much time: minutes, rounds, whatever the caller counts.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Count {
    events: f64,
    exposure: f64,
}

impl Count {
    /// Events in an exposure. Events may be an expected count (the sum of probabilities).
    ///
    /// # Errors
    /// Unless events >= 0 and exposure > 0, both finite.
    pub fn new(events: f64, exposure: f64) -> Result<Count, RateError> {
        if !(events >= 0.0 && events.is_finite()) {
            return Err(RateError::Count(events));
        }
        if !(exposure > 0.0 && exposure.is_finite()) {
            return Err(RateError::Exposure(exposure));
        }
        Ok(Count { events, exposure })
    }

    /// How many events.
    #[must_use]
    pub fn events(self) -> f64 {
        self.events
    }

    /// In how much exposure.
    #[must_use]
    pub fn exposure(self) -> f64 {
        self.exposure
    }

    /// Events per unit of exposure.
    #[must_use]
    pub fn rate(self) -> f64 {
        self.events / self.exposure
    }
}

/// A rate with Garwood's exact interval.
///
/// The limits of the expected count are the quantiles of gamma distributions of shapes k and k + 1
/// (half of chi-square with 2k and 2k + 2 degrees). Garwood 1936, *Biometrika* 28:437. In events
/// per unit of exposure. The same formula serves expected counts, as between the whole counts; the
/// doubt about which events took place is then not in the interval.
#[must_use]
pub fn rate(count: Count, level: Level) -> Estimate {
    let (events, tail) = (count.events, level.tail());
    let low = if events > 0.0 { gamma_quantile(tail, events) } else { 0.0 };
    let high = gamma_quantile(1.0 - tail, events + 1.0);
    let interval = Interval::between(low / count.exposure, high / count.exposure);
    Estimate { value: count.rate(), interval }
}

/// The ratio of two rates.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct RateRatio {
    /// The first rate divided by the second; infinite where only the first was seen.
    pub ratio: f64,
    /// Exact limits; the upper is infinite where the second was never seen.
    pub interval: Interval,
    /// Twice the smaller tail, at most 1: below 1 − level just when the interval leaves out 1.
    pub p_value: f64,
}

/// The ratio of two Poisson rates with its exact conditional interval and test.
///
/// Given the events of both sides together, those of the first are binomial with share
/// π = ρt₁ / (ρt₁ + t₂) where ρ is the ratio. Clopper and Pearson's limits of π, mapped by
/// π / (1 − π) · t₂ / t₁, are the limits of ρ (Przyborowski and Wilenski 1940, *Biometrika*
/// 31:313). Exact for whole counts and cautious; with expected counts the formula is carried on
/// between the whole counts. Unitless.
///
/// # Errors
/// [`RateError::NothingSeen`] when both sides have no event.
pub fn rate_ratio(first: Count, second: Count, level: Level) -> Result<RateRatio, RateError> {
    let (own, others) = (first.events, second.events);
    if own + others <= 0.0 {
        return Err(RateError::NothingSeen);
    }
    let (scale, tail) = (second.exposure / first.exposure, level.tail());
    let low = if own > 0.0 { beta_odds_quantile(tail, own, others + 1.0) } else { 0.0 };
    let high = if others > 0.0 {
        beta_odds_quantile(1.0 - tail, own + 1.0, others)
    } else {
        f64::INFINITY
    };
    let share = first.exposure / (first.exposure + second.exposure);
    let rest = second.exposure / (first.exposure + second.exposure);
    // P(X >= x) = I_share(x, n - x + 1); P(X <= x) = I_rest(n - x, x + 1).
    let at_least = tail_chance(own, others, share);
    let at_most = tail_chance(others, own, rest);
    Ok(RateRatio {
        ratio: first.rate() / second.rate(),
        interval: Interval::between(low * scale, high * scale),
        p_value: (2.0 * at_least.min(at_most)).min(1.0),
    })
}

fn tail_chance(own: f64, others: f64, share: f64) -> f64 {
    if own > 0.0 { beta_lower(own, others + 1.0, share) } else { 1.0 }
}

/// The other usual exact test of equal rates, for whole counts: the chance of all splits that are
/// no likelier than the one seen. Often smaller than [`RateRatio::p_value`], but it can fall below
/// 5 % while the 95 % interval still holds 1.
///
/// Each argument is (events, exposure). Work grows with the number of events. Splits within one
/// part in ten million of the one seen count as equally likely.
///
/// # Errors
/// Where an exposure is not positive and finite, or both sides have no event.
pub fn least_likely_p_value(first: (u32, f64), second: (u32, f64)) -> Result<f64, RateError> {
    for exposure in [first.1, second.1] {
        Count::new(0.0, exposure)?;
    }
    let together = u64::from(first.0) + u64::from(second.0);
    if together == 0 {
        return Err(RateError::NothingSeen);
    }
    let share = (first.1 / (first.1 + second.1)).ln();
    let rest = (second.1 / (first.1 + second.1)).ln();
    let all = together as f64;
    let chance = |x: u64| {
        let (x, y) = (x as f64, (together - x) as f64);
        let ways = ln_gamma(all + 1.0) - ln_gamma(x + 1.0) - ln_gamma(y + 1.0);
        (ways + x * share + y * rest).exp()
    };
    let seen = chance(u64::from(first.0)) * (1.0 + 1e-7);
    Ok((0..=together).map(chance).filter(|one| *one <= seen).sum::<f64>().min(1.0))
}
