//! `grapevine ask`.

use crate::program::{DEMO, Folder, Ran, sample_talk};

/// Asks on, however little it would settle: the demo is read well.
fn ask(folder: &Folder, typed: &str) -> Ran {
    folder.run_with(&[&["ask"], &DEMO[..], &["--all"]].concat(), typed)
}

const KEPT: &str = "round.vtt.answers.json";

fn kept(folder: &Folder) -> serde_json::Value {
    let bytes = std::fs::read(folder.path(KEPT)).expect("answers are kept");
    serde_json::from_slice(&bytes).expect("the file is JSON")
}

/// What is shown before each prompt.
fn blocks(text: &str) -> Vec<&str> {
    text.split("\n> ").map(str::trim).collect()
}

#[test]
fn answers_are_kept_and_used_again() {
    let folder = Folder::with_demo();
    let asked = ask(&folder, "1\n1\nq\n").good();
    assert!(
        asked.ends_with(
            "2 answers are kept in round.vtt.answers.json. `grapevine read round.vtt` uses them.\n"
        ),
        "{asked}"
    );
    assert_eq!(folder.names(), ["round.vtt", KEPT]);
    let answers = kept(&folder);
    assert_eq!(answers["athletes"], serde_json::json!(["Maren", "Joaquim"]));
    assert_eq!(answers["answers"][1]["kind"], "spell");

    let read = folder.demo("read", &[]);
    assert_eq!(read.err, "grapevine: using 2 answers kept in round.vtt.answers.json\n");
    let again = ask(&folder, "q\n").good();
    assert!(again.starts_with("Going on from 2 answers kept in round.vtt.answers.json.\n"));
    assert!(again.ends_with("No new answers.\n"));
}

#[test]
fn every_prompt_says_what_the_keys_do() {
    let asked = ask(&Folder::with_demo(), "e\n8\n1\nq\n").good();
    let shown = blocks(&asked);
    for (block, keys) in [
        (shown[0], &["1  ", "or when, such as", "e  they were elsewhere", "?  I don't know"][..]),
        (shown[0], &["b  back: take the last answer away", "q  stop"]),
        (shown[1], &["8  mount", "?  I don't know", "b  back to the question", "q  stop"]),
        (shown[2], &["Who was on top in mount?", "1  Maren", "2  Joaquim", "?  I don't know"]),
        (shown[2], &["b  back to the positions", "q  stop"]),
        (shown[3], &["e  they were elsewhere", "b  back: take the last answer away"]),
    ] {
        for key in keys {
            assert!(block.contains(key), "{key}: {block}");
        }
    }
}

#[test]
fn when_a_spell_began_and_ended_can_be_typed() {
    let typed = ["0:45 1:12.5\nq\n", "0:45 -\nq\n", "- 1:12\nq\n"];
    for (typed, [start, end]) in
        typed.into_iter().zip([[Some(45.0), Some(72.5)], [Some(45.0), None], [None, Some(72.0)]])
    {
        let folder = Folder::with_demo();
        let asked = ask(&folder, typed).good();
        assert!(
            blocks(&asked)[0].starts_with(
                "0:57  Here: side control, Maren on top. When did that begin and end?"
            )
        );
        let answer = kept(&folder)["answers"][0].clone();
        assert_eq!(answer["kind"], "spell");
        assert_eq!([answer["start"].as_f64(), answer["end"].as_f64()], [start, end], "{typed}");
        let read = folder.demo("read", &["--out", "json"]).out;
        let (_, ledger) = academy::ledger_file::read(&read).unwrap();
        let spell = ledger.spell_at(academy::Time::from_millis(57_000)).unwrap();
        let told = |time: academy::Time, said: Option<f64>| {
            said.is_none_or(|said| (time.seconds() - said).abs() < 0.51)
        };
        assert!(told(spell.span.start(), start) && told(spell.span.end(), end), "{spell:?}");
    }
    // Backwards, beside the moment asked about, neither time, or too many.
    for typed in ["1:12 0:45", "0:58 1:12", "- -", "0:45", "0:45 1:12 1:13", "0:45 1:99"] {
        let folder = Folder::with_demo();
        let asked = ask(&folder, &format!("{typed}\n")).good();
        assert!(asked.contains("Type 1 to "), "{typed}: {asked}");
        assert_eq!(folder.names(), ["round.vtt"], "{typed}");
    }
}

