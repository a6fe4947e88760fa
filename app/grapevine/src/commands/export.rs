//! `grapevine export`: all ledgers as tables for other programs.

use std::fs;
use std::path::{Path, PathBuf};

use clap::Args;

use super::error::CommandError;
use crate::parquet_tables::tables;
use crate::rounds_at_hand::RoundsFrom;
use crate::terminal;

/// Writes all ledgers as tables for other programs.
///
/// Rounds, spells, events and people become Parquet files, which query engines and notebooks read;
/// docs/export.md describes every column. People are numbers in them: the files are for programs
/// and people outside the book, where names have no business, and where they would go on being
/// read long after somebody asked to be left out; of techniques, only what the lexicon knows is written.
/// --names adds people's names and every technique as it was kept, for your own use.
/// `grapevine serve` may be running meanwhile.
#[derive(Debug, Args)]
#[command(after_help = EXAMPLES)]
pub(crate) struct ExportArguments {
    /// The folder to write to; it is made where it is missing
    #[arg(long, value_name = "FOLDER", required = true)]
    pub(crate) parquet: PathBuf,

    #[command(flatten)]
    pub(crate) from: RoundsFrom,

    /// Write people's names too
    #[arg(long)]
    pub(crate) names: bool,

    /// Replace files of an earlier export
    #[arg(long)]
    pub(crate) force: bool,
}

const EXAMPLES: &str = "\
Examples:
  grapevine export --parquet ~/tables
  grapevine export --parquet ~/tables --force --book ~/academy
  grapevine export --parquet tables --rounds ledgers";

pub(crate) fn run(arguments: &ExportArguments) -> Result<(), CommandError> {
    let folder = &arguments.parquet;
    let tables = |at_hand| tables(at_hand, arguments.names);
    let place = |name: &str| folder.join(format!("{name}.parquet"));
    if !arguments.force {
        for name in ["rounds", "spells", "events", "people"] {
            let place = place(name);
            if place.exists() {
                return Err(CommandError::IsThere { name: place.display().to_string() });
            }
        }
    }
    let at_hand = arguments.from.read()?;
    fs::create_dir_all(folder).map_err(failed(folder))?;
    // Everything is written before anything is put in place.
    let mut written = Vec::new();
    for table in tables(&at_hand) {
        let part = folder.join(format!(".{}.parquet.part", table.name));
        let name = part.display().to_string();
        let bytes = table.write().map_err(|source| CommandError::Table { name, source })?;
        fs::write(&part, bytes).map_err(failed(&part))?;
        written.push((part, place(table.name)));
    }
    for (part, place) in &written {
        fs::rename(part, place).map_err(failed(place))?;
    }
    let rounds = terminal::count(at_hand.rounds.len(), "round");
    let files = "rounds.parquet, spells.parquet, events.parquet and people.parquet";
    terminal::write(&format!("Wrote {rounds} to {}: {files}.\n", folder.display()))
}

fn failed(path: &Path) -> impl Fn(std::io::Error) -> CommandError {
    let name = path.display().to_string();
    move |source| CommandError::Write { name: name.clone(), source }
}
