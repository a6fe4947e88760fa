//! Shrinkage of small samples towards their group: empirical Bayes for rates and for shares.
//!
//! How much the members of a group differ is never well known from a dozen of them. So a member's
//! number is read under twenty strengths of the prior, from hardly any to nearly all, each weighed
//! by how well it explains the whole group (a uniform prior on the shrinkage: Christiansen and
//! Morris 1997, *JASA* 92:618). The doubt about the group's mean is in each of them.

mod rates;
mod shares;

pub use rates::{GammaPrior, likeliest_rates, pool_rates};
pub use shares::{BetaPrior, likeliest_shares, pool_shares};

use crate::interval::Interval;

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
    /// The posterior mean, between `own` and the group's mean: with a single prior just
    /// `own_weight` × own + (1 − `own_weight`) × mean.
    pub value: f64,
    /// The middle of the posterior at the level asked for.
    pub interval: Interval,
    /// How much the member's own data count, between 0 and 1.
    pub own_weight: f64,
}

/// What a group knows about its members: priors of several strengths with their weights, which make
/// 1.
#[derive(Clone, Debug, PartialEq)]
pub struct Group<Prior> {
    nodes: Vec<(f64, Prior)>,
}

/// How many strengths are tried.
const NODES: usize = 20;

impl<Prior: Copy> Group<Prior> {
    /// Weighs the prior of each strength by its likelihood. `typical` is the size of a usual
    /// member's data; strengths are chosen so that the weight of such data is spread evenly.
    fn weigh(
        typical: f64,
        node: impl Fn(f64) -> Result<(f64, Prior), PoolingError>,
    ) -> Result<Group<Prior>, PoolingError> {
        let mut nodes = Vec::with_capacity(NODES);
        for at in 0..NODES {
            let shrinkage = (at as f64 + 0.5) / NODES as f64;
            nodes.push(node(typical * shrinkage / (1.0 - shrinkage))?);
        }
        let most = nodes.iter().map(|node| node.0).fold(f64::NEG_INFINITY, f64::max);
        let sum: f64 = nodes.iter().map(|node| (node.0 - most).exp()).sum();
        for node in &mut nodes {
            node.0 = (node.0 - most).exp() / sum;
        }
        Ok(Group { nodes })
    }

    /// Mean and variance over all nodes together, given those in each.
    fn mixed(&self, one: impl Fn(Prior) -> (f64, f64)) -> (f64, f64) {
        let parts: Vec<(f64, (f64, f64))> =
            self.nodes.iter().map(|(weight, prior)| (*weight, one(*prior))).collect();
        let mean: f64 = parts.iter().map(|(weight, part)| weight * part.0).sum();
        let apart =
            |(weight, part): &(f64, (f64, f64))| weight * (part.1 + (part.0 - mean).powi(2));
        (mean, parts.iter().map(apart).sum())
    }
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
