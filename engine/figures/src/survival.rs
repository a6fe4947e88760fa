//! How long until it ends, where only one end matters: Kaplan-Meier curves and the log-rank test.

use crate::distributions::chi_square_upper;
use crate::interval::{Interval, Level};
use crate::linear::Factors;
use crate::observations::{Moment, Observation, ObservationError, moments};

/// What is known at one time: the share that still goes on.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SurvivalStep {
    /// When, in the unit of the observations.
    pub time: f64,
    /// How many still went on just before (a sum of weights).
    pub at_risk: f64,
    /// How many ended at this time (a sum of weights).
    pub ended: f64,
    /// The share that still goes on after this time.
    pub survival: f64,
    /// Greenwood's variance of that share; 0 once nothing goes on.
    pub variance: f64,
    /// Log-log limits of the share, see [`kaplan_meier`].
    pub interval: Interval,
}

/// A share that falls in steps over time.
#[derive(Clone, Debug, PartialEq)]
pub struct SurvivalCurve {
    steps: Vec<SurvivalStep>,
}

/// The time by which half has ended.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Median {
    /// The first time at which no more than half goes on; `None` where more than half still does.
    pub time: Option<f64>,
    /// The first time at which the lower limit of the share is at most half.
    pub low: Option<f64>,
    /// The first time at which the upper limit is at most half.
    pub high: Option<f64>,
}

/// The share that still goes on over time, when any outcome ends an observation.
///
/// S(t) is the product of (n − d) / n over the times with ends up to t (Kaplan and Meier 1958,
/// *JASA* 53:457), its variance S² Σ d / (n (n − d)) (Greenwood 1926). The limits are
/// S^exp(± z se / (S ln S)), which stay between 0 and 1 (Kalbfleisch and Prentice 1980, section
/// 1.3). Before the first end, and once nothing goes on, that formula says nothing. There the limits
/// are wide instead of void: none of n ended goes with a lower limit of tail^(1/n), all of n with an
/// upper limit of 1 − tail^(1/n) (Clopper and Pearson), where n is those at risk divided by the
/// share that went on: all that were watched, as long as none was cut.
///
/// With weights, n and d are expected counts and the variance is that of so many whole
/// observations; the doubt about which took place is not in it.
///
/// # Errors
/// See [`ObservationError`].
pub fn kaplan_meier(
    observations: &[Observation],
    level: Level,
) -> Result<SurvivalCurve, ObservationError> {
    let outcomes = outcomes_of(observations);
    let mut steps: Vec<SurvivalStep> = Vec::new();
    let deviations = level.deviations();
    let (mut survival, mut sum) = (1.0_f64, 0.0);
    for moment in moments(observations, outcomes)? {
        let ended = moment.all_ended();
        // How many there would be if nothing had ended.
        let whole = moment.at_risk / survival;
        if ended > 0.0 {
            survival *= moment.left / moment.at_risk;
            sum += ended / (moment.at_risk * moment.left);
        }
        let variance = if survival > 0.0 { survival * survival * sum } else { 0.0 };
        let interval = if survival > 0.0 && survival < 1.0 {
            log_log(survival, variance, deviations)
        } else if survival == 0.0 {
            Interval::between(0.0, none_seen(whole, level))
        } else {
            Interval::between(1.0 - none_seen(whole, level), 1.0)
        };
        steps.push(SurvivalStep {
            time: moment.time,
            at_risk: moment.at_risk,
            ended,
            survival,
            variance,
            interval,
        });
    }
    Ok(SurvivalCurve { steps })
}

/// The upper limit of a share of which none was seen in `n`.
pub(crate) fn none_seen(n: f64, level: Level) -> f64 {
    1.0 - level.tail().powf(1.0 / n)
}

/// Limits of a share strictly between 0 and 1 that cannot leave it.
pub(crate) fn log_log(share: f64, variance: f64, deviations: f64) -> Interval {
    let spread = deviations * variance.max(0.0).sqrt() / (share * share.ln());
    Interval::between(share.powf(spread.exp()), share.powf((-spread).exp()))
}

fn outcomes_of(observations: &[Observation]) -> usize {
    observations.iter().filter_map(|one| one.outcome).max().map_or(0, |most| most + 1)
}

impl SurvivalCurve {
    /// Every time at which one ended or was cut, in order.
    #[must_use]
    pub fn steps(&self) -> &[SurvivalStep] {
        &self.steps
    }

    /// What is known at a time: the last step up to it, `None` before the first.
    #[must_use]
    pub fn at(&self, time: f64) -> Option<&SurvivalStep> {
        let passed = self.steps.partition_point(|step| step.time <= time);
        passed.checked_sub(1).map(|last| &self.steps[last])
    }

    /// The median with limits from those of the curve (Brookmeyer and Crowley 1982, *Biometrics*
    /// 38:29, on the log-log scale). In the unit of the observations.
    #[must_use]
    pub fn median(&self) -> Median {
        let first = |value: fn(&SurvivalStep) -> f64| {
            // A product of shares that should be one half may miss it by rounding.
            let found = self.steps.iter().find(|step| value(step) <= 0.5 + 1e-12);
            found.map(|step| step.time)
        };
        let begun = |step: &SurvivalStep| {
            if step.survival < 1.0 { step.interval.low() } else { 1.0 }
        };
        Median {
            time: first(|step| step.survival),
            low: first(begun),
            high: first(|step| step.interval.high()),
        }
    }

