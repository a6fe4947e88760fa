//! Laws that hold for every model, and the decoder against the slow ones.

use super::random_model::{Problem, Size, problem};
use super::reference::{Expected, dense, enumerate, weigh};
use decode::semi_markov::{ArcGain, DecodeError, Path, Posterior, Weights, Workspace};
use proptest::prelude::*;

const TINY: Size = Size { bins: 6, states: 3, arcs: 5, longest: 4, spread: 4.0, forbidden: 20 };
const MIDDLING: Size =
    Size { bins: 45, states: 5, arcs: 14, longest: 12, spread: 3.0, forbidden: 4 };
/// Weights so far apart that hardly any pair fits into one floating-point number.
const WILD: Size = Size { bins: 40, states: 4, arcs: 12, longest: 9, spread: 900.0, forbidden: 4 };

/// Long enough for tails, for windows that sink or climb out of range, and for runs of bins alike.
const DRIFTING: Size =
    Size { bins: 120, states: 4, arcs: 10, longest: 30, spread: 5.0, forbidden: 3 };

/// Problems whose bins come in runs of 25 that all say the same, strongly, and whose arcs weigh the
/// same at every boundary but for some that are lifted far at a few.
fn drifting() -> impl Strategy<Value = Problem> {
    (problem(DRIFTING), 0.5..12.0, 0.0..300.0).prop_map(|(mut problem, strength, lift)| {
        let arcs = problem.arcs.len();
        for bin in 1..problem.bins {
            for arc in 0..arcs {
                let lifted = bin % 9 == 4 && (bin + arc) % 3 == 0;
                let weight = problem.arc_weights[arc] + if lifted { lift } else { 0.0 };
                problem.arc_weights[bin * arcs + arc] = weight;
            }
        }
        let states = problem.states();
        for bin in 0..problem.bins {
            for state in 0..states {
                let first = problem.emissions[bin / 25 * 25 * states + state];
                problem.emissions[bin * states + state] = first * strength;
            }
        }
        problem
    })
}

fn decode(problem: &Problem) -> Result<(Posterior, Path), DecodeError> {
    let lattice = problem.lattice();
    let (mut workspace, mut posterior, mut path) =
        (Workspace::new(), Posterior::default(), Path::default());
    let summed = lattice.posterior(&problem.weights(), &mut workspace, &mut posterior);
    let found = lattice.best_path(&problem.weights(), &mut workspace, &mut path);
    assert_eq!(summed, found);
    found.map(|()| (posterior, path))
}

fn close(found: f64, expected: f64) -> bool {
    (found - expected).abs() <= 1e-9 * expected.abs().max(1.0)
}

fn all_close(found: &[f64], expected: &[f64]) -> bool {
    found.len() == expected.len() && found.iter().zip(expected).all(|(&f, &e)| close(f, e))
}

fn check(problem: &Problem, expected: &Expected) -> Result<(), TestCaseError> {
    let (posterior, path) = match decode(problem) {
        Err(DecodeError::Impossible) => {
            prop_assert_eq!(expected.log_total, f64::NEG_INFINITY);
            prop_assert_eq!(expected.best, f64::NEG_INFINITY);
            return Ok(());
        }
        other => other.map_err(|error| TestCaseError::fail(error.to_string()))?,
    };
    prop_assert!(close(posterior.log_total, expected.log_total));
    prop_assert!(all_close(&posterior.state_marginal, &expected.state_marginal));
    prop_assert!(all_close(&posterior.arc_marginal, &expected.arc_marginal));
    prop_assert!(close(path.log_weight, expected.best));
    prop_assert!(close(weigh(problem, &path.segments), expected.best));
    well_formed(problem, &path)
}

