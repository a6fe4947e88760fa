//! The corpus: every file in `captions/ok` reads as the `.talk` file beside it says, every file in
//! `captions/err` fails with the words of the `.error` file beside it. The expected files were
//! written by the reader and then checked by eye, line by line, against FACTS F1 and F2 (the W3C
//! text on WebVTT; common practice for SubRip) and the rules in the docs of `talk::read`.
//!
//! `.talk` has the format, the warnings, and a line per cue: start and end in seconds, the voice
//! if any, and each word with its start, after `@` if the file gives it and `~` if it was spread.

use std::collections::BTreeSet;
use std::fmt::Write;
use std::path::{Path, PathBuf};
use talk::{Reading, read};

fn folder(name: &str) -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/captions").join(name)
}

/// The files of a folder with the expected text of each; complains about leftovers.
fn cases(name: &str, extension: &str) -> Vec<(String, Vec<u8>, String)> {
    let folder = folder(name);
    let names: BTreeSet<String> = std::fs::read_dir(&folder)
        .expect("the corpus is there")
        .map(|entry| entry.expect("readable").file_name().to_string_lossy().into_owned())
        .collect();
    let mut found = Vec::new();
    for file in names.iter().filter(|file| !file.ends_with(extension)) {
        let expected = std::fs::read_to_string(folder.join(format!("{file}{extension}")));
        let bytes = std::fs::read(folder.join(file)).expect("readable");
        found.push((file.clone(), bytes, expected.unwrap_or_default()));
    }
    assert_eq!(found.len() * 2, names.len(), "each file and its expected text in {name}");
    found
}

fn shown(reading: &Reading) -> String {
    let mut out = format!("{}\n", reading.format);
    for warning in &reading.warnings {
        let _ = writeln!(out, "{warning}");
    }
    for cue in reading.talk.cues() {
        let _ = write!(out, "{:.3}-{:.3}", cue.span.start().seconds(), cue.span.end().seconds());
        if let Some(voice) = &cue.voice {
            let _ = write!(out, " {voice}:");
        }
        for word in &cue.words {
            let sign = if word.timed { '@' } else { '~' };
            let _ = write!(out, " {}{sign}{:.3}", word.text, word.span.start().seconds());
        }
        out.push('\n');
    }
    out
}

#[test]
fn good_files_read_as_written_beside_them() {
    for (file, bytes, expected) in cases("ok", ".talk") {
        let reading = read(&bytes).unwrap_or_else(|error| panic!("{file}: {error}"));
        let found = shown(&reading);
        assert!(found == expected, "{file}: read as\n{found}\nand not as\n{expected}");
    }
}

#[test]
fn broken_files_fail_with_their_line_and_what_to_do() {
    for (file, bytes, expected) in cases("err", ".error") {
        let error = read(&bytes).expect_err(&file);
        let message = error.to_string();
        assert_eq!(message, expected.trim_end(), "{file}");
        if let Some(line) = error.line() {
            assert!(message.starts_with(&format!("line {line}: ")), "{file}: {message}");
        }
    }
}

#[test]
fn a_file_above_the_limit_is_refused_and_one_at_it_is_read() {
    let mut text = String::from("[0:00] ");
    text.push_str(&"go ".repeat(talk::read::MAX_BYTES / 3 - 2));
    text.extend(std::iter::repeat_n(' ', talk::read::MAX_BYTES - text.len()));
    let reading = read(text.as_bytes()).expect("at the limit");
    assert_eq!(reading.talk.words().count(), talk::read::MAX_BYTES / 3 - 2);
    let hundred = vec![b'a'; 100_000_000];
    let error = read(&hundred).expect_err("a file of 100 MB");
    assert_eq!(error, talk::ReadError::TooLarge { bytes: 100_000_000 });
    assert_eq!(error.line(), None);
}

#[test]
fn three_hours_of_word_times_are_read_whole() {
    let clock = |millis: u64| {
        let (s, ms) = (millis / 1000, millis % 1000);
        format!("{:02}:{:02}:{:02}.{ms:03}", s / 3600, s / 60 % 60, s % 60)
    };
    let mut text = String::from("WEBVTT\n");
    for start in (0..3 * 3_600_000).step_by(4_000) {
        let _ = write!(text, "\n{} --> {}\nword", clock(start), clock(start + 4_000));
        for word in 1..8 {
            let _ = write!(text, "<{}><c> word</c>", clock(start + 500 * word));
        }
        text.push('\n');
    }
    let reading = read(text.as_bytes()).expect("well-formed");
    assert_eq!(reading.warnings, []);
    assert_eq!(reading.talk.end().millis(), 3 * 3_600_000);
    let starts = reading.talk.words().map(|word| word.span.start().millis());
    assert!(starts.eq((0..3 * 3_600_000).step_by(500)));
    assert!(reading.talk.words().all(|word| word.timed));
}
