//! `grapevine captions`.

use crate::program::{Folder, demo_talk};

const BETWEEN: [&str; 3] = ["--between", "Maren:she", "Joaquim:he"];

fn captions(more: &[&str]) -> String {
    let arguments = [&["captions", "round.vtt"], &BETWEEN[..], more].concat();
    Folder::with_demo().run(&arguments).good()
}

#[test]
fn timings_are_kept() {
    let before = talk::read(demo_talk().as_bytes()).unwrap().talk;
    let after = talk::read(captions(&[]).as_bytes()).unwrap().talk;
    let spans = |talk: &talk::Talk| talk.cues().iter().map(|cue| cue.span).collect::<Vec<_>>();
    assert_eq!(spans(&after), spans(&before));
}

#[test]
fn the_kind_of_captions_can_be_chosen_and_is_kept_otherwise() {
    assert!(captions(&[]).starts_with("WEBVTT\n"));
    let subrip = captions(&["--out", "subrip"]);
    assert!(subrip.starts_with("1\n00:00:00,800 --> "), "{subrip}");
    let text = captions(&["--out", "text"]);
    assert!(text.starts_with("[0:00.8"), "{text}");

    let folder = Folder::new();
    folder.put("round.srt", &subrip);
    assert!(folder.run(&["captions", "round.srt"]).good().starts_with("1\n00:00:00,800 --> "));
}

#[test]
fn names_and_terms_are_put_right() {
    let words = |text: &str| -> Vec<String> {
        let talk = talk::read(text.as_bytes()).unwrap().talk;
        talk.words().map(|word| word.text.to_lowercase()).collect()
    };
    let after = words(&captions(&[])).join(" ");
    for right in
        ["maren", "joaquim", "de la riva hook", "the knee cut right", "americana", "toreando"]
    {
        assert!(after.contains(right), "{right}: {after}");
    }
    // Ordinary words are left alone.
    assert!(after.contains("that's what i want to see"), "{after}");
}
