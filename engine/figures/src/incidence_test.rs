//! Whether one outcome comes equally often in several groups, others competing: Gray's test.

use crate::observations::Observation;
use crate::survival::{GroupTest, GroupTestError, quadratic, side_by_side};

/// What each time adds to the variance of the scores. Matrices lie flat, time after time, row after
/// row: times are many, and each has its own.
#[derive(Default)]
struct Steps {
    /// a_ij: how an end in group j moves the score of group i at once, per unit of its weight.
    at_once: Vec<f64>,
    /// c_ij up to this time: how it moves the later ones through the common incidence.
    so_far: Vec<f64>,
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
    let mut drift = vec![0.0; count * count];
    let mut raised = vec![0.0; count];
    let mut steps = Steps::default();
    for row in side_by_side(groups, outcomes)? {
        let own = |group: usize| row[group].ended[outcome];
        let ended: f64 = (0..count).map(own).sum();
        if row.iter().all(|moment| moment.all_ended() == 0.0) {
            continue;
        }
        // Those at risk in each group, as if nothing else competed.
        for (group, raised) in raised.iter_mut().enumerate() {
            let at_risk = row[group].at_risk;
            *raised = if at_risk > 0.0 { at_risk / survival[group] } else { 0.0 };
        }
        let total: f64 = raised.iter().sum();
        let open: f64 = raised.iter().zip(&incidence).map(|(r, f)| r * (1.0 - f)).sum();
        for i in 0..count {
            if open > 0.0 {
                excess[i] += own(i) - ended * raised[i] * (1.0 - incidence[i]) / open;
            }
            for j in 0..count {
                let same = if i == j { 1.0 } else { 0.0 };
                let at_once = raised[i] * (same - raised[j] / total);
                if ended > 0.0 {
                    drift[i * count + j] += at_once * ended / (total * (1.0 - common));
                }
                steps.at_once.push(at_once);
            }
        }
        steps.so_far.extend_from_slice(&drift);
        common = (common + ended / total).min(1.0);
        for (k, moment) in row.iter().enumerate() {
            let (n, before) = (moment.at_risk, survival[k]);
            let (mut own_noise, mut other_noise, mut reach) = (0.0, 0.0, 0.0);
            if n > 0.0 {
                incidence[k] += before * own(k) / n;
                survival[k] *= moment.left / n;
                own_noise = ties(ended, total * before) * before * ended / (total * n);
                if survival[k] > 0.0 {
                    let others = moment.all_ended() - own(k);
                    reach = (1.0 - common) / survival[k];
                    other_noise = ties(others, n) * before * before * others / (n * n);
                }
            }
            steps.own_noise.push(own_noise);
            steps.other_noise.push(other_noise);
            steps.reach.push(reach);
        }
    }
    let variance = variance(&steps, &drift, count);
    quadratic(excess, &variance)
}

/// The factor for sampling d of n without putting back.
fn ties(d: f64, n: f64) -> f64 {
    if d > 1.0 && n > 1.0 { 1.0 - (d - 1.0) / (n - 1.0) } else { 1.0 }
}

/// Adds up, over times and groups k, the squares of how far an increment in group k moves the
/// scores: a_ik + (1 − reach_k) (c_ik(end) − c_ik(t)) for the outcome itself, and
/// reach_k (c_ik(end) − c_ik(t)) for the others.
fn variance(steps: &Steps, end: &[f64], count: usize) -> Vec<Vec<f64>> {
    let mut sum = vec![vec![0.0; count]; count];
    let square = count * count;
    let each = steps.at_once.chunks(square).zip(steps.so_far.chunks(square));
    for (step, (at_once, so_far)) in each.enumerate() {
        for k in 0..count {
            let group = step * count + k;
            let (own, other) = (steps.own_noise[group], steps.other_noise[group]);
            let reach = steps.reach[group];
            let later = |i: usize| end[i * count + k] - so_far[i * count + k];
            let direct = |i: usize| at_once[i * count + k] + (1.0 - reach) * later(i);
            let indirect = |i: usize| reach * later(i);
            for (i, row) in sum.iter_mut().enumerate() {
                for (j, sum) in row.iter_mut().enumerate() {
                    *sum += direct(i) * direct(j) * own + indirect(i) * indirect(j) * other;
                }
            }
        }
    }
    sum
}
