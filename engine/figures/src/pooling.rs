//! Shrinkage of small samples towards their group: empirical Bayes for rates and for shares.
//!
//! The group's spread is estimated by marginal likelihood. The prior handed out is a little wider
//! than that estimate: it holds the doubt about the group's mean, so a group whose members show no
//! difference at all is never trusted more than its own data allow. The doubt about the spread
//! itself is not in the intervals.

use statrs::function::gamma::digamma;

use crate::distributions::{beta_quantile, gamma_quantile};
use crate::exact_rates::Count;
use crate::interval::{Estimate, Interval, Level};

/// Why nothing could be pooled.
#[derive(Clone, Copy, Debug, PartialEq, thiserror::Error)]
pub enum PoolingError {
    /// Fewer than two members with data.
    #[error("pooling needs at least two members with data")]
    TooFew,
    /// Nobody in the group shows it, or everybody always does: there is no spread to learn.
    #[error("all members are at the same end, so the group has no spread to learn from")]
    OneEnd,
    /// A share that is none.
    #[error("{successes} of {trials} is no share")]
    Share {
        /// What was counted.
        successes: f64,
        /// Out of so many.
        trials: f64,
    },
    /// A prior with parameters that are not positive and finite.
    #[error("a prior needs positive parameters, not {0} and {1}")]
    Prior(f64, f64),
}

/// A member's number after shrinkage.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Shrunk {
    /// What the member's own data say.
    pub own: f64,
    /// The posterior mean: `own_weight` × own + (1 − `own_weight`) × the group's mean.
    pub value: f64,
    /// The middle of the posterior at the level asked for.
    pub interval: Interval,
    /// How much the member's own data count, between 0 and 1.
    pub own_weight: f64,
}

/// What a group knows about its members: their mean, and how much they differ.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Group<Prior> {
    /// The mean over members.
    pub mean: f64,
    /// The likeliest strength of the prior: minutes of exposure, or trials, that one's own data
    /// must outweigh. Infinite where the members differ no more than chance would have it.
    pub strength: f64,
    /// The prior for a member: this mean, and the spread between members together with the doubt
    /// about the mean.
    pub prior: Prior,
}

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

    /// Its mean with the interval that leaves the same chance at either end; per unit of exposure.
    #[must_use]
    pub fn estimate(self, level: Level) -> Estimate {
        let at = |p: f64| gamma_quantile(p, self.shape) / self.rate;
        let interval = Interval::between(at(level.tail()), at(1.0 - level.tail()));
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

/// The spread of rates in a group, by marginal likelihood of the gamma-Poisson model.
///
/// Counts y in exposures e are negative binomial with mean m e when rates are gamma with shape m b
/// and rate b. For a given b the likeliest m is Σ y/(b + e) / Σ e/(b + e); b is where the profile
/// is level, or infinite where Σ (y − m e)² <= Σ y (no more spread than chance: Dean 1992, *JASA*
/// 87:451). The prior's variance is m / b plus that of the mean, 1 / Σ 1/(m/b + m/e) (a first-order
/// correction as in Kass and Steffey 1989, *JASA* 84:717). Takes about a hundred passes.
///
/// # Errors
/// Fewer than two members, or not one event.
pub fn pool_rates(members: &[Count]) -> Result<Group<GammaPrior>, PoolingError> {
    if members.len() < 2 {
        return Err(PoolingError::TooFew);
    }
    let events: f64 = members.iter().map(|one| one.events()).sum();
    let exposure: f64 = members.iter().map(|one| one.exposure()).sum();
    if events <= 0.0 {
        return Err(PoolingError::OneEnd);
    }
    let mean_for = |b: f64| {
        let seen: f64 = members.iter().map(|one| one.events() / (b + one.exposure())).sum();
        let all: f64 = members.iter().map(|one| one.exposure() / (b + one.exposure())).sum();
        seen / all
    };
    let slope = |b: f64| -> f64 {
        let a = mean_for(b) * b;
        let part = |one: &Count| {
            let more =
                if one.events() > 0.0 { digamma(one.events() + a) - digamma(a) } else { 0.0 };
            more - (one.exposure() / b).ln_1p()
        };
        members.iter().map(part).sum()
    };
    let flat = events / exposure;
    let square = |one: &Count| (one.events() - flat * one.exposure()).powi(2);
    let excess = members.iter().map(square).sum::<f64>() - events;
    let strength = if excess > 0.0 { level_point(exposure, slope) } else { f64::INFINITY };
    let mean = if strength.is_finite() { mean_for(strength) } else { flat };
    let between = mean / strength;
    let known: f64 = members.iter().map(|one| 1.0 / (between + mean / one.exposure())).sum();
    let rate = mean / (between + 1.0 / known);
    Ok(Group { mean, strength, prior: GammaPrior::new(mean * rate, rate)? })
}

/// A beta distribution over shares.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct BetaPrior {
    a: f64,
    b: f64,
}

