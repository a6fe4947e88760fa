//! What is refused, and how.

use super::random_model::Problem;
use decode::semi_markov::{
    Arc, DecodeError, Durations, Ending, Lattice, MarkovChain, Model, ModelError, Path, Posterior,
    Weights, Workspace,
};

const NEVER: f64 = f64::NEG_INFINITY;

fn two_states() -> Problem {
    Problem {
        bins: 4,
        initial: vec![0.0, -1.0],
        arcs: vec![Arc { from: 0, to: 1 }, Arc { from: 1, to: 0 }],
        durations: vec![(vec![-1.0, -0.5], vec![0.0, -0.5], NEVER); 2],
        ending: Ending::CutOff,
        emissions: vec![-0.5; 8],
        arc_weights: vec![-0.25; 8],
    }
}

fn outcome(problem: &Problem) -> Result<(), DecodeError> {
    let mut posterior = Posterior::default();
    problem.lattice().posterior(&problem.weights(), &mut Workspace::new(), &mut posterior)
}

#[test]
fn sizes_that_do_not_fit() {
    assert_eq!(outcome(&two_states()), Ok(()));
    for (emissions, arcs) in [(7, 8), (8, 6), (6, 8)] {
        let mut problem = two_states();
        problem.emissions.truncate(emissions);
        problem.arc_weights.truncate(arcs);
        let refused = DecodeError::Shape { emissions, arcs, states: 2, model_arcs: 2 };
        assert_eq!(outcome(&problem), Err(refused));
    }
    let mut problem = two_states();
    problem.emissions.clear();
    problem.arc_weights.clear();
    assert_eq!(outcome(&problem), Err(DecodeError::NoBins));
}

#[test]
fn weights_that_are_no_log_weights() {
    for wrong in [f64::NAN, f64::INFINITY] {
        let mut problem = two_states();
        problem.emissions[5] = wrong;
        assert_eq!(outcome(&problem), Err(DecodeError::Weight { bin: 2 }));
        let mut problem = two_states();
        problem.arc_weights[7] = wrong;
        assert_eq!(outcome(&problem), Err(DecodeError::Weight { bin: 3 }));
        let mut problem = two_states();
        problem.arc_weights[0] = wrong;
        assert_eq!(outcome(&problem), Ok(()), "row 0 is not read");
    }
}

#[test]
fn scales_that_are_none() {
    let problem = two_states();
    for scale in [0.0, -1.0, f64::NAN, f64::INFINITY, 1001.0] {
        let weights = Weights { scale, ..problem.weights() };
        let (mut workspace, mut path) = (Workspace::new(), Path::default());
        let found = problem.lattice().best_path(&weights, &mut workspace, &mut path);
        assert_eq!(found, Err(DecodeError::Scale));
    }
}

#[test]
fn everything_forbidden() {
    let impossible = Err(DecodeError::Impossible);
    let mut problem = two_states();
    problem.emissions[4..6].fill(NEVER);
    assert_eq!(outcome(&problem), impossible, "a bin without a state");
    let mut problem = two_states();
    problem.initial.fill(NEVER);
    assert_eq!(outcome(&problem), impossible, "no first state");
    let mut problem = two_states();
    problem.arc_weights.fill(NEVER);
    assert_eq!(outcome(&problem), impossible, "four bins do not fit into one segment of two");
    let mut problem = two_states();
    problem.emissions[1] = NEVER;
    problem.emissions[2] = NEVER;
    problem.arc_weights[2] = NEVER;
    assert_eq!(outcome(&problem), impossible, "the arc that is needed is forbidden");
    problem.arc_weights[2] = 0.0;
    assert_eq!(outcome(&problem), Ok(()));
}

#[test]
fn models_that_make_no_sense() {
    let table = Durations { exactly: &[0.0, -1.0], at_least: &[0.0], tail: NEVER };
    let model = |initial: &[f64], arcs: &[Arc], durations: &[Durations], ending| {
        Lattice::new(&Model { initial, arcs, durations, ending }).map(|_| ())
    };
    let exact = Ending::Exact;
    assert_eq!(model(&[0.0], &[], &[table], exact), Ok(()), "the other table is not read");
    assert_eq!(
        model(&[0.0], &[], &[table], Ending::CutOff),
        Err(ModelError::DurationLengths { state: 0, exactly: 2, at_least: 1 })
    );
    assert_eq!(model(&[], &[], &[], exact), Err(ModelError::NoStates));
    assert_eq!(
        model(&[0.0; 2], &[], &[table], exact),
        Err(ModelError::DurationTables { states: 2, durations: 1 })
    );
    assert_eq!(
        model(&[0.0], &[Arc { from: 0, to: 0 }, Arc { from: 0, to: 1 }], &[table], exact),
        Err(ModelError::ArcState { arc: 1 })
    );
    let no_durations = Durations { exactly: &[], ..table };
    assert_eq!(
        model(&[0.0], &[], &[no_durations], exact),
        Err(ModelError::DurationLengths { state: 0, exactly: 0, at_least: 0 })
    );
    for wrong in [f64::NAN, f64::INFINITY] {
        let refused = Err(ModelError::Weight { state: 0 });
        assert_eq!(model(&[wrong], &[], &[table], exact), refused);
        assert_eq!(model(&[0.0], &[], &[Durations { tail: wrong, ..table }], exact), refused);
        assert_eq!(model(&[0.0], &[], &[Durations { exactly: &[wrong], ..table }], exact), refused);
    }
    assert!(MarkovChain::new(&[0.0; 2], &[0.0; 3]).is_err());
}
