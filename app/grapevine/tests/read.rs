//! `grapevine read`.

use academy::ledger_file;

use crate::program::{DEMO, Folder, demo_talk, root, sample_talk};

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
    let json =
        folder.run(&["read", "round.vtt", "--between", "Maren:she", "Joaquim:he", "--out", "json"]);
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

/// A round in which nobody is named and both are "he".
fn unnamed(form: &str) -> crate::program::Ran {
    let folder = Folder::new();
    folder.put("round.vtt", sample_talk("r29.auto.vtt"));
    folder.run(&[
        "read",
        "round.vtt",
        "--between",
        "Hamza:he",
        "Joris:he",
        "--length",
        "5:00",
        "--out",
        form,
    ])
}

#[test]
fn a_round_that_may_be_mirrored_says_so_first() {
    let warning = "The two athletes may be swapped: ";
    let text = unnamed("text").out;
    assert_eq!(text.lines().position(|line| line.starts_with(warning)), Some(2), "{text}");
    let html = unnamed("html").out;
    assert!(html.find(warning).unwrap() < html.find("<svg").unwrap());
    // Who is who is the first question, and only that is open in it.
    let open = text.split("Left open, the most telling first\n").nth(1).unwrap();
    let first = open.lines().next().unwrap();
    assert!(
        first.contains("  Who ") && first.contains("Hamza") && first.contains("Joris"),
        "{first}"
    );

    let json: serde_json::Value = serde_json::from_str(&unnamed("json").out).unwrap();
    let notes = json["notes"].as_array().unwrap();
    assert_eq!(notes[0]["kind"], "may_be_swapped");
    let stretches = notes[0]["stretches"].as_array().unwrap();
    let open: f64 = (stretches.iter())
        .map(|stretch| stretch["end"].as_f64().unwrap() - stretch["start"].as_f64().unwrap())
        .sum();
    assert!(open > 150.0 && open <= 300.0, "{open} s");
    for form in ["json", "csv", "svg", "html"] {
        assert!(unnamed(form).err.contains("grapevine: the two athletes may be swapped: "));
    }

    // A round between a she and a he, well named, says nothing of it.
    let demo = Folder::with_demo().demo("read", &["--out", "json"]).good();
    assert!(!demo.contains("\"notes\""));
}

#[test]
fn names_that_nobody_says_are_told() {
    let ran = unnamed("json");
    let json: serde_json::Value = serde_json::from_str(&ran.out).unwrap();
    for name in ["Hamza", "Joris"] {
        let told = format!("grapevine: the name {name} is never heard in the talk: ");
        assert!(ran.err.contains(&told), "{}", ran.err);
        let note = serde_json::json!({ "kind": "name_not_heard", "athlete": name });
        assert!(json["notes"].as_array().unwrap().contains(&note));
    }
    // One of the two is right.
    let folder = Folder::with_demo();
    let ran = folder.run(&["read", "round.vtt", "--between", "Maren:she", "Quuxbert:he"]);
    assert!(ran.err.contains("the name Quuxbert is never heard"), "{}", ran.err);
    assert!(!ran.err.contains("Maren"), "{}", ran.err);
}

#[test]
fn talk_after_the_end_is_left_out_and_counted() {
    let folder = Folder::with_demo();
    let short = |form| {
        folder.run(&[
            "read",
            "round.vtt",
            "--between",
            "Maren:she",
            "Joaquim:he",
            "--length",
            "1:30",
            "--out",
            form,
        ])
    };
    let talk = talk::read(demo_talk().as_bytes()).unwrap().talk;
    let limit = academy::Time::from_millis(95_000);
    let lines = talk
        .cues()
        .iter()
        .filter(|cue| cue.words.iter().any(|word| word.span.start() >= limit))
        .count();
    let ran = short("text");
    assert!(
        ran.err.contains(&format!(
            "grapevine: left out: {lines} lines of talk after the end of the round at 1:30\n"
        )),
        "{}",
        ran.err
    );
    let json: serde_json::Value = serde_json::from_str(&short("json").out).unwrap();
    let note = serde_json::json!({ "kind": "talk_left_out", "lines": lines, "after": 90.0 });
    assert!(json["notes"].as_array().unwrap().contains(&note));
    let html = short("html").out;
    assert!(!html.contains("toreando") && html.contains("knee cut"), "the later talk is gone");
    // What is said later changes nothing of the round: cut by hand it reads the same.
    let (before, _) =
        demo_talk().split_once("\n00:01:4").map(|(a, b)| (a.to_owned(), b.to_owned())).unwrap();
    let cut = Folder::new();
    cut.put("round.vtt", before);
    let again = cut.run(&[
        "read",
        "round.vtt",
        "--between",
        "Maren:she",
        "Joaquim:he",
        "--length",
        "1:30",
        "--out",
        "csv",
    ]);
    assert_eq!(again.out, short("csv").out);
}

#[test]
fn a_length_before_all_of_the_talk_is_a_slip() {
    let folder = Folder::new();
    let late = "[9:30] she passes to side control\n[9:40] armbar from mount and he taps\n";
    folder.put("round.txt", late);
    let ran = folder.run(&[
        "read",
        "round.txt",
        "--between",
        "Petra:she",
        "Idris:he",
        "--length",
        "5:00",
    ]);
    assert_eq!((ran.status, ran.out.as_str()), (Some(1), ""));
    assert_eq!(
        ran.err,
        "grapevine: round.txt: all of the talk (2 lines) comes after the end of the round; \
         is --length right?\n"
    );
}

#[test]
fn the_demo_reads_like_a_coach_s_notes() {
    let text = Folder::with_demo().demo("read", &[]).good();
    for line in [
        "Joaquim pulls closed guard",
        "Maren opens the guard (De la Riva guard)",
        "Maren passes to side control: knee cut pass",
        "Joaquim mounts",
        "Joaquim turtles",
        "Maren finishes with the rear naked choke (begun 3:17)",
    ] {
        assert!(text.contains(line), "{line}: {text}");
    }
    assert!(
        !text.contains("moves on") && !text.contains("goes for the rear naked choke"),
        "{text}"
    );
}

// In the pause nobody is on top any more; who tapped follows from who was before.
#[test]
fn the_one_who_is_held_taps_though_no_pronoun_tells() {
    let folder = Folder::with_demo();
    let text = folder.run(&["read", "round.vtt", "--between", "Maren", "Joaquim"]).good();
    assert!(text.contains("Maren perhaps finishes with the rear naked choke"), "{text}");
}
