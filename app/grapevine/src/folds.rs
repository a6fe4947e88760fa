//! Readers that were each trained without some of the rounds, so that no round is judged on what
//! its reader has learned from it.

use std::fs;
use std::path::Path;

use decode::decoder::Decoder;
use decode::evaluation::tuning::{HeardRound, counted};
use decode::grammar::Grammar;
use decode::parameters::ReaderModel;
use rayon::prelude::*;
use serde::Deserialize;
use talk::Lexicon;

use crate::commands::error::CommandError;
use crate::rounds_folder::{Captions, KnownRound};

/// A reader, and the rounds that it was trained without.
#[derive(Debug, Deserialize)]
pub(crate) struct Fold {
    pub(crate) reader: String,
    pub(crate) left_out: Vec<String>,
}

/// The folds that a folder lists in its `folds.json`.
pub(crate) fn list(folder: &Path) -> Result<Vec<Fold>, CommandError> {
    let path = folder.join("folds.json");
    let name = || path.display().to_string();
    let text =
        fs::read_to_string(&path).map_err(|source| CommandError::Read { name: name(), source })?;
    serde_json::from_str(&text).map_err(|source| CommandError::Folds { name: name(), source })
}

/// The decoders of the folds, with settings that are only counted.
pub(crate) fn decoders(
    folder: &Path,
    folds: &[Fold],
    rounds: &[KnownRound],
) -> Result<Vec<Decoder>, CommandError> {
    (folds.iter())
        .map(|fold| {
            let path = folder.join(&fold.reader);
            let name = || path.display().to_string();
            let bytes =
                fs::read(&path).map_err(|source| CommandError::Read { name: name(), source })?;
            let grammar = Grammar::builtin();
            let model = ReaderModel::parse(&bytes, &grammar)
                .map_err(|source| CommandError::Reader { name: name(), source })?;
            let settings = counted(rounds.iter().map(|round| &round.truth));
            Decoder::new(grammar, model, [settings.clone(), settings.clone(), settings])
                .map_err(CommandError::Model)
        })
        .collect()
}

/// The rounds with captions of this kind, each heard by the reader that was trained without it.
pub(crate) fn hear<'a>(
    rounds: &'a [KnownRound],
    folds: &[Fold],
    decoders: &[Decoder],
    captions: Captions,
    lexicon: &Lexicon,
) -> Vec<(&'a str, HeardRound<'a>)> {
    let kind = captions as usize;
    let hear_one = |round: &'a KnownRound| {
        let talk = round.talks[kind].as_ref()?;
        let decoder = folds.iter().position(|fold| fold.left_out.contains(&round.name))?;
        let heard = decoders[decoder].hear(talk, &round.truth.round, lexicon);
        Some((round.name.as_str(), HeardRound { truth: &round.truth, heard, decoder }))
    };
    rounds.par_iter().filter_map(hear_one).collect()
}