impl BetaPrior {
    /// From its two parameters (as many successes and failures).
    ///
    /// # Errors
    /// Unless both are positive and finite.
    pub fn new(a: f64, b: f64) -> Result<BetaPrior, PoolingError> {
        let fits = a > 0.0 && b > 0.0 && (a + b).is_finite();
        if fits { Ok(BetaPrior { a, b }) } else { Err(PoolingError::Prior(a, b)) }
    }

    /// As many successes.
    #[must_use]
    pub fn a(self) -> f64 {
        self.a
    }

    /// As many failures.
    #[must_use]
    pub fn b(self) -> f64 {
        self.b
    }

    /// The distribution after so many successes of so many trials.
    ///
    /// # Errors
    /// Unless 0 <= successes <= trials, both finite.
    pub fn after(self, successes: f64, trials: f64) -> Result<BetaPrior, PoolingError> {
        let (successes, trials) = share(successes, trials)?;
        BetaPrior::new(self.a + successes, self.b + trials - successes)
    }

    /// Its mean with the interval that leaves the same chance at either end; unitless.
    #[must_use]
    pub fn estimate(self, level: Level) -> Estimate {
        let at = |p: f64| beta_quantile(p, self.a, self.b);
        let interval = Interval::between(at(level.tail()), at(1.0 - level.tail()));
        Estimate { value: self.a / (self.a + self.b), interval }
    }

    /// A member's share after shrinkage; its own data weigh trials / (trials + a + b). Without a
    /// trial the member reads as the group, with weight 0.
    ///
    /// # Errors
    /// Unless 0 <= successes <= trials, both finite.
    pub fn shrink(self, successes: f64, trials: f64, level: Level) -> Result<Shrunk, PoolingError> {
        let Estimate { value, interval } = self.after(successes, trials)?.estimate(level);
        let own = if trials > 0.0 { successes / trials } else { value };
        Ok(Shrunk { own, value, interval, own_weight: trials / (trials + self.a + self.b) })
    }
}

fn share(successes: f64, trials: f64) -> Result<(f64, f64), PoolingError> {
    let fits = trials.is_finite() && (0.0..=trials).contains(&successes);
    if fits { Ok((successes, trials)) } else { Err(PoolingError::Share { successes, trials }) }
}

/// The weakest prior that is handed out, in trials: members who are all at either end would ask for
/// none at all.
const WEAKEST: f64 = 1e-3;

