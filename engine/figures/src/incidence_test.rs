//! Whether one outcome comes equally often in several groups, others competing: Gray's test.

use crate::observations::Observation;
use crate::survival::{GroupTest, GroupTestError, quadratic, side_by_side};

/// What one time adds to the variance of the scores.
struct Step {
    /// a_ij: how an end in group j moves the score of group i at once, per unit of its weight.
    at_once: Vec<Vec<f64>>,
    /// c_ij up to this time: how it moves the later ones through the common incidence.
    so_far: Vec<Vec<f64>>,
    /// Per group: variance of the increment of the outcome, and of the others'.
    own_noise: Vec<f64>,
    other_noise: Vec<f64>,
    /// Per group: (1 − F) / S after this time, 0 where nothing goes on.
    reach: Vec<f64>,
}

/// Gray's test that the cumulative incidence of `outcome` is the same in all groups.
///
/// With R_i = n_i (1 − F_i(t−)) / S_i(t−), the number of group i that the outcome could still meet,
/// the score of group i adds up d_i − d R_i / R over the times of this outcome. Its variance comes
/// from how each increment moves the scores, at once and later through the common incidence (Gray
/// 1988, *Annals of Statistics* 16:1141, with weight function 1), with the finite-population factor
/// 1 − (d − 1) / (n − 1) for ties. The statistic has a chi-square distribution with one degree less
/// than groups where there is no difference.
///
/// Takes time and memory in proportion to times × groups². With weights the counts are expected
/// counts. Small groups (fewer than five of the outcome each) make the p-value rough, and where the
/// last few end together the factor for ties, used as published, is itself unsteady.
///
/// # Errors
/// See [`GroupTestError`]; every group needs an observation.
pub fn gray(
    groups: &[&[Observation]],
    outcome: usize,
    outcomes: usize,
) -> Result<GroupTest, GroupTestError> {
    if outcome >= outcomes {
        return Err(GroupTestError::NothingToCompare);
    }
    let count = groups.len();
    let mut excess = vec![0.0; count];
    let mut survival = vec![1.0_f64; count];
    let mut incidence = vec![0.0_f64; count];
    let mut common = 0.0_f64;
    let mut drift = vec![vec![0.0; count]; count];
    let mut steps: Vec<Step> = Vec::new();
    for row in side_by_side(groups, outcomes)? {
        let own: Vec<f64> = row.iter().map(|moment| moment.ended[outcome]).collect();
        let others: Vec<f64> =
            row.iter().map(|moment| moment.all_ended() - moment.ended[outcome]).collect();
        let ended: f64 = own.iter().sum();
        if row.iter().all(|moment| moment.all_ended() == 0.0) {
            continue;
        }
        // Those at risk in each group, as if nothing else competed.
        let weight = |group: usize| {
            let at_risk = row[group].at_risk;
            if at_risk > 0.0 { at_risk / survival[group] } else { 0.0 }
        };
        let raised: Vec<f64> = (0..count).map(weight).collect();
        let total: f64 = raised.iter().sum();
        let open: f64 = raised.iter().zip(&incidence).map(|(r, f)| r * (1.0 - f)).sum();
        let mut at_once = vec![vec![0.0; count]; count];
        for i in 0..count {
            if open > 0.0 {
                excess[i] += own[i] - ended * raised[i] * (1.0 - incidence[i]) / open;
            }
            for j in 0..count {
                let same = if i == j { 1.0 } else { 0.0 };
                at_once[i][j] = raised[i] * (same - raised[j] / total);
                if ended > 0.0 {
                    drift[i][j] += at_once[i][j] * ended / (total * (1.0 - common));
                }
            }
        }
        common = (common + ended / total).min(1.0);
        let mut step = Step {
            at_once,
            so_far: drift.clone(),
            own_noise: vec![0.0; count],
            other_noise: vec![0.0; count],
            reach: vec![0.0; count],
        };
        for (k, moment) in row.iter().enumerate() {
            let n = moment.at_risk;
            if n <= 0.0 {
                continue;
            }
            let before = survival[k];
            incidence[k] += before * own[k] / n;
            survival[k] *= moment.left / n;
            if survival[k] > 0.0 {
                step.reach[k] = (1.0 - common) / survival[k];
            }
            step.own_noise[k] = ties(ended, total * before) * before * ended / (total * n);
            if survival[k] > 0.0 {
                step.other_noise[k] = ties(others[k], n) * before * before * others[k] / (n * n);
            }
        }
        steps.push(step);
    }
    let variance = variance(&steps, &drift);
    quadratic(excess, &variance)
}

/// The factor for sampling d of n without putting back.
fn ties(d: f64, n: f64) -> f64 {
    if d > 1.0 && n > 1.0 { 1.0 - (d - 1.0) / (n - 1.0) } else { 1.0 }
}

/// Adds up, over times and groups k, the squares of how far an increment in group k moves the
/// scores: a_ik + (1 − reach_k) (c_ik(end) − c_ik(t)) for the outcome itself, and
/// reach_k (c_ik(end) − c_ik(t)) for the others.
#[expect(clippy::needless_range_loop, reason = "the indices are those of several matrices")]
fn variance(steps: &[Step], end: &[Vec<f64>]) -> Vec<Vec<f64>> {
    let count = end.len();
    let mut sum = vec![vec![0.0; count]; count];
    for step in steps {
        for k in 0..count {
            let later = |i: usize| end[i][k] - step.so_far[i][k];
            let direct = |i: usize| step.at_once[i][k] + (1.0 - step.reach[k]) * later(i);
            let indirect = |i: usize| step.reach[k] * later(i);
            for i in 0..count {
                for j in 0..count {
                    sum[i][j] += direct(i) * direct(j) * step.own_noise[k]
                        + indirect(i) * indirect(j) * step.other_noise[k];
                }
            }
        }
    }
    sum
}
