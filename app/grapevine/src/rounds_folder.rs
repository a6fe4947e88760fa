//! A folder of rounds whose truth is known: for learning and for judging.
//!
//! Per round: `NAME.truth.json`, `NAME.say.tsv`, and captions of up to three kinds:
//! `NAME.clean.vtt`, `NAME.auto.vtt`, `NAME.blocks.txt`. Kinds that are missing are made from the
//! lines of the talk, as captions without mistakes.

use std::fs;
use std::path::{Path, PathBuf};

use academy::Time;
use clap::ValueEnum;
use decode::evaluation::truth::{Line, Truth};
use talk::{ReadOptions, Talk};

use crate::commands::error::CommandError;

/// The three kinds of captions that a folder holds for each round.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub(crate) enum Captions {
    /// Without mistakes
    Clean,
    /// Automatic ones
    Auto,
    /// Automatic ones in blocks of some forty seconds
    Blocks,
}

impl Captions {
    pub(crate) const ALL: [Captions; 3] = [Captions::Clean, Captions::Auto, Captions::Blocks];

    pub(crate) const fn name(self) -> &'static str {
        match self {
            Captions::Clean => "clean",
            Captions::Auto => "auto",
            Captions::Blocks => "blocks",
        }
    }

    const fn suffix(self) -> &'static str {
        match self {
            Captions::Clean => "clean.vtt",
            Captions::Auto => "auto.vtt",
            Captions::Blocks => "blocks.txt",
        }
    }
}

pub(crate) struct KnownRound {
    pub(crate) name: String,
    pub(crate) truth: Truth,
    /// In the order of [`Captions::ALL`]; no automatic captions where the folder has none.
    pub(crate) talks: [Option<Talk>; 3],
}

/// Reads every round of a folder, in order of their names.
pub(crate) fn read(folder: &Path) -> Result<Vec<KnownRound>, CommandError> {
    let failed =
        |path: &Path, source| CommandError::Read { name: path.display().to_string(), source };
    let mut names = Vec::new();
    for entry in fs::read_dir(folder).map_err(|source| failed(folder, source))? {
        let file = entry.map_err(|source| failed(folder, source))?.file_name();
        if let Some(name) = file.to_string_lossy().strip_suffix(".truth.json") {
            names.push(name.to_owned());
        }
    }
    names.sort();
    // Not every drawn round has been talked over.
    names.retain(|name| folder.join(format!("{name}.say.tsv")).exists());
    if names.is_empty() {
        return Err(CommandError::NoRounds { name: folder.display().to_string() });
    }
    names.into_iter().map(|name| read_round(folder, name)).collect()
}

fn read_round(folder: &Path, name: String) -> Result<KnownRound, CommandError> {
    let place = |suffix: &str| folder.join(format!("{name}.{suffix}"));
    let text = |path: PathBuf| {
        fs::read_to_string(&path)
            .map_err(|source| CommandError::Read { name: path.display().to_string(), source })
    };
    let truth = Truth::parse(&text(place("truth.json"))?, &text(place("say.tsv"))?)
        .map_err(|source| CommandError::Truth { name: name.clone(), source })?;
    let length = truth.round.length();
    let captions = |kind: Captions, made: &dyn Fn() -> Option<String>| {
        let path = place(kind.suffix());
        let text = if path.exists() { Some(text(path.clone())?) } else { made() };
        let options = ReadOptions { length: Some(length), ..ReadOptions::default() };
        text.map(|text| talk::read_with(text.as_bytes(), options).map(|reading| reading.talk))
            .transpose()
            .map_err(|source| CommandError::Talk { name: path.display().to_string(), source })
    };
    let clean = captions(Captions::Clean, &|| Some(captions_of(&truth.lines, length)))?;
    let auto = captions(Captions::Auto, &|| None)?;
    let heard = auto.as_ref().or(clean.as_ref());
    let blocks = captions(Captions::Blocks, &|| heard.map(blocks_of))?;
    Ok(KnownRound { talks: [clean, auto, blocks], name, truth })
}

/// Captions take up about so many characters a second (measured on spoken lines).
const CHARACTERS_PER_SECOND: f64 = 18.0;

fn captions_of(lines: &[Line], length: Time) -> String {
    let mut text = String::from("WEBVTT\n");
    for (index, line) in lines.iter().enumerate() {
        let said = line.text.chars().count() as f64 / CHARACTERS_PER_SECOND;
        let next = lines.get(index + 1).map_or(length.later(10_000), |next| next.start);
        let end =
            Time::from_seconds(line.start.seconds() + said).min(next).max(line.start.later(200));
        let clock = |time: Time| {
            let millis = time.millis();
            format!("{:02}:{:02}.{:03}", millis / 60_000, millis / 1000 % 60, millis % 1000)
        };
        text += &format!("\n{} --> {}\n{}\n", clock(line.start), clock(end), line.text);
    }
    text
}

/// Blocks as copied from a page last about so long.
const BLOCK_MILLIS: u64 = 40_000;

fn blocks_of(talk: &Talk) -> String {
    let mut text = String::new();
    let mut block = None;
    for word in talk.words() {
        let start = word.span.start().millis() / BLOCK_MILLIS * BLOCK_MILLIS;
        if block != Some(start) {
            let gap = if block.is_some() { "\n\n" } else { "" };
            text += &format!("{gap}[{}]", Time::from_millis(start));
            block = Some(start);
        }
        text.push(' ');
        text += &word.text;
    }
    text.push('\n');
    text
}