    /// The mean time that goes on, counting no more than `horizon`: the area under the curve up to
    /// it, in the unit of the observations. Past the last time the curve is taken to stay level.
    #[must_use]
    pub fn restricted_mean(&self, horizon: f64) -> f64 {
        let (mut area, mut from, mut share) = (0.0, 0.0, 1.0);
        for step in self.steps.iter().take_while(|step| step.time < horizon) {
            area += share * (step.time - from);
            (from, share) = (step.time, step.survival);
        }
        area + share * (horizon - from).max(0.0)
    }
}

/// What a comparison of several groups gave.
#[derive(Clone, Debug, PartialEq)]
pub struct GroupTest {
    /// The test's statistic.
    pub chi_square: f64,
    /// Its degrees of freedom: the groups less one.
    pub degrees: usize,
    /// The chance of so much difference or more where there is none.
    pub p_value: f64,
    /// By group, how many ended so less how many were expected to.
    pub excess: Vec<f64>,
}

/// Why groups could not be compared.
#[derive(Clone, Copy, Debug, PartialEq, thiserror::Error)]
pub enum GroupTestError {
    /// Fewer than two groups.
    #[error("a comparison needs at least two groups")]
    Groups,
    /// Something about the observations, counted through all groups in order.
    #[error(transparent)]
    Observations(#[from] ObservationError),
    /// No time at which the groups could have differed.
    #[error("nothing ended while the groups could be compared")]
    NothingToCompare,
}

/// Every group's moments on the times of all, with nothing ended where a group has none.
pub(crate) fn side_by_side(
    groups: &[&[Observation]],
    outcomes: usize,
) -> Result<Vec<Vec<Moment>>, GroupTestError> {
    if groups.len() < 2 {
        return Err(GroupTestError::Groups);
    }
    let all: Vec<Observation> = groups.iter().flat_map(|group| group.iter().copied()).collect();
    let times: Vec<f64> = moments(&all, outcomes)?.iter().map(|moment| moment.time).collect();
    let mut rows: Vec<Vec<Moment>> = times.iter().map(|_| Vec::new()).collect();
    for group in groups {
        let own = moments(group, outcomes)?;
        let mut next = own.into_iter().peekable();
        for (row, &time) in rows.iter_mut().zip(&times) {
            row.push(match next.next_if(|moment| moment.time == time) {
                Some(moment) => moment,
                None => {
                    let at_risk = next.peek().map_or(0.0, |moment| moment.at_risk);
                    Moment { time, at_risk, ended: vec![0.0; outcomes], left: at_risk }
                }
            });
        }
    }
    Ok(rows)
}

/// U' V⁻¹ U over all groups but the last, whose entries follow from the others.
pub(crate) fn quadratic(
    excess: Vec<f64>,
    variance: &[Vec<f64>],
) -> Result<GroupTest, GroupTestError> {
    let degrees = excess.len() - 1;
    let block: Vec<Vec<f64>> =
        variance[..degrees].iter().map(|row| row[..degrees].to_vec()).collect();
    let nothing = |_| GroupTestError::NothingToCompare;
    let solved =
        Factors::of(&block).map_err(nothing)?.solve(&excess[..degrees]).map_err(nothing)?;
    let chi_square: f64 = solved.iter().zip(&excess).map(|(a, b)| a * b).sum();
    if !(chi_square >= 0.0 && chi_square.is_finite()) {
        return Err(GroupTestError::NothingToCompare);
    }
    Ok(GroupTest { chi_square, degrees, p_value: chi_square_upper(chi_square, degrees), excess })
}

/// Whether several groups end at the same pace, when any outcome ends an observation.
///
/// At every time with ends the expected number of a group is d n_g / n; the variance is the
/// hypergeometric d (n − d) / (n − 1) · n_g / n (1{g = h} − n_h / n) (Mantel 1966; Peto and Peto
/// 1972). With weights these are expected counts, and the last factor (n − d) / (n − 1) is held
/// between 0 and 1.
///
/// # Errors
/// See [`GroupTestError`]; every group needs an observation.
pub fn log_rank(groups: &[&[Observation]]) -> Result<GroupTest, GroupTestError> {
    let outcomes = groups.iter().map(|group| outcomes_of(group)).max().unwrap_or(0);
    let count = groups.len();
    let mut excess = vec![0.0; count];
    let mut variance = vec![vec![0.0; count]; count];
    for row in side_by_side(groups, outcomes)? {
        let at_risk: f64 = row.iter().map(|moment| moment.at_risk).sum();
        let left: f64 = row.iter().map(|moment| moment.left).sum();
        let ended: f64 = row.iter().map(Moment::all_ended).sum();
        if ended == 0.0 {
            continue;
        }
        let finite = if at_risk > 1.0 { (left / (at_risk - 1.0)).min(1.0) } else { 0.0 };
        for (group, moment) in row.iter().enumerate() {
            let share = moment.at_risk / at_risk;
            excess[group] += moment.all_ended() - ended * share;
            for (other, theirs) in row.iter().enumerate() {
                let same = if group == other { 1.0 } else { 0.0 };
                variance[group][other] +=
                    ended * finite * share * (same - theirs.at_risk / at_risk);
            }
        }
    }
    quadratic(excess, &variance)
}