#[test]
fn something_else_can_be_any_position_and_either_athlete() {
    for (typed, expected) in [
        ("e\n8\n1\nq\n", r#"{"kind": "state", "position": "mount", "top": "Maren"}"#),
        ("e\n9\n2\nq\n", r#"{"kind": "state", "position": "back_control", "top": "Joaquim"}"#),
        ("e\n1\nq\n", r#"{"kind": "state", "position": "standing", "top": null}"#),
        ("e\n10\n?\nq\n", r#"{"kind": "state", "position": "turtle", "top": null}"#),
        ("e\n?\n2\nq\n", r#"{"kind": "top", "top": "Joaquim"}"#),
        // Back and forth.
        ("e\nb\ne\n5\nb\n8\n1\nq\n", r#"{"kind": "state", "position": "mount", "top": "Maren"}"#),
    ] {
        let folder = Folder::with_demo();
        ask(&folder, typed).good();
        let mut answer = kept(&folder)["answers"][0].clone();
        answer.as_object_mut().unwrap().remove("t");
        let expected: serde_json::Value = serde_json::from_str(expected).unwrap();
        assert_eq!(answer, expected, "{typed:?}");
    }
}

#[test]
fn back_takes_the_last_answer_away_and_asks_again() {
    let folder = Folder::with_demo();
    let asked = ask(&folder, "1\n?\nb\nb\nb\nq\n").good();
    let shown = blocks(&asked);
    // The second question again after taking back that it was passed over, then the first.
    assert_eq!(shown[3], shown[1]);
    assert_eq!(shown[4], shown[0]);
    assert!(shown[5].starts_with("There is no answer to take away."), "{asked}");
    assert_eq!(folder.names(), ["round.vtt"], "no answers need no file");
    // The answer of an earlier sitting too.
    ask(&folder, "1\n1\nq\n").good();
    let asked = ask(&folder, "b\nq\n").good();
    assert!(asked.contains("1 answer is kept in"), "{asked}");
}

#[test]
fn an_answer_changes_the_next_question() {
    let asked = ask(&Folder::with_demo(), "1\nq\n").good();
    assert_ne!(blocks(&asked)[0], blocks(&asked)[1], "{asked}");
}

#[test]
fn not_to_know_keeps_nothing_and_goes_on_to_another_question() {
    let folder = Folder::with_demo();
    let asked = ask(&folder, "?\n?\nq\n").good();
    assert_ne!(blocks(&asked)[0], blocks(&asked)[1]);
    assert_eq!(folder.names(), ["round.vtt"]);
}

#[test]
fn what_cannot_be_understood_is_asked_again_and_the_end_of_input_stops() {
    let folder = Folder::with_demo();
    let asked = ask(&folder, "0\nperhaps\n99\n").good();
    assert_eq!(asked.matches("Type 1 to ").count(), 3, "{asked}");
    assert!(asked.contains(", e, ?, b or q.\n"), "{asked}");
    assert_eq!(folder.names(), ["round.vtt"]);
    // At the other prompts too, with what has been answered kept.
    ask(&folder, "1\ne\n14\n8\n3\n").good();
    assert_eq!(kept(&folder)["answers"].as_array().unwrap().len(), 1);
}

#[test]
fn it_ends_by_itself_when_the_rest_is_small() {
    let folder = Folder::with_demo();
    let ran = folder.run_with(&[&["ask"], &DEMO[..]].concat(), "1\n1\n1\n1\n1\n1\n1\n1\n1\n1\n");
    let asked = ran.good();
    assert!(asked.contains("That's enough, the rest is small"), "{asked}");
    assert!(asked.contains("--all"), "{asked}");
    let few = asked.matches("\n> ").count();
    assert!(few <= 7, "{few} questions: {asked}");
    let all = ask(&folder, &"1\n".repeat(10)).good();
    assert_eq!(all.matches("\n> ").count(), 11, "{all}");
}

#[test]
fn who_is_who_is_settled_first_where_it_is_open() {
    let folder = Folder::new();
    folder.put("round.vtt", sample_talk("r29.auto.vtt"));
    let between = ["ask", "round.vtt", "--between", "Hamza:he", "Joris:he", "--length", "5:00"];
    let ran = folder.run_with(&between, "1\nn\nq\n");
    assert!(ran.err.contains("grapevine: the two athletes may be swapped: "), "{}", ran.err);
    let first = blocks(&ran.out)[0];
    assert!(first.contains("  Who was "), "{first}");
    assert!(first.contains("n  nothing changed around here"), "{first}");
    assert!(first.contains("\n  1  Hamza (") || first.contains("\n  1  Joris ("), "{first}");
}

#[test]
fn answers_can_be_kept_elsewhere() {
    let folder = Folder::with_demo();
    let more = &["--answers", "monday.json"];
    let asked = folder.run_with(&[&["ask"], &DEMO[..], more, &["--all"]].concat(), "1\nq\n").good();
    assert!(asked.contains("1 answer is kept in monday.json"), "{asked}");
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
