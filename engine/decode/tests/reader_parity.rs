//! The network against PyTorch: the same rounded parameters, the same words, the same numbers.
//!
//! `training/make_parity_fixture.py` writes the fixture with the network that is trained.

use decode::evidence;
use decode::grammar::{Grammar, Meaning};
use decode::parameters::ReaderModel;
use decode::reader::network::{Outputs, WordRow};
use serde::Deserialize;

const PARAMETERS: &[u8] = include_bytes!("fixtures/tiny.reader");
const FIXTURE: &str = include_str!("fixtures/tiny.json");

/// Single precision, summed in another order.
const TOLERANCE: f64 = 1e-4;

#[derive(Deserialize)]
struct Fixture {
    /// Source, target, and index of the learned weight.
    arcs: Vec<[usize; 3]>,
    cases: Vec<Case>,
}

#[derive(Deserialize)]
struct Case {
    timing: usize,
    kind: usize,
    bins: usize,
    words: Vec<Word>,
    bin_outputs: [Vec<Vec<f64>>; 2],
    word_outputs: [Vec<Vec<f64>>; 2],
    state_weights: Option<Vec<Vec<f64>>>,
    arc_weights: Option<Vec<Vec<f64>>>,
}

#[derive(Deserialize)]
struct Word {
    token: String,
    lettered: bool,
    term: Option<String>,
    refers: usize,
    case: usize,
    start: f32,
    gap: f32,
}

fn fixture() -> (Fixture, Grammar, ReaderModel) {
    let fixture = serde_json::from_str(FIXTURE).unwrap();
    let grammar = Grammar::builtin();
    let model = ReaderModel::parse(PARAMETERS, &grammar).unwrap();
    (fixture, grammar, model)
}

fn run(model: &ReaderModel, case: &Case) -> Outputs {
    let rows: Vec<WordRow<'_>> = (case.words.iter())
        .map(|word| WordRow {
            token: &word.token,
            lettered: word.lettered,
            term: word.term.as_deref(),
            refers: word.refers,
            case: word.case,
            start: word.start,
            gap: word.gap,
        })
        .collect();
    model.network.run(&rows, case.timing, case.kind, case.bins)
}

fn assert_close(what: &str, got: impl IntoIterator<Item = f64>, expected: &[Vec<f64>]) {
    let got: Vec<f64> = got.into_iter().collect();
    let expected: Vec<f64> = expected.iter().flatten().copied().collect();
    assert_eq!(got.len(), expected.len(), "{what}: how many numbers");
    for (index, (got, expected)) in got.iter().zip(&expected).enumerate() {
        assert!((got - expected).abs() <= TOLERANCE, "{what} {index}: {got}, expected {expected}");
    }
}

#[test]
fn the_network_says_what_pytorch_says() {
    let (fixture, _, model) = fixture();
    assert!(!fixture.cases.is_empty());
    for (number, case) in fixture.cases.iter().enumerate() {
        let outputs = run(&model, case);
        for view in 0..2 {
            let wide = |number: &f32| f64::from(*number);
            let bins = outputs.bins[view].iter().map(wide);
            assert_eq!(outputs.bins[view].nrows(), case.bins);
            assert_close(
                &format!("case {number}, view {view}, bins"),
                bins,
                &case.bin_outputs[view],
            );
            let words = outputs.words[view].iter().map(wide);
            assert_eq!(outputs.words[view].nrows(), case.words.len());
            assert_close(
                &format!("case {number}, view {view}, words"),
                words,
                &case.word_outputs[view],
            );
        }
    }
}

#[test]
fn states_and_arcs_have_the_weights_of_the_training() {
    let (fixture, grammar, model) = fixture();
    let weighed = fixture
        .cases
        .iter()
        .filter_map(|case| Some((case, case.state_weights.as_ref()?, case.arc_weights.as_ref()?)));
    let mut count = 0;
    for (case, states, arcs) in weighed {
        let evidence = evidence::weigh(&run(&model, case), &grammar, &model.change);
        assert_close("states", evidence.states, states);
        assert_close("arcs", evidence.arcs, arcs);
        count += 1;
    }
    assert!(count > 0);
}

#[test]
fn arcs_have_the_order_of_the_training() {
    let (fixture, grammar, _) = fixture();
    let changes = grammar.changes().len();
    let arcs: Vec<[usize; 3]> = (grammar.arcs().iter().zip(grammar.meanings()))
        .map(|(arc, meaning)| {
            let weight = match meaning {
                Meaning::Change(change, _) => *change,
                Meaning::Stop => changes,
                Meaning::Start => changes + 1,
            };
            [arc.from, arc.to, weight]
        })
        .collect();
    assert_eq!(arcs, fixture.arcs);
}
