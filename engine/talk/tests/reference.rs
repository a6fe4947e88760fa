//! The WebVTT reader against `webvtt-parser` 2.2.0, on the same files: what that parser read is
//! recorded in `reference/*.json` by `reference/webvtt_parser.mjs`.
//!
//! Where the two differ, the W3C text decides (FACTS F1); each difference is listed with its
//! reason, and a listed file that does not differ fails the test too.

use serde_json::Value;
use std::path::Path;
use talk::{Talk, read};

/// Files that read differently, and why ours is right.
const DIFFERENCES: [(&str, &str); 7] = [
    ("voice_escape.vtt", "the standard decodes references in a voice; the other parser does not"),
    ("no_semicolon.vtt", "HTML reads &copy without a semicolon in text; the other parser does not"),
    ("rolling.vtt", "repeated lines are read once, by our rule and not the standard's"),
    ("rolling_untimed.vtt", "repeated lines are read once, by our rule and not the standard's"),
    ("signature.vtt", "the standard fails the file; the other parser notes it and goes on"),
    ("late_signature.vtt", "the standard fails the file; the other parser notes it and goes on"),
    ("latin1.vtt", "bytes that are not UTF-8 are an error to us; the standard replaces them"),
];

/// A word with its voice, the millisecond of an inline time before it, and its cue's start.
type Word = (String, Option<String>, Option<u64>, u64);

/// Ours, with inline times as the file has them.
fn ours(talk: &Talk) -> Vec<Word> {
    let mut words = Vec::new();
    for cue in talk.cues() {
        for (index, word) in cue.words.iter().enumerate() {
            let start = word.span.start();
            // A first word at its cue's start has its time from there, not from an inline time.
            let inline = word.timed && (index > 0 || start != cue.span.start());
            let inline = inline.then(|| start.millis());
            words.push((word.text.clone(), cue.voice.clone(), inline, cue.span.start().millis()));
        }
    }
    words
}

/// Theirs: text pieces cut into words, each with the last usable inline time before it.
fn theirs(file: &Value) -> Vec<Word> {
    let mut words: Vec<Word> = Vec::new();
    for cue in file["cues"].as_array().expect("cues") {
        let (start, end) = (cue["start"].as_u64(), cue["end"].as_u64());
        let (start, end) = (start.expect("a start"), end.expect("an end"));
        let (mut time, mut latest, mut inside) = (None, start, false);
        for piece in cue["pieces"].as_array().expect("pieces") {
            if let Some(millis) = piece["time"].as_u64() {
                if (latest..=end).contains(&millis) {
                    (time, latest) = (Some(millis), millis);
                }
                continue;
            }
            let voice = piece["voice"].as_str().map(str::to_owned);
            for c in piece["text"].as_str().expect("text").chars() {
                if c.is_whitespace() {
                    inside = false;
                } else if inside {
                    words.last_mut().expect("a word was begun").0.push(c);
                } else {
                    words.push((c.to_string(), voice.clone(), time.take(), start));
                    inside = true;
                }
            }
        }
    }
    words
}

#[test]
fn webvtt_is_read_as_another_parser_reads_it() {
    let tests = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests");
    let mut compared = 0;
    let mut different = Vec::new();
    for folder in ["ok", "err"] {
        let files = std::fs::read_dir(tests.join("captions").join(folder)).expect("corpus");
        for path in files.map(|entry| entry.expect("readable").path()) {
            if path.extension().is_none_or(|extension| extension != "vtt") {
                continue;
            }
            let name = path.file_name().expect("a file").to_string_lossy().into_owned();
            let recorded = std::fs::read(tests.join("reference").join(format!("{name}.json")));
            let recorded = recorded.unwrap_or_else(|error| panic!("{name}: {error}"));
            let recorded: Value = serde_json::from_slice(&recorded).expect("JSON");
            let reading = read(&std::fs::read(&path).expect("readable"));
            // A wrong signature is an error to both; the empty file is another matter to us.
            let same = match &reading {
                Ok(reading) => {
                    let mut ours = ours(&reading.talk);
                    cue_voices(&mut ours, &recorded);
                    recorded["signature"] == true && ours == theirs(&recorded)
                }
                Err(_) => recorded["signature"] == false && theirs(&recorded).is_empty(),
            };
            compared += 1;
            if !same {
                different.push(name);
            }
        }
    }
    different.sort();
    let mut listed: Vec<&str> = DIFFERENCES.iter().map(|(name, _)| *name).collect();
    listed.sort_unstable();
    assert_eq!(different, listed);
    assert!(compared >= 20, "only {compared} files");
}

/// A cue with several voices is several cues to us, each from its first word on; for the
/// comparison every word goes back to the start of the cue in the file.
fn cue_voices(words: &mut [Word], recorded: &Value) {
    let starts: Vec<u64> = recorded["cues"]
        .as_array()
        .expect("cues")
        .iter()
        .map(|cue| cue["start"].as_u64().expect("a start"))
        .collect();
    for word in words {
        word.3 = starts.iter().copied().filter(|start| *start <= word.3).max().unwrap_or(word.3);
    }
}
