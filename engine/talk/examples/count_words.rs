//! Counts the words of labelled talk: `count_words FOLDER > data/lexicon/word_counts.txt`.
//!
//! The folder holds rounds as `NAME.say.tsv` (start, events, what was said, with tabs between)
//! and `NAME.truth.json`. Only the talk and the athletes' names are read.
#![expect(
    clippy::disallowed_methods,
    clippy::disallowed_macros,
    reason = "a command for developers, not part of the engine"
)]

use std::error::Error;
use std::fs;
use std::path::PathBuf;

use talk::WordCounts;

fn main() -> Result<(), Box<dyn Error>> {
    let folder = std::env::args().nth(1).ok_or("usage: count_words FOLDER")?;
    let mut files: Vec<PathBuf> =
        fs::read_dir(&folder)?.map(|entry| entry.map(|e| e.path())).collect::<Result<_, _>>()?;
    files.retain(|file| file.to_string_lossy().ends_with(".say.tsv"));
    files.sort();
    let mut counts = WordCounts::new();
    for file in files {
        let truth = file.to_string_lossy().replace(".say.tsv", ".truth.json");
        let truth = fs::read_to_string(truth)?;
        let names = truth.split_once("\"athletes\"").and_then(|(_, rest)| rest.split_once(']'));
        let names: Vec<&str> =
            names.map(|(list, _)| list.split('"').skip(1).step_by(2).collect()).unwrap_or_default();
        let [first, second] = names[..] else { return Err("a round without two athletes".into()) };
        let talk = fs::read_to_string(&file)?;
        let lines = talk.lines().filter_map(|line| line.splitn(3, '\t').nth(2));
        let words: Vec<&str> = lines.flat_map(str::split_whitespace).collect();
        counts.add(&words, [first, second]);
    }
    print!("{}", counts.to_text());
    Ok(())
}
