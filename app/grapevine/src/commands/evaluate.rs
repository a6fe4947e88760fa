//! `grapevine evaluate`: how well rounds of known truth are read.

use std::fmt::Write;
use std::fs;
use std::path::{Path, PathBuf};

use academy::{Ledger, ledger_file};
use clap::Args;
use decode::decoder::Decoder;
use decode::evaluation::scores::{Scores, Sureness, calibration_error, score, sureness};
use decode::evaluation::tuning::{self, HeardRound, read_all};
use talk::Lexicon;

use super::error::CommandError;
use crate::folds::{self, Fold};
use crate::rounds_folder::{self, Captions, KnownRound};
use crate::terminal;

/// Reads rounds of known truth and prints how well that went.
///
/// Nothing is judged on what it was learned from: every round is read by a reader trained without
/// the rounds of its speaker, and decoded with settings learned without them.
#[derive(Debug, Args)]
pub(crate) struct EvaluateArguments {
    /// A folder of rounds whose truth is known
    #[arg(value_name = "FOLDER")]
    pub(crate) folder: PathBuf,

    /// The readers trained without some of the rounds: a folder with folds.json
    #[arg(long, value_name = "FOLDER", default_value = "data/parameters/folds")]
    pub(crate) folds: PathBuf,

    /// Also write what was read, as CAPTIONS/NAME.json below this folder
    #[arg(long, value_name = "FOLDER")]
    pub(crate) write: Option<PathBuf>,
}

/// What was read of one round.
struct Read<'a> {
    round: &'a KnownRound,
    scores: Scores,
    sure: Vec<Sureness>,
}

pub(crate) fn run(arguments: &EvaluateArguments) -> Result<(), CommandError> {
    let rounds = rounds_folder::read(&arguments.folder)?;
    let list = folds::list(&arguments.folds)?;
    let mut decoders = folds::decoders(&arguments.folds, &list, &rounds)?;
    let lexicon = Lexicon::builtin();
    for captions in Captions::ALL {
        let read = read_kind(&rounds, &list, &mut decoders, captions, &lexicon, arguments)?;
        terminal::write(&table(captions, &read))?;
    }
    Ok(())
}

/// Reads all rounds that have captions of one kind, fold by fold.
fn read_kind<'a>(
    rounds: &'a [KnownRound],
    list: &[Fold],
    decoders: &mut [Decoder],
    captions: Captions,
    lexicon: &Lexicon,
    arguments: &EvaluateArguments,
) -> Result<Vec<Read<'a>>, CommandError> {
    let mut read = Vec::new();
    for fold in list {
        let heard = folds::hear(rounds, list, decoders, captions, lexicon);
        let (own, others): (Vec<_>, Vec<_>) =
            heard.into_iter().partition(|(name, _)| fold.left_out.iter().any(|out| out == name));
        let others: Vec<HeardRound<'_>> = others.into_iter().map(|(_, round)| round).collect();
        tuning::learn(decoders, &others, lexicon).map_err(CommandError::Model)?;
        let (names, own): (Vec<&str>, Vec<HeardRound<'_>>) = own.into_iter().unzip();
        let ledgers = read_all(decoders, &own, lexicon);
        for ((name, heard), ledger) in names.into_iter().zip(&own).zip(&ledgers) {
            if let Some(folder) = &arguments.write {
                write_ledger(folder, captions, name, heard, ledger)?;
            }
            let Some(round) = rounds.iter().find(|round| round.name == name) else { continue };
            let scores = score(heard.truth, ledger);
            read.push(Read { round, scores, sure: sureness(heard.truth, ledger) });
        }
    }
    Ok(read)
}

fn write_ledger(
    folder: &Path,
    captions: Captions,
    name: &str,
    heard: &HeardRound<'_>,
    ledger: &Ledger,
) -> Result<(), CommandError> {
    let folder = folder.join(captions.name());
    let path = folder.join(format!("{name}.json"));
    let text = ledger_file::write(&heard.truth.round, ledger);
    fs::create_dir_all(&folder)
        .and_then(|()| fs::write(&path, text))
        .map_err(|source| CommandError::Write { name: path.display().to_string(), source })
}

fn table(captions: Captions, read: &[Read<'_>]) -> String {
    let mut text = format!("{}\nround  ", captions.name());
    let mut row = |name: &str, figures: &[f64]| {
        let cells: Vec<String> = figures.iter().map(|figure| format!("{figure:9.3}")).collect();
        let _ = write!(text, "\n{name:6} {}", cells.join(" "));
    };
    for read in read {
        row(&read.round.name, &read.scores.figures());
    }
    let mean = |keep: &dyn Fn(&Read<'_>) -> bool| {
        let kept: Vec<&Read<'_>> = read.iter().filter(|read| keep(read)).collect();
        let scores: Vec<Scores> = kept.iter().map(|read| read.scores).collect();
        let sure: Vec<Sureness> = kept.iter().flat_map(|read| read.sure.clone()).collect();
        (Scores::mean(&scores), calibration_error(&sure))
    };
    let same = |read: &Read<'_>| {
        let [first, second] = read.round.truth.round.athletes();
        first.pronoun == second.pronoun
    };
    let (all, pooled) = mean(&|_| true);
    let (same_pronoun, same_pooled) = mean(&same);
    row("mean", &all.figures());
    row("same", &same_pronoun.figures());
    let names: Vec<String> = Scores::NAMES.iter().map(|name| format!("{name:>9}")).collect();
    let text = text.replacen("round  ", &format!("round  {}", names.join(" ")), 1);
    format!(
        "{text}\n(same: rounds whose athletes have the same pronoun)\ncalibration error over all seconds together: {pooled:.3}, same pronoun {same_pooled:.3}\n\n"
    )
}
