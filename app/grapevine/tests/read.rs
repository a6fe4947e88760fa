//! `grapevine read`.

use academy::ledger_file;

use crate::program::{DEMO, Folder, demo_talk, root};

#[test]
fn text_tells_who_what_and_when() {
    let text = Folder::with_demo().demo("read", &[]).good();
    assert!(text.starts_with("Maren and Joaquim, flow roll, 3:40\n"), "{text}");
    for line in text.lines() {
        assert!(line.chars().count() <= 80, "{line}");
    }
}

#[test]
fn json_is_a_ledger_that_the_scoring_script_can_read() {
    let json = Folder::with_demo().demo("read", &["--out", "json", "--kind", "hard"]).good();
    let (round, ledger) = ledger_file::read(&json).unwrap();
    assert_eq!(round.kind().id(), "hard");
    assert_eq!(ledger.end(), round.length());
    // The keys that scoring uses, by its own names and types.
    let value: serde_json::Value = serde_json::from_str(&json).unwrap();
    for spell in value["spells"].as_array().unwrap() {
        assert!(spell["start"].is_f64() && spell["end"].is_f64(), "{spell}");
        assert!(spell["position"].is_string() && spell["confidence"].is_f64(), "{spell}");
        assert!(
            spell["top"].is_null()
                || ["Maren", "Joaquim"].contains(&spell["top"].as_str().unwrap())
        );
    }
    for event in value["events"].as_array().unwrap() {
        assert!(event["t"].is_f64() && event["kind"].is_string(), "{event}");
    }
}

#[test]
fn the_demo_s_truth_is_a_ledger() {
    let text = std::fs::read_to_string(root().join("samples/demo/round.ledger.json")).unwrap();
    let (round, ledger) = ledger_file::read(&text).unwrap();
    assert_eq!(ledger.end(), round.length());
    assert_eq!(ledger_file::write(&round, &ledger), text, "kept in the form that is written");
}

#[test]
fn every_form_is_what_it_says() {
    let folder = Folder::with_demo();
    let csv = folder.demo("read", &["--out", "csv"]).good();
    assert!(csv.starts_with("entry,start_s,end_s,clock,what,athlete,detail,confidence,source\r\n"));
    let svg = folder.demo("read", &["--out", "svg"]).good();
    assert!(svg.starts_with("<?xml") && svg.trim_end().ends_with("</svg>"));
    let html = folder.demo("read", &["--out", "html"]).good();
    assert!(html.starts_with("<!DOCTYPE html>") && html.trim_end().ends_with("</html>"));
    assert!(html.contains("shake hands"), "the talk is on the page");
}

#[test]
fn standard_input_is_read_like_a_file() {
    let folder = Folder::with_demo();
    let from_file = folder.demo("read", &["--out", "json"]).good();
    let arguments = [&["read", "-"], &DEMO[1..], &["--out", "json"]].concat();
    assert_eq!(folder.run_with(&arguments, demo_talk()).good(), from_file);
}

#[test]
fn without_a_length_the_round_lasts_a_little_longer_than_the_talk() {
    let folder = Folder::with_demo();
    let json = folder.run(&["read", "round.vtt", "--between", "Maren", "Joaquim", "--out", "json"]);
    let (round, _) = ledger_file::read(&json.good()).unwrap();
    let talk = talk::read(demo_talk().as_bytes()).unwrap().talk;
    assert_eq!(round.length(), talk.end().later(5_000));
}

#[test]
fn the_same_talk_gives_the_same_bytes() {
    let folder = Folder::with_demo();
    for form in ["text", "json", "html"] {
        let once = folder.demo("read", &["--out", form]).good();
        assert_eq!(folder.demo("read", &["--out", form]).good(), once, "{form}");
    }
}

/// Share of the seconds whose position and athlete on top are both right, as common practice in
/// judging such readings; pauses left out.
fn share_right(truth: &academy::Ledger, read: &academy::Ledger) -> f64 {
    let moments = (0..truth.end().millis()).step_by(500).map(academy::Time::from_millis);
    let judged = moments.filter_map(|time| Some((truth.spell_at(time)?, read.spell_at(time)?)));
    let judged: Vec<bool> = judged
        .filter(|(truth, _)| truth.position != academy::Position::Reset)
        .map(|(truth, read)| (truth.position, truth.top) == (read.position, read.top))
        .collect();
    judged.iter().filter(|right| **right).count() as f64 / judged.len() as f64
}

#[test]
fn the_demo_is_understood() {
    let text = std::fs::read_to_string(root().join("samples/demo/round.ledger.json")).unwrap();
    let (_, truth) = ledger_file::read(&text).unwrap();
    let json = Folder::with_demo().demo("read", &["--out", "json"]).good();
    let (_, read) = ledger_file::read(&json).unwrap();
    let share = share_right(&truth, &read);
    assert!(share >= 0.85, "{share:.3} of the seconds are right");
    assert!(share_right(&truth, &truth) > 0.999);
    // What a coach would miss first.
    for kind in ["sweep", "pass", "reversal", "back_take", "tap"] {
        let kind = academy::EventKind::from_id(kind).unwrap();
        assert!(read.events().iter().any(|event| event.kind == kind), "{}", kind.name());
    }
}
