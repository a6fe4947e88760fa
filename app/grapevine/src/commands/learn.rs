//! `grapevine learn`: the decoder's settings from rounds of known truth.

use std::path::PathBuf;

use clap::Args;
use decode::evaluation::tuning;
use decode::parameters::Settings;
use talk::Lexicon;

use super::error::CommandError;
use crate::rounds_folder::{self, Captions};
use crate::{folds, terminal};

/// Learns from rounds of known truth how the decoder uses what the reader says.
///
/// Prints the settings as JSON, one set for each kind of captions. Every round is heard by a
/// reader that was trained without it, so that the settings know how far a reader can be trusted.
#[derive(Debug, Args)]
#[command(after_help = EXAMPLES)]
pub(crate) struct LearnArguments {
    /// A folder of rounds whose truth is known
    #[arg(value_name = "FOLDER")]
    pub(crate) folder: PathBuf,

    /// The readers trained without some of the rounds: a folder with folds.json
    #[arg(long, value_name = "FOLDER", default_value = "data/parameters/folds")]
    pub(crate) folds: PathBuf,
}

const EXAMPLES: &str = "\
Example:
  grapevine learn samples/rounds > data/parameters/settings.json";

pub(crate) fn run(arguments: &LearnArguments) -> Result<(), CommandError> {
    let rounds = rounds_folder::read(&arguments.folder)?;
    let list = folds::list(&arguments.folds)?;
    let mut decoders = folds::decoders(&arguments.folds, &list, &rounds)?;
    let lexicon = Lexicon::builtin();
    let mut learn = |captions| {
        let heard = folds::hear(&rounds, &list, &decoders, captions, &lexicon);
        let heard: Vec<_> = heard.iter().map(|(_, round)| round).collect();
        tuning::learn(&mut decoders, &heard, &lexicon).map_err(CommandError::Model)
    };
    let settings = [learn(Captions::Clean)?, learn(Captions::Auto)?, learn(Captions::Blocks)?];
    terminal::write(&Settings::write_all(&settings))
}
