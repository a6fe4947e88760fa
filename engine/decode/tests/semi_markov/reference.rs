//! Two slow decoders written another way: every segmentation in turn, and dense `O(T · S² · D)`
//! recursions without prefix sums, tails or scaling.

use super::random_model::Problem;
use decode::semi_markov::Segment;

/// What a decoder should find.
#[derive(Clone, Debug)]
pub(crate) struct Expected {
    pub(crate) log_total: f64,
    pub(crate) state_marginal: Vec<f64>,
    pub(crate) arc_marginal: Vec<f64>,
    pub(crate) best: f64,
}

/// ln(exp x + exp y).
fn log_add(x: f64, y: f64) -> f64 {
    let high = x.max(y);
    if high == f64::NEG_INFINITY { high } else { high + ((x - high).exp() + (y - high).exp()).ln() }
}

/// The weight of a segmentation, straight from the definition.
pub(crate) fn weigh(problem: &Problem, segments: &[Segment]) -> f64 {
    let states = problem.states();
    let mut weight = problem.initial[segments[0].state];
    for (i, segment) in segments.iter().enumerate() {
        let d = segment.end - segment.start;
        let bins = segment.start..segment.end;
        weight += bins.map(|t| problem.emissions[t * states + segment.state]).sum::<f64>();
        weight += match i + 1 == segments.len() {
            true => problem.last(segment.state, d),
            false => problem.exactly(segment.state, d),
        };
        if let Some(arc) = segment.arc_in {
            weight += problem.arc_weights[segment.start * problem.arcs.len() + arc];
        }
    }
    weight
}

/// Sums and compares every segmentation.
pub(crate) fn enumerate(problem: &Problem) -> Expected {
    let (states, arcs) = (problem.states(), problem.arcs.len());
    let mut all = Expected {
        log_total: f64::NEG_INFINITY,
        state_marginal: vec![f64::NEG_INFINITY; problem.bins * states],
        arc_marginal: vec![f64::NEG_INFINITY; problem.bins * arcs],
        best: f64::NEG_INFINITY,
    };
    for state in 0..states {
        extend(problem, &mut vec![Segment { state, start: 0, end: 0, arc_in: None }], &mut all);
    }
    let total = all.log_total;
    for share in all.state_marginal.iter_mut().chain(&mut all.arc_marginal) {
        *share = (*share - total).exp();
    }
    all
}

fn extend(problem: &Problem, segments: &mut Vec<Segment>, all: &mut Expected) {
    let (states, arcs) = (problem.states(), problem.arcs.len());
    let open = *segments.last().unwrap();
    let last = segments.len() - 1;
    for end in open.start + 1..problem.bins {
        segments[last].end = end;
        for (id, arc) in problem.arcs.iter().enumerate().filter(|(_, arc)| arc.from == open.state) {
            segments.push(Segment { state: arc.to, start: end, end, arc_in: Some(id) });
            extend(problem, segments, all);
            segments.pop();
        }
    }
    segments[last].end = problem.bins;
    let weight = weigh(problem, segments);
    all.log_total = log_add(all.log_total, weight);
    all.best = all.best.max(weight);
    for segment in segments.iter() {
        for t in segment.start..segment.end {
            let share = &mut all.state_marginal[t * states + segment.state];
            *share = log_add(*share, weight);
        }
        if let Some(arc) = segment.arc_in {
            let share = &mut all.arc_marginal[segment.start * arcs + arc];
            *share = log_add(*share, weight);
        }
    }
}

/// Dense recursions over every begin, duration and pair of states, in log space.
pub(crate) fn dense(problem: &Problem) -> Expected {
    let (states, arcs, bins) = (problem.states(), problem.arcs.len(), problem.bins);
    let none = f64::NEG_INFINITY;
    // The summed and the best weight of all up to a segment's begin, and after it.
    let mut before = vec![(none, none); (bins + 1) * states];
    let mut after = vec![none; (bins + 1) * states];
    for (cell, &weight) in before.iter_mut().zip(&problem.initial) {
        *cell = (weight, weight);
    }
    // Every arc of every ordered pair of states, in a dense table.
    let mut between = vec![Vec::new(); states * states];
    for (id, arc) in problem.arcs.iter().enumerate() {
        between[arc.from * states + arc.to].push(id);
    }
    let mut total = (none, none);
    for start in 0..bins {
        for state in 0..states {
            let (sum, best) = before[start * states + state];
            let mut seen = 0.0;
            for end in start + 1..=bins {
                seen += problem.emissions[(end - 1) * states + state];
                let d = end - start;
                if end == bins {
                    let weight = seen + problem.last(state, d);
                    total = (log_add(total.0, sum + weight), total.1.max(best + weight));
                    continue;
                }
                let weight = seen + problem.exactly(state, d);
                for to in 0..states {
                    for &id in &between[state * states + to] {
                        let arc = problem.arc_weights[end * arcs + id];
                        let cell = &mut before[end * states + to];
                        *cell =
                            (log_add(cell.0, sum + weight + arc), cell.1.max(best + weight + arc));
                    }
                }
            }
        }
    }
    let mut state_marginal = vec![0.0; bins * states];
    let mut arc_marginal = vec![0.0; bins * arcs];
    for start in (0..bins).rev() {
        for state in 0..states {
            let mut seen = 0.0;
            for end in start + 1..=bins {
                seen += problem.emissions[(end - 1) * states + state];
                let d = end - start;
                let sum = before[start * states + state].0 - total.0;
                let mut outcomes = none;
                if end == bins {
                    outcomes = seen + problem.last(state, d);
                }
                for to in (0..states).filter(|_| end < bins) {
                    for &id in &between[state * states + to] {
                        let weight = seen
                            + problem.exactly(state, d)
                            + problem.arc_weights[end * arcs + id]
                            + after[end * states + to];
                        arc_marginal[end * arcs + id] += (sum + weight).exp();
                        outcomes = log_add(outcomes, weight);
                    }
                }
                let cell = &mut after[start * states + state];
                *cell = log_add(*cell, outcomes);
                for t in start..end {
                    state_marginal[t * states + state] += (sum + outcomes).exp();
                }
            }
        }
    }
    Expected { log_total: total.0, state_marginal, arc_marginal, best: total.1 }
}
