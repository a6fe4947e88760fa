//! `grapevine prepare`: the rounds of a folder as the training of the reader takes them.

use std::path::PathBuf;

use clap::Args;
use decode::reader::words;
use serde_json::{Map, Value, json};
use talk::Lexicon;

use super::error::CommandError;
use crate::rounds_folder::{self, Captions};
use crate::terminal;

/// Writes the rounds of a folder, word by word, as the training of the reader takes them.
///
/// One line of JSON for each round: its name, and for each kind of captions a list of words, each
/// as token, start (s), silence before (s), whom it may stand for, grammatical form, lexicon term.
#[derive(Debug, Args)]
#[command(after_help = EXAMPLES)]
pub(crate) struct PrepareArguments {
    /// A folder of rounds whose truth is known
    #[arg(value_name = "FOLDER")]
    pub(crate) folder: PathBuf,
}

const EXAMPLES: &str = "\
Example:
  grapevine prepare samples/training > words.jsonl";

pub(crate) fn run(arguments: &PrepareArguments) -> Result<(), CommandError> {
    let lexicon = Lexicon::builtin();
    for round in rounds_folder::read(&arguments.folder)? {
        let mut forms = Map::new();
        for (kind, talk) in Captions::ALL.into_iter().zip(&round.talks) {
            if let Some(talk) = talk {
                let seen = words::see(talk, &round.truth.round, &lexicon);
                let rows = seen.words.iter().map(|word| {
                    json!([
                        word.token,
                        word.start,
                        word.gap,
                        word.refers.index(),
                        word.case.index(),
                        word.term.as_deref().unwrap_or_default(),
                    ])
                });
                forms.insert(kind.name().to_owned(), rows.collect());
            }
        }
        let line: Value = json!({ "name": round.name, "forms": forms });
        terminal::write(&format!("{line}\n"))?;
    }
    Ok(())
}