/// The spread of shares in a group, by marginal likelihood of the beta-binomial model.
///
/// Members are (successes, trials). With mean μ and strength s the prior is Beta(s μ, s (1 − μ)). s
/// is where the profile likelihood is level, or infinite where Σ (x − n μ)² <= μ (1 − μ) Σ n (no
/// more spread than chance: Tarone 1979, *Biometrika* 66:585). The prior's variance is
/// μ (1 − μ) / (s + 1) plus that of the mean. Takes a few thousand passes.
///
/// # Errors
/// Fewer than two members with a trial; all successes or none; a share that is none.
pub fn pool_shares(members: &[(f64, f64)]) -> Result<Group<BetaPrior>, PoolingError> {
    let checked: Result<Vec<_>, _> = members.iter().map(|&(x, n)| share(x, n)).collect();
    let members: Vec<(f64, f64)> = checked?.into_iter().filter(|one| one.1 > 0.0).collect();
    if members.len() < 2 {
        return Err(PoolingError::TooFew);
    }
    let successes: f64 = members.iter().map(|one| one.0).sum();
    let trials: f64 = members.iter().map(|one| one.1).sum();
    if successes <= 0.0 || successes >= trials {
        return Err(PoolingError::OneEnd);
    }
    let rise = |count: f64, from: f64| {
        if count > 0.0 { digamma(count + from) - digamma(from) } else { 0.0 }
    };
    let mean_for = |s: f64| {
        let slope = |mean: f64| -> f64 {
            let part = |&(x, n): &(f64, f64)| rise(x, s * mean) - rise(n - x, s * (1.0 - mean));
            members.iter().map(part).sum()
        };
        bisect(0.0, 1.0, slope)
    };
    let slope = |s: f64| -> f64 {
        let mean = mean_for(s);
        let part = |&(x, n): &(f64, f64)| {
            mean * rise(x, s * mean) + (1.0 - mean) * rise(n - x, s * (1.0 - mean)) - rise(n, s)
        };
        members.iter().map(part).sum()
    };
    let flat = successes / trials;
    let square = |one: &(f64, f64)| (one.0 - flat * one.1).powi(2);
    let excess = members.iter().map(square).sum::<f64>() - flat * (1.0 - flat) * trials;
    let strength =
        if excess > 0.0 { level_point(trials, slope).max(WEAKEST) } else { f64::INFINITY };
    let mean = if strength.is_finite() { mean_for(strength) } else { flat };
    let most = mean * (1.0 - mean);
    let between = most / (strength + 1.0);
    let known: f64 = members.iter().map(|one| 1.0 / (between + (most - between) / one.1)).sum();
    let s = (most / (between + 1.0 / known) - 1.0).max(WEAKEST);
    Ok(Group { mean, strength, prior: BetaPrior::new(s * mean, s * (1.0 - mean))? })
}

/// Where a slope that is positive for small arguments and negative for large ones is 0, on a scale
/// of logarithms; infinite where it stays positive.
fn level_point(scale: f64, slope: impl Fn(f64) -> f64) -> f64 {
    let (mut low, mut high) = (scale.ln(), scale.ln());
    while slope(high.exp()) > 0.0 {
        low = high;
        high += 1.0;
        if high > scale.ln() + 14.0 {
            return f64::INFINITY;
        }
    }
    while slope(low.exp()) <= 0.0 {
        high = low;
        low -= 1.0;
        if low < scale.ln() - 30.0 {
            return low.exp();
        }
    }
    bisect(low, high, |u| slope(u.exp())).exp()
}

/// Where a falling function changes its sign.
fn bisect(mut low: f64, mut high: f64, falling: impl Fn(f64) -> f64) -> f64 {
    for _ in 0..60 {
        let middle = low + (high - low) / 2.0;
        if falling(middle) > 0.0 {
            low = middle;
        } else {
            high = middle;
        }
    }
    low + (high - low) / 2.0
}

/// Values of equal known variance, shrunk towards their mean by the factor
/// max(0, 1 − (k − 3) variance / Σ (x − mean)²): the James-Stein estimator in the form of Efron and
/// Morris 1975, *JASA* 70:311. Gives the factor and the shrunken values, in the units given.
///
/// # Errors
/// Fewer than four values (the factor is then 1), or all equal.
pub fn james_stein(values: &[f64], variance: f64) -> Result<(f64, Vec<f64>), PoolingError> {
    if values.len() < 4 {
        return Err(PoolingError::TooFew);
    }
    let mean = values.iter().sum::<f64>() / values.len() as f64;
    let spread: f64 = values.iter().map(|x| (x - mean).powi(2)).sum();
    if spread <= 0.0 {
        return Err(PoolingError::OneEnd);
    }
    let factor = (1.0 - (values.len() - 3) as f64 * variance / spread).max(0.0);
    Ok((factor, values.iter().map(|x| mean + factor * (x - mean)).collect()))
}
