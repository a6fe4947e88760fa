//! `grapevine ask`.

use crate::program::{DEMO, Folder, Ran};

fn ask(folder: &Folder, typed: &str) -> Ran {
    folder.run_with(&[&["ask"], &DEMO[..]].concat(), typed)
}

const KEPT: &str = "round.vtt.answers.json";

#[test]
fn answers_are_kept_and_used_again() {
    let folder = Folder::with_demo();
    let asked = ask(&folder, "1\nn\nq\n").good();
    assert!(asked.contains("  n  nothing happened here   ?  skip   q  stop"), "{asked}");
    assert!(
        asked.ends_with(
            "2 answers kept in round.vtt.answers.json. `grapevine read round.vtt` uses them.\n"
        ),
        "{asked}"
    );
    assert_eq!(folder.names(), ["round.vtt", KEPT]);
    let kept: serde_json::Value =
        serde_json::from_slice(&std::fs::read(folder.path(KEPT)).unwrap()).unwrap();
    assert_eq!(kept["athletes"], serde_json::json!(["Maren", "Joaquim"]));
    assert_eq!(kept["answers"][1]["kind"], "nothing");

    let read = folder.demo("read", &[]);
    assert_eq!(read.err, "grapevine: using 2 answers kept in round.vtt.answers.json\n");
    let again = ask(&folder, "q\n").good();
    assert!(again.starts_with("Going on from 2 answers kept in round.vtt.answers.json.\n"));
    assert!(again.ends_with("No new answers.\n"));
}

#[test]
fn an_answer_changes_the_next_question() {
    let folder = Folder::with_demo();
    let block = |text: &str, index: usize| text.split("> ").nth(index).map(str::to_owned);
    let asked = ask(&folder, "1\nq\n").good();
    assert_ne!(block(&asked, 0), block(&asked, 1), "{asked}");
}

#[test]
fn skipping_keeps_nothing_and_goes_on_to_another_question() {
    let folder = Folder::with_demo();
    let asked = ask(&folder, "?\n?\nq\n").good();
    let questions: Vec<&str> = asked.split("\n> ").collect();
    assert_ne!(questions[0].trim(), questions[1].trim());
    assert_eq!(folder.names(), ["round.vtt"]);
}

#[test]
fn what_cannot_be_understood_is_asked_again_and_the_end_of_input_stops() {
    let folder = Folder::with_demo();
    let asked = ask(&folder, "0\nperhaps\n99\n").good();
    assert_eq!(asked.matches("Type 1 to ").count(), 3, "{asked}");
    assert_eq!(folder.names(), ["round.vtt"]);
}

#[test]
fn answers_can_be_kept_elsewhere() {
    let folder = Folder::with_demo();
    let more = &["--answers", "monday.json"];
    let asked = folder.run_with(&[&["ask"], &DEMO[..], more].concat(), "1\nq\n").good();
    assert!(asked.contains("1 answer kept in monday.json"), "{asked}");
    assert_eq!(folder.names(), ["monday.json", "round.vtt"]);
    // Named by hand, they are used without a word about it.
    folder.demo("read", more).good();
}

#[test]
fn an_answer_shows_in_the_ledger() {
    let folder = Folder::with_demo();
    folder.put(
        KEPT,
        r#"{"format": "grapevine answers", "version": 1, "athletes": ["Maren", "Joaquim"],
            "answers": [{"kind": "state", "t": 91.0, "position": "mount", "top": "Joaquim"}]}"#,
    );
    let json = folder.demo("read", &["--out", "json"]).out;
    let (_, ledger) = academy::ledger_file::read(&json).unwrap();
    let spell = ledger.spell_at(academy::Time::from_millis(91_000)).unwrap();
    assert_eq!(
        (spell.position, spell.top),
        (academy::Position::Mount, Some(academy::Athlete::Second))
    );
}
