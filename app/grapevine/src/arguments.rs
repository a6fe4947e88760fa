//! What can be typed. The doc comments here are the help.

use std::path::PathBuf;

use academy::Person;
use clap::{Args, Parser, Subcommand, ValueEnum};

use crate::commands::evaluate::EvaluateArguments;
use crate::commands::export::ExportArguments;
use crate::commands::figures::FiguresArguments;
use crate::commands::learn::LearnArguments;
use crate::commands::prepare::PrepareArguments;
use crate::commands::report::ReportArguments;
use crate::round_arguments::{RoundArguments, person};

/// Turns the coach's talk over a sparring round into a ledger of what happened.
///
/// Give it the captions of a recording in which somebody talks over a round: WebVTT, SubRip, text
/// with times, or a speech recogniser's JSON. It finds out who held which position when, what was
/// tried and what worked, says how sure it is, and asks about what it could not make out.
#[derive(Debug, Parser)]
#[command(name = "grapevine", version, after_help = EXAMPLES, after_long_help = MORE,
          arg_required_else_help = true)]
pub(crate) struct Arguments {
    #[command(subcommand)]
    pub(crate) command: Command,
}

const EXAMPLES: &str = "\
Examples:
  grapevine read round.vtt --between Petra:she Idris:he
  grapevine read round.vtt --between Petra Idris --length 5:00 --out html > round.html
  grapevine ask round.vtt --between Petra Idris
  grapevine captions round.vtt --between Petra Idris > better.vtt
  grapevine serve
  grapevine figures Petra
  grapevine backup monday.grapevine

Exit status: 0 done, 1 nothing found or refused, 2 failed or wrongly called.";

/// What the long help adds.
const MORE: &str = "\
Examples:
  grapevine read round.vtt --between Petra:she Idris:he
  grapevine read round.vtt --between Petra Idris --length 5:00 --out html > round.html
  grapevine ask round.vtt --between Petra Idris
  grapevine captions round.vtt --between Petra Idris > better.vtt
  grapevine serve
  grapevine figures Petra
  grapevine backup monday.grapevine

For those who work on grapevine:
  evaluate     Reads rounds of known truth and prints how well that went
  learn        Learns from rounds of known truth how the decoder uses what the reader says
  prepare      Writes rounds, word by word, as the training of the reader takes them

Exit status: 0 done, 1 nothing found or refused, 2 failed or wrongly called.";

#[derive(Debug, Subcommand)]
pub(crate) enum Command {
    Read(ReadArguments),
    Ask(AskArguments),
    Captions(CaptionsArguments),
    Serve(ServeArguments),
    Backup(BackupArguments),
    Restore(RestoreArguments),
    Check(CheckArguments),
    Figures(FiguresArguments),
    Report(ReportArguments),
    Export(ExportArguments),
    Completions(CompletionsArguments),
    Man(ManArguments),
    // Below, those for people who work on grapevine: the long help names them.
    #[command(hide = true)]
    Evaluate(EvaluateArguments),
    #[command(hide = true)]
    Learn(LearnArguments),
    #[command(hide = true)]
    Prepare(PrepareArguments),
}

/// Reads the talk and shows what happened in the round.
///
/// Answers that `grapevine ask` kept beside the talk are used.
#[derive(Debug, Args)]
#[command(after_help = READ_EXAMPLES)]
pub(crate) struct ReadArguments {
    #[command(flatten)]
    pub(crate) round: RoundArguments,

    /// What to write
    #[arg(long, value_enum, default_value_t = ReadOutput::Text)]
    pub(crate) out: ReadOutput,

    /// Answers to use [default: TALK.answers.json, if there is one]
    #[arg(long, value_name = "FILE")]
    pub(crate) answers: Option<PathBuf>,
}

const READ_EXAMPLES: &str = "\
Examples:
  grapevine read round.vtt --between Petra:she Idris:he
  grapevine read round.vtt --between Wren:they Callum:he --length 6:00 --kind hard
  grapevine read round.vtt --between Petra Idris --out svg > tide.svg
  grapevine read round.vtt --between Petra Idris --out json | python3 -m json.tool
  zcat round.srt.gz | grapevine read - --between Petra Idris";

#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub(crate) enum ReadOutput {
    /// The tide in characters, what happened, what is open
    Text,
    /// The ledger as a file for programs (docs/ledger-format.md)
    Json,
    /// The ledger as a table for a spreadsheet
    Csv,
    /// The tide as a picture
    Svg,
    /// One page with the tide, the talk and what happened; it loads nothing from elsewhere
    Html,
}

/// Writes the captions again with the trade's words and the names put right.
///
/// Timings are kept. Only words that were surely misheard are changed.
#[derive(Debug, Args)]
#[command(after_help = CAPTIONS_EXAMPLES)]
pub(crate) struct CaptionsArguments {
    /// The captions of the talk: a file, or - for standard input
    #[arg(value_name = "TALK")]
    pub(crate) talk: PathBuf,

    /// The two athletes, whose names are then put right too
    #[arg(long, num_args = 2, value_names = ["NAME[:PRONOUN]", "NAME[:PRONOUN]"],
          value_parser = person)]
    pub(crate) between: Vec<Person>,

    /// The kind of captions to write [default: the kind that was read]
    #[arg(long, value_enum)]
    pub(crate) out: Option<CaptionsOutput>,
}

const CAPTIONS_EXAMPLES: &str = "\
Examples:
  grapevine captions round.vtt --between Petra Idris > better.vtt
  grapevine captions round.vtt --between Petra Idris --out subrip > better.srt";

