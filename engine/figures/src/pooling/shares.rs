//! Shares of a group: the beta-binomial model.

use crate::distributions::beta_quantile;
use crate::interval::{Estimate, Interval, Level};
use crate::pooling::{Group, PoolingError, Shrunk, bisect, level_point};
use crate::special_functions::{digamma, ln_beta};

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

    /// The share below which it lies with chance `p`.
    #[must_use]
    pub fn quantile(self, p: f64) -> f64 {
        beta_quantile(p, self.a, self.b)
    }

    /// Its mean with the interval that leaves the same chance at either end; unitless.
    #[must_use]
    pub fn estimate(self, level: Level) -> Estimate {
        let tail = level.tail();
        let interval = Interval::between(self.quantile(tail), self.quantile(1.0 - tail));
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

/// The members with a trial, and the sums of successes and trials.
type Shares = (Vec<(f64, f64)>, f64, f64);

fn check_shares(members: &[(f64, f64)]) -> Result<Shares, PoolingError> {
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
    Ok((members, successes, trials))
}

/// What a group knows about its members' shares.
///
/// Members are (successes, trials). Counts are beta-binomial when shares are beta with parameters
/// s μ and s (1 − μ). Each strength s is weighed by that likelihood at the mean of the shares
/// weighed by the inverse of their variances, integrated over that mean; its prior's variance is μ (1 − μ) / (s + 1) plus that
/// of the mean. Takes twenty passes.
///
/// # Errors
/// Fewer than two members with a trial; all successes or none; a share that is none.
pub fn pool_shares(members: &[(f64, f64)]) -> Result<Group<BetaPrior>, PoolingError> {
    let (members, _, trials) = check_shares(members)?;
    Group::weigh(trials / members.len() as f64, |s| {
        // In units of μ (1 − μ), a member's share has the variance (1 + (n − 1) / (s + 1)) / n.
        let precision = |n: f64| n / (1.0 + (n - 1.0) / (s + 1.0));
        let known: f64 = members.iter().map(|one| precision(one.1)).sum();
        let sum: f64 = members.iter().map(|one| precision(one.1) * one.0 / one.1).sum();
        let mean = sum / known;
        let (a, b) = (s * mean, s * (1.0 - mean));
        let height = |&(x, n): &(f64, f64)| ln_beta(a + x, b + n - x) - ln_beta(a, b);
        let strength = (1.0 / (1.0 / (s + 1.0) + 1.0 / known) - 1.0).max(WEAKEST);
        let prior = BetaPrior::new(strength * mean, strength * (1.0 - mean))?;
        Ok((members.iter().map(height).sum::<f64>() - 0.5 * known.ln(), prior))
    })
}

impl Group<BetaPrior> {
    /// What is known of a member's share after so many successes of so many trials: the beta
    /// distribution that has the mean and the variance of all nodes together. To draw from, too.
    ///
    /// # Errors
    /// Unless 0 <= successes <= trials, both finite.
    pub fn after(&self, successes: f64, trials: f64) -> Result<BetaPrior, PoolingError> {
        let (successes, trials) = share(successes, trials)?;
        let (mean, variance) = self.mixed(|prior| {
            let (a, all) = (prior.a + successes, prior.a + prior.b + trials);
            let mean = a / all;
            (mean, mean * (1.0 - mean) / (all + 1.0))
        });
        let strength = (mean * (1.0 - mean) / variance - 1.0).max(WEAKEST);
        BetaPrior::new(strength * mean, strength * (1.0 - mean))
    }

    /// A member's share after shrinkage, with the limits of [`Self::after`]. Without a trial the
    /// member reads as the group.
    ///
    /// # Errors
    /// Unless 0 <= successes <= trials, both finite.
    pub fn shrink(
        &self,
        successes: f64,
        trials: f64,
        level: Level,
    ) -> Result<Shrunk, PoolingError> {
        let Estimate { value, interval } = self.after(successes, trials)?.estimate(level);
        let own = if trials > 0.0 { successes / trials } else { value };
        let weight = |prior: BetaPrior| trials / (trials + prior.a + prior.b);
        Ok(Shrunk { own, value, interval, own_weight: self.mixed(|one| (weight(one), 0.0)).0 })
    }

    /// The group's mean share.
    #[must_use]
    pub fn mean(&self) -> f64 {
        self.mixed(|prior| (prior.a / (prior.a + prior.b), 0.0)).0
    }
}

/// The single likeliest mean and strength of a group's prior for shares: parameters strength × mean
/// and strength × (1 − mean). The strength is infinite where Σ (x − n μ)² <= μ (1 − μ) Σ n, no more
/// spread than chance (Tarone 1979, *Biometrika* 66:585). Takes a few thousand passes.
///
/// # Errors
/// As [`pool_shares`].
pub fn likeliest_shares(members: &[(f64, f64)]) -> Result<(f64, f64), PoolingError> {
    let (members, successes, trials) = check_shares(members)?;
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
    if members.iter().map(square).sum::<f64>() <= flat * (1.0 - flat) * trials {
        return Ok((flat, f64::INFINITY));
    }
    let strength = level_point(trials, slope).max(WEAKEST);
    Ok((if strength.is_finite() { mean_for(strength) } else { flat }, strength))
}
