//! Rates of a group: the gamma-Poisson model.

use crate::distributions::gamma_quantile;
use crate::exact_rates::Count;
use crate::interval::{Estimate, Interval, Level};
use crate::pooling::{Group, PoolingError, Shrunk, level_point};
use crate::special_functions::{digamma, ln_gamma};

/// A gamma distribution over rates.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct GammaPrior {
    shape: f64,
    rate: f64,
}

impl GammaPrior {
    /// From its shape (as many events) and its rate (in so much exposure).
    ///
    /// # Errors
    /// Unless both are positive and finite.
    pub fn new(shape: f64, rate: f64) -> Result<GammaPrior, PoolingError> {
        let fits = shape > 0.0 && rate > 0.0 && shape.is_finite() && rate.is_finite();
        if fits { Ok(GammaPrior { shape, rate }) } else { Err(PoolingError::Prior(shape, rate)) }
    }

    /// The shape: as many events.
    #[must_use]
    pub fn shape(self) -> f64 {
        self.shape
    }

    /// The rate: in so much exposure.
    #[must_use]
    pub fn rate(self) -> f64 {
        self.rate
    }

    /// The distribution after seeing a count: events are added to the shape, exposure to the rate.
    #[must_use]
    pub fn after(self, count: Count) -> GammaPrior {
        GammaPrior { shape: self.shape + count.events(), rate: self.rate + count.exposure() }
    }

    /// The rate below which it lies with chance `p`, per unit of exposure.
    #[must_use]
    pub fn quantile(self, p: f64) -> f64 {
        gamma_quantile(p, self.shape) / self.rate
    }

    /// Its mean with the interval that leaves the same chance at either end; per unit of exposure.
    #[must_use]
    pub fn estimate(self, level: Level) -> Estimate {
        let tail = level.tail();
        let interval = Interval::between(self.quantile(tail), self.quantile(1.0 - tail));
        Estimate { value: self.shape / self.rate, interval }
    }

    /// A member's rate after shrinkage; its own data weigh exposure / (exposure + rate).
    #[must_use]
    pub fn shrink(self, count: Count, level: Level) -> Shrunk {
        let Estimate { value, interval } = self.after(count).estimate(level);
        let own_weight = count.exposure() / (count.exposure() + self.rate);
        Shrunk { own: count.rate(), value, interval, own_weight }
    }
}

/// The likeliest mean for a prior of rate b: Σ y/(b + e) / Σ e/(b + e).
fn mean_rate(members: &[Count], b: f64) -> f64 {
    let seen: f64 = members.iter().map(|one| one.events() / (b + one.exposure())).sum();
    let all: f64 = members.iter().map(|one| one.exposure() / (b + one.exposure())).sum();
    seen / all
}

fn check_rates(members: &[Count]) -> Result<(f64, f64), PoolingError> {
    if members.len() < 2 {
        return Err(PoolingError::TooFew);
    }
    let events: f64 = members.iter().map(|one| one.events()).sum();
    let exposure: f64 = members.iter().map(|one| one.exposure()).sum();
    if events > 0.0 { Ok((events, exposure)) } else { Err(PoolingError::OneEnd) }
}

/// What a group knows about its members' rates.
///
/// Counts y in exposures e are negative binomial when rates are gamma with shape m b and rate b.
/// Each strength b is weighed by that likelihood, integrated over m about its top (Laplace); its
/// prior's variance is m / b
/// plus that of the mean, 1 / Σ 1/(m/b + m/e) (a first-order correction as in Kass and Steffey
/// 1989, *JASA* 84:717). Takes twenty passes.
///
/// # Errors
/// Fewer than two members, or not one event.
pub fn pool_rates(members: &[Count]) -> Result<Group<GammaPrior>, PoolingError> {
    let (_, exposure) = check_rates(members)?;
    Group::weigh(exposure / members.len() as f64, |b| {
        let mean = mean_rate(members, b);
        let a = mean * b;
        let height = |one: &Count| {
            let (y, e) = (one.events(), one.exposure());
            ln_gamma(y + a) - ln_gamma(a) - a * (e / b).ln_1p() - y * (b + e).ln()
        };
        let known: f64 = members.iter().map(|one| 1.0 / (mean / b + mean / one.exposure())).sum();
        let rate = mean / (mean / b + 1.0 / known);
        let integral = -0.5 * (known * mean * mean).ln();
        let height = members.iter().map(height).sum::<f64>() + integral;
        Ok((height, GammaPrior::new(mean * rate, rate)?))
    })
}

impl Group<GammaPrior> {
    /// What is known of a member's rate after seeing a count: the gamma distribution that has the
    /// mean and the variance of all nodes together. To draw from, too.
    #[must_use]
    pub fn after(&self, count: Count) -> GammaPrior {
        self.matched(|prior| prior.after(count))
    }

    /// What is known of a member who was not seen: the spread of rates in the group, such as its
    /// upper quartile.
    #[must_use]
    pub fn unseen(&self) -> GammaPrior {
        self.matched(|prior| prior)
    }

    fn matched(&self, posterior: impl Fn(GammaPrior) -> GammaPrior) -> GammaPrior {
        let (mean, variance) = self.mixed(|prior| {
            let GammaPrior { shape, rate } = posterior(prior);
            (shape / rate, shape / (rate * rate))
        });
        GammaPrior { shape: mean * mean / variance, rate: mean / variance }
    }

    /// A member's rate after shrinkage, with the limits of [`Self::after`].
    #[must_use]
    pub fn shrink(&self, count: Count, level: Level) -> Shrunk {
        let Estimate { value, interval } = self.after(count).estimate(level);
        let weight = |prior: GammaPrior| count.exposure() / prior.after(count).rate;
        Shrunk {
            own: count.rate(),
            value,
            interval,
            own_weight: self.mixed(|one| (weight(one), 0.0)).0,
        }
    }

    /// The group's mean rate.
    #[must_use]
    pub fn mean(&self) -> f64 {
        self.mixed(|prior| (prior.shape / prior.rate, 0.0)).0
    }
}

/// The single likeliest mean and strength of a group's prior for rates: shape mean × strength, rate
/// strength. The strength is infinite where Σ (y − m e)² <= Σ y, no more spread than chance (Dean
/// 1992, *JASA* 87:451). Takes about a hundred passes.
///
/// # Errors
/// Fewer than two members, or not one event.
pub fn likeliest_rates(members: &[Count]) -> Result<(f64, f64), PoolingError> {
    let (events, exposure) = check_rates(members)?;
    let slope = |b: f64| -> f64 {
        let a = mean_rate(members, b) * b;
        let part = |one: &Count| {
            let more =
                if one.events() > 0.0 { digamma(one.events() + a) - digamma(a) } else { 0.0 };
            more - (one.exposure() / b).ln_1p()
        };
        members.iter().map(part).sum()
    };
    let flat = events / exposure;
    let square = |one: &Count| (one.events() - flat * one.exposure()).powi(2);
    if members.iter().map(square).sum::<f64>() <= events {
        return Ok((flat, f64::INFINITY));
    }
    let strength = level_point(exposure, slope);
    let mean = if strength.is_finite() { mean_rate(members, strength) } else { flat };
    Ok((mean, strength))
}