/// Segments tile the bins, and every arc joins its neighbours.
fn well_formed(problem: &Problem, path: &Path) -> Result<(), TestCaseError> {
    prop_assert_eq!(path.segments[0].start, 0);
    prop_assert_eq!(path.segments[0].arc_in, None);
    prop_assert_eq!(path.segments[path.segments.len() - 1].end, problem.bins);
    prop_assert!(path.segments.iter().all(|segment| segment.start < segment.end));
    for pair in path.segments.windows(2) {
        prop_assert_eq!(pair[0].end, pair[1].start);
        let arc = problem.arcs[pair[1].arc_in.unwrap()];
        prop_assert_eq!((arc.from, arc.to), (pair[0].state, pair[1].state));
    }
    Ok(())
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn equals_every_segmentation_in_turn(problem in problem(TINY)) {
        check(&problem, &enumerate(&problem))?;
    }

    #[test]
    fn references_agree(problem in problem(TINY)) {
        let (turn, dense) = (enumerate(&problem), dense(&problem));
        if turn.log_total > f64::NEG_INFINITY {
            prop_assert!(close(turn.log_total, dense.log_total));
            prop_assert!(close(turn.best, dense.best));
            prop_assert!(all_close(&turn.state_marginal, &dense.state_marginal));
            prop_assert!(all_close(&turn.arc_marginal, &dense.arc_marginal));
        }
    }

    #[test]
    fn equals_the_dense_reference(problem in problem(MIDDLING)) {
        check(&problem, &dense(&problem))?;
    }

    #[test]
    fn equals_the_dense_reference_on_wild_weights(problem in problem(WILD)) {
        check(&problem, &dense(&problem))?;
    }

    #[test]
    fn equals_the_dense_reference_on_strong_runs(problem in drifting()) {
        check(&problem, &dense(&problem))?;
    }

    #[test]
    fn marginals_are_shares_and_flow(problem in problem(MIDDLING)) {
        let Ok((posterior, _)) = decode(&problem) else { return Ok(()) };
        let (states, arcs) = (problem.states(), problem.arcs.len());
        for row in posterior.state_marginal.chunks(states) {
            prop_assert!(row.iter().all(|share| (0.0..=1.0).contains(share)));
            prop_assert!(close(row.iter().sum(), 1.0));
        }
        for (share, weight) in posterior.state_marginal.iter().zip(&problem.emissions) {
            prop_assert!(*weight > f64::NEG_INFINITY || *share == 0.0, "forbidden, so never");
        }
        for t in 1..problem.bins {
            for state in 0..states {
                let mut change = 0.0;
                for (id, arc) in problem.arcs.iter().enumerate() {
                    let share = posterior.arc_marginal[t * arcs + id];
                    change += share * f64::from(u8::from(arc.to == state));
                    change -= share * f64::from(u8::from(arc.from == state));
                }
                let share = |t: usize| posterior.state_marginal[t * states + state];
                prop_assert!((share(t) - share(t - 1) - change).abs() < 1e-9);
            }
        }
    }

    #[test]
    fn a_constant_in_the_emissions_changes_nothing(
        problem in problem(MIDDLING),
        constants in prop::collection::vec(-1e4..1e4, MIDDLING.bins),
    ) {
        let Ok((posterior, path)) = decode(&problem) else { return Ok(()) };
        let mut moved = problem.clone();
        for (row, constant) in moved.emissions.chunks_mut(problem.states()).zip(&constants) {
            row.iter_mut().for_each(|weight| *weight += constant);
        }
        let (moved_posterior, moved_path) = decode(&moved).unwrap();
        prop_assert!(all_close(&moved_posterior.state_marginal, &posterior.state_marginal));
        prop_assert!(all_close(&moved_posterior.arc_marginal, &posterior.arc_marginal));
        prop_assert_eq!(&moved_path.segments, &path.segments);
        let moved_by: f64 = constants[..problem.bins].iter().sum();
        prop_assert!((moved_posterior.log_total - posterior.log_total - moved_by).abs() < 1e-8);
    }

    /// A temperature is the same as weights divided by it.
    #[test]
    fn a_scale_multiplies_the_weights(problem in problem(MIDDLING), scale in 0.2..3.0f64) {
        let mut scaled = problem.clone();
        let all = scaled.emissions.iter_mut().chain(&mut scaled.arc_weights);
        all.for_each(|weight| *weight *= scale);
        let Ok((expected, best)) = decode(&scaled) else { return Ok(()) };
        let (mut workspace, mut posterior, mut path) =
            (Workspace::new(), Posterior::default(), Path::default());
        let weights = Weights { scale, ..problem.weights() };
        let lattice = problem.lattice();
        lattice.posterior(&weights, &mut workspace, &mut posterior).unwrap();
        prop_assert!(close(posterior.log_total, expected.log_total));
        prop_assert!(all_close(&posterior.state_marginal, &expected.state_marginal));
        prop_assert!(all_close(&posterior.arc_marginal, &expected.arc_marginal));
        lattice.best_path(&weights, &mut workspace, &mut path).unwrap();
        prop_assert!(close(path.log_weight, best.log_weight));
    }

    /// The path of expected gains is the heaviest path through the gains as weights.
    #[test]
    fn expected_gains_are_weights(
        problem in problem(MIDDLING),
        (gain, cost) in (0.0..9.0f64, 0.0..2.0f64),
    ) {
        let Ok((posterior, _)) = decode(&problem) else { return Ok(()) };
        let (mut workspace, mut path) = (Workspace::new(), Path::default());
        let lattice = problem.lattice();
        let change = ArcGain { gain, cost };
        lattice
            .best_expected_path(&problem.weights(), &posterior, change, &mut workspace, &mut path)
            .unwrap();
        let mut gains = problem.clone();
        for (weight, share) in gains.emissions.iter_mut().zip(&posterior.state_marginal) {
            *weight = if *weight == f64::NEG_INFINITY { *weight } else { *share };
        }
        for (weight, share) in gains.arc_weights.iter_mut().zip(&posterior.arc_marginal) {
            *weight = if *weight == f64::NEG_INFINITY { *weight } else { gain * share - cost };
        }
        let (_, expected) = decode(&gains).unwrap();
        prop_assert_eq!(path.segments, expected.segments);
    }

    /// An answer, given as a forbidden state, has the chance that the posterior gave it.
    #[test]
    fn forbidding_conditions(problem in problem(MIDDLING), bin in 0..MIDDLING.bins, state in 0..MIDDLING.states) {
        let Ok((posterior, _)) = decode(&problem) else { return Ok(()) };
        let (bin, state) = (bin % problem.bins, state % problem.states());
        let mut told = problem.clone();
        for other in (0..problem.states()).filter(|&other| other != state) {
            told.emissions[bin * problem.states() + other] = f64::NEG_INFINITY;
        }
        let chance = posterior.state_marginal[bin * problem.states() + state];
        match decode(&told) {
            Ok((told, _)) => {
                prop_assert!(close((told.log_total - posterior.log_total).exp(), chance));
                prop_assert!(close(told.state_marginal[bin * problem.states() + state], 1.0));
            }
            Err(error) => {
                prop_assert_eq!(error, DecodeError::Impossible);
                prop_assert!(chance < 1e-12);
            }
        }
    }
}
