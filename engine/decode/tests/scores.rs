//! The project's figures against those of the reference script that comes with the sample rounds,
//! recorded with `score_rounds.py samples/rounds FOLDER --json` on the ledgers kept beside it.

use std::collections::BTreeMap;
use std::path::Path;

use academy::ledger_file;
use decode::evaluation::scores::{Scores, score};
use decode::evaluation::truth::Truth;

fn file(path: &str) -> String {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    std::fs::read_to_string(root.join(path)).unwrap()
}

#[test]
fn figures_are_those_of_the_reference_script() {
    let expected: BTreeMap<String, BTreeMap<String, f64>> =
        serde_json::from_str(&file("tests/fixtures/scores/expected.json")).unwrap();
    let mut all = Vec::new();
    for (name, figures) in expected.iter().filter(|(name, _)| *name != "mean") {
        let truth = Truth::parse(
            &file(&format!("../../samples/rounds/{name}.truth.json")),
            &file(&format!("../../samples/rounds/{name}.say.tsv")),
        )
        .unwrap();
        let (_, ledger) =
            ledger_file::read(&file(&format!("tests/fixtures/scores/{name}.json"))).unwrap();
        let scores = score(&truth, &ledger);
        for (figure, value) in Scores::NAMES.iter().zip(scores.figures()) {
            assert!((value - figures[*figure]).abs() < 1e-9, "{name} {figure}: {value}");
        }
        all.push(scores);
    }
    assert_eq!(all.len(), 4);
    for (figure, value) in Scores::NAMES.iter().zip(Scores::mean(&all).figures()) {
        assert!((value - expected["mean"][*figure]).abs() < 1e-9, "mean {figure}: {value}");
    }
}