#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub(crate) enum CaptionsOutput {
    /// WebVTT, with the times of the words that have their own
    Webvtt,
    /// SubRip
    Subrip,
    /// Text with times
    Text,
}

/// Asks, one after another, the questions whose answers would settle most.
///
/// Each answer is used at once and kept in TALK.answers.json beside the talk. Answer with the
/// number of a choice; e: it was something else, which you then name; n: nothing changed around
/// here; ?: you do not know; b: back, the last answer is taken away; q: stop. It ends by itself
/// when no answer is expected to put right two seconds of the round or more.
#[derive(Debug, Args)]
#[command(after_help = ASK_EXAMPLES)]
pub(crate) struct AskArguments {
    #[command(flatten)]
    pub(crate) round: RoundArguments,

    /// Where to keep the answers [default: TALK.answers.json]
    #[arg(long, value_name = "FILE")]
    pub(crate) answers: Option<PathBuf>,

    /// Ask on, however little the answers would settle
    #[arg(long)]
    pub(crate) all: bool,
}

const ASK_EXAMPLES: &str = "\
Examples:
  grapevine ask round.vtt --between Petra:she Idris:he
  grapevine ask round.vtt --between Petra:she Idris:he --all
  grapevine ask round.vtt --between Petra Idris --length 5:00 --answers monday.json";

/// Prints the completions of a shell.
#[derive(Debug, Args)]
#[command(after_help = COMPLETIONS_EXAMPLES)]
pub(crate) struct CompletionsArguments {
    /// The shell
    #[arg(value_enum)]
    pub(crate) shell: clap_complete::Shell,
}

const COMPLETIONS_EXAMPLES: &str = "\
Example:
  grapevine completions bash > ~/.local/share/bash-completion/completions/grapevine";

/// Prints the manual page, of the program or of one command.
#[derive(Debug, Args)]
#[command(after_help = MAN_EXAMPLES)]
pub(crate) struct ManArguments {
    /// The command [default: the program]
    #[arg(value_name = "COMMAND")]
    pub(crate) of: Option<String>,
}

const MAN_EXAMPLES: &str = "\
Examples:
  grapevine man > grapevine.1
  grapevine man read > grapevine-read.1";

/// Serves the academy's book as pages for a browser
///
/// The first start shows an invented academy; a click in Settings empties it. Only this machine
/// can reach the pages, unless --lan is given: then everybody on the local network can, after a
/// login.
#[derive(Debug, Args)]
#[command(after_help = SERVE_EXAMPLES)]
pub(crate) struct ServeArguments {
    /// The folder of the book [default: grapevine in your folder for data]
    #[arg(long, value_name = "FOLDER")]
    pub(crate) book: Option<PathBuf>,

    /// The port to listen on; 0 takes any free one
    #[arg(long, value_name = "PORT", default_value_t = 7100)]
    pub(crate) port: u16,

    /// Let phones and laptops on the local network in, with a login
    #[arg(long)]
    pub(crate) lan: bool,

    /// Don't open a browser
    #[arg(long)]
    pub(crate) no_browser: bool,
}

const SERVE_EXAMPLES: &str = "\
Examples:
  grapevine serve
  grapevine serve --book ~/academy --port 7200";

/// Writes the whole book into one file.
///
/// People, rounds, recordings and the history of changes go into it. `grapevine serve` may be
/// running meanwhile. The file appears when it is whole; keep it on another disk.
#[derive(Debug, Args)]
#[command(after_help = BACKUP_EXAMPLES)]
pub(crate) struct BackupArguments {
    /// The file to write; none of this name may be there
    #[arg(value_name = "FILE")]
    pub(crate) file: PathBuf,

    /// The folder of the book [default: grapevine in your folder for data]
    #[arg(long, value_name = "FOLDER")]
    pub(crate) book: Option<PathBuf>,
}

const BACKUP_EXAMPLES: &str = "\
Examples:
  grapevine backup /media/stick/monday.grapevine
  grapevine backup monday.grapevine --book ~/academy";

/// Puts a backup in place, on this machine or another.
///
/// Every part of it is checked before anything is put in place, and a book that is there is never
/// written over: to go back to a backup, move the folder of the book away first.
#[derive(Debug, Args)]
#[command(after_help = RESTORE_EXAMPLES)]
pub(crate) struct RestoreArguments {
    /// A file that `grapevine backup` wrote
    #[arg(value_name = "FILE")]
    pub(crate) file: PathBuf,

    /// The folder for the book [default: grapevine in your folder for data]
    #[arg(long, value_name = "FOLDER")]
    pub(crate) book: Option<PathBuf>,
}

const RESTORE_EXAMPLES: &str = "\
Examples:
  grapevine restore /media/stick/monday.grapevine
  grapevine restore monday.grapevine --book ~/academy-of-monday";

/// Checks that the book is whole: every row and every recording.
///
/// Changes nothing. It reads all recordings once, so it can take a while.
#[derive(Debug, Args)]
#[command(after_help = CHECK_EXAMPLES)]
pub(crate) struct CheckArguments {
    /// The folder of the book [default: grapevine in your folder for data]
    #[arg(long, value_name = "FOLDER")]
    pub(crate) book: Option<PathBuf>,
}

const CHECK_EXAMPLES: &str = "\
Examples:
  grapevine check
  grapevine check --book ~/academy";

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_definition_holds_together() {
        <Arguments as clap::CommandFactory>::command().debug_assert();
    }
}
