//! How much has ended in each of several ways by a time: cumulative incidence.

use crate::interval::{Interval, Level};
use crate::observations::{Observation, ObservationError, moments};
use crate::survival::{log_log, none_seen};

/// One outcome at one time.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct OutcomeAt {
    /// How many ended so at this time (a sum of weights).
    pub ended: f64,
    /// The share that has ended so by this time.
    pub incidence: f64,
    /// The variance of that share.
    pub variance: f64,
    /// Its limits, see [`cumulative_incidence`].
    pub interval: Interval,
}

/// What is known at one time.
#[derive(Clone, Debug, PartialEq)]
pub struct IncidenceStep {
    /// When, in the unit of the observations.
    pub time: f64,
    /// How many still went on just before (a sum of weights).
    pub at_risk: f64,
    /// The share that still goes on after this time; with all incidences it makes 1.
    pub going_on: f64,
    /// By outcome.
    pub outcomes: Vec<OutcomeAt>,
}

/// Shares that grow in steps over time, one per outcome.
#[derive(Clone, Debug, PartialEq)]
pub struct IncidenceCurves {
    steps: Vec<IncidenceStep>,
}

impl IncidenceCurves {
    /// Every time at which one ended or was cut, in order.
    #[must_use]
    pub fn steps(&self) -> &[IncidenceStep] {
        &self.steps
    }

    /// What is known at a time: the last step up to it, `None` before the first.
    #[must_use]
    pub fn at(&self, time: f64) -> Option<&IncidenceStep> {
        let passed = self.steps.partition_point(|step| step.time <= time);
        passed.checked_sub(1).map(|last| &self.steps[last])
    }
}

/// A running estimate of one outcome, with how its error and that of survival go together.
#[derive(Clone, Copy, Default)]
struct Running {
    incidence: f64,
    own: f64,
    with_survival: f64,
}

/// The share that has ended in each of `outcomes` ways by each time, others competing.
///
/// F_k(t) adds up S(t−) d_k / n (Aalen and Johansen 1978, *Scandinavian Journal of Statistics*
/// 5:141). Its variance is that of the delta method with the ends at each time multinomial (Dinse
/// and Larson 1986, *Biometrika* 73:379; Marubini and Valsecchi 1995, section 10.2), carried
/// forward step by step; with a single outcome it is Greenwood's. The limits are
/// F^exp(± z se / (F ln F)), which stay between 0 and 1.
///
/// Where F is 0 or 1 that formula says nothing. There the limits are wide instead of void: none of n
/// goes with an upper limit of 1 − tail^(1/n) and all of n with a lower limit of tail^(1/n) (Clopper
/// and Pearson), where n is those at risk divided by the share that went on: all that were watched,
/// as long as none was cut.
///
/// Work grows with the number of times and outcomes. With weights, n and d are expected counts and
/// the variance is that of so many whole observations; the doubt about which of them took place is
/// not in it.
///
/// # Errors
/// See [`ObservationError`].
pub fn cumulative_incidence(
    observations: &[Observation],
    outcomes: usize,
    level: Level,
) -> Result<IncidenceCurves, ObservationError> {
    let deviations = level.deviations();
    let mut steps = Vec::new();
    let mut running = vec![Running::default(); outcomes];
    let (mut going_on, mut spread) = (1.0_f64, 0.0_f64);
    for moment in moments(observations, outcomes)? {
        let n = moment.at_risk;
        let stay = moment.left / n;
        let ends = moment.all_ended() / n;
        let square = going_on * going_on / n;
        let mut shown = Vec::with_capacity(outcomes);
        for (curve, &ended) in running.iter_mut().zip(&moment.ended) {
            let part = ended / n;
            // F' = F + S p_k and S' = S (1 − p), with var(p_k) = p_k (1 − p_k) / n and
            // cov(p_k, p) = p_k (1 − p) / n.
            curve.own += 2.0 * part * curve.with_survival
                + part * part * spread
                + square * part * (1.0 - part);
            curve.with_survival =
                stay * (curve.with_survival + part * spread) - square * part * stay;
            curve.incidence = (curve.incidence + going_on * part).min(1.0);
            let interval = limits(curve, n / going_on, level, deviations);
            shown.push(OutcomeAt {
                ended,
                incidence: curve.incidence,
                variance: curve.own.max(0.0),
                interval,
            });
        }
        spread = stay * stay * spread + square * ends * stay;
        going_on *= stay;
        steps.push(IncidenceStep { time: moment.time, at_risk: n, going_on, outcomes: shown });
    }
    Ok(IncidenceCurves { steps })
}

/// `whole` is how many there would be if nothing had ended: those at risk divided by the share that
/// goes on.
fn limits(curve: &Running, whole: f64, level: Level, deviations: f64) -> Interval {
    if curve.incidence <= 0.0 {
        Interval::between(0.0, none_seen(whole, level))
    } else if curve.incidence >= 1.0 - 1e-12 {
        Interval::between(1.0 - none_seen(whole, level), 1.0)
    } else {
        log_log(curve.incidence, curve.own, deviations)
    }
}
