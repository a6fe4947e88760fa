//! Everything that can end a command early, in words for people: what was wrong, where, and what
//! to do. The only place that words errors and chooses exit statuses.

use std::io;
use std::process::ExitCode;

use academy::RoundError;
use academy::answer_file::AnswerFileError;
use decode::{ReaderError, UnderstandError};
use store::{BackupError, StoreError};
use talk::ReadError;

/// Why a command ended early.
#[derive(Debug, thiserror::Error)]
pub(crate) enum CommandError {
    #[error("{name}: cannot be read: {}", reason(source))]
    Read { name: String, source: io::Error },
    #[error("{name}: cannot be written: {}", reason(source))]
    Write { name: String, source: io::Error },
    #[error("{name}: {source}")]
    Talk { name: String, source: ReadError },
    #[error("{name}: {source}; correct the file, or move it away to start without answers")]
    Answers { name: String, source: AnswerFileError },
    #[error("{name}: there is no such file of answers; `grapevine ask` makes one")]
    NoAnswers { name: String },
    #[error("{name}: there are no rounds in it (NAME.truth.json with NAME.say.tsv)")]
    NoRounds { name: String },
    #[error("{name}: {source}")]
    Truth { name: String, source: decode::evaluation::truth::TruthError },
    #[error("{name}: {source}")]
    Folds { name: String, source: serde_json::Error },
    #[error("{name}: {source}")]
    Reader { name: String, source: decode::reader::parameters_file::ParametersError },
    #[error("{0}")]
    Settings(decode::parameters::SettingsError),
    #[error("the parameters cannot be used: {0}")]
    Model(decode::semi_markov::ModelError),
    #[error("the program's own parameters do not fit it: {0}; build it anew")]
    BuiltIn(#[from] ReaderError),
    #[error("{0}; correct or move away the file of answers")]
    Understand(#[from] UnderstandError),
    #[error("{name}: nothing is said in it; is it the right file?")]
    NothingSaid { name: String },
    #[error(
        "{name}: all of the talk ({lines} lines) comes after the end of the round; is --length right?"
    )]
    AllAfterTheEnd { name: String, lines: usize },
    #[error("{name}: nothing in the talk is about a round; is it the right file?")]
    NothingFound { name: String },
    #[error("{0}")]
    Round(#[from] RoundError),
    #[error("`ask` needs standard input for your answers: give the talk as a file")]
    AskFromStandardInput,
    #[error("there is no command {0}: see grapevine --help")]
    NoCommand(String),
    #[error("there are no rounds to work with; add some, or name another folder")]
    NoLedgers,
    #[error("nothing can be said from these rounds; ask for other ones, or about something else")]
    NoFigures,
    #[error("{name} has no rounds to tell of among these; ask for other ones")]
    NothingToReport { name: String },
    #[error("say which round with --round: its number in the book, or the name of its file")]
    NeedsRound,
    #[error("say with --with which file to compare the round with")]
    NeedsSecondReading,
    #[error("say with --technique what was taught, and with --since when")]
    NeedsForTaught,
    #[error("no talk with {name} is in the book: say from which day on with --since")]
    NoDayToCompare { name: String },
    #[error("there is no rule book {name}: ibjjf and adcc are there")]
    NoRules { name: String },
    #[error("nobody called {name} is in a round; check the name")]
    NobodyCalled { name: String },
    #[error("there is no round {called}, or it has not been read")]
    NoRoundCalled { called: String },
    #[error("{name}: {source}; `grapevine read --out json` writes such files")]
    Ledger { name: String, source: academy::ledger_file::LedgerFileError },
    #[error(
        "{name}: the name must begin with the day of the round, as 2026-11-02-petra-idris.json"
    )]
    NoDay { name: String },
    #[error("{name}: line {line}: {what}")]
    People { name: String, line: u64, what: String },
    #[error("{name} is there already; name another folder, or replace it with --force")]
    IsThere { name: String },
    #[error("{name}: cannot be made: {source}")]
    Table { name: String, source: parquet::errors::ParquetError },
    #[error("neither HOME nor XDG_DATA_HOME is set: say where the book is with --book")]
    NoUsualFolder,
    #[error("the program cannot start its threads: {}", reason(source))]
    NoRuntime { source: io::Error },
    #[error("{0}")]
    Book(#[from] StoreError),
    #[error("{0}")]
    Backup(#[from] BackupError),
    #[error(
        "{name} was written, but without {}, not found in the media folder; see grapevine check",
        lost.join(", ")
    )]
    BackupLacks { name: String, lost: Vec<String> },
    #[error("the book is not whole: put the files named back, or restore a backup")]
    NotWhole,
    #[error("{0}")]
    Serve(#[from] server::ServeError),
    #[error("{0}")]
    Demo(#[from] server::DemoError),
    /// Nobody reads on; not a failure.
    #[error("the reader closed the pipe")]
    PipeClosed,
}

impl CommandError {
    /// Tells the person, and gives the exit status: 0 done, 1 nothing found or refused, 2 failed.
    pub(crate) fn report(&self) -> ExitCode {
        let status = match self {
            CommandError::PipeClosed => return ExitCode::SUCCESS,
            CommandError::NothingSaid { .. }
            | CommandError::AllAfterTheEnd { .. }
            | CommandError::NothingFound { .. }
            | CommandError::Book(StoreError::NoBook(_) | StoreError::InUse(_))
            | CommandError::BackupLacks { .. }
            | CommandError::NotWhole
            | CommandError::NoLedgers
            | CommandError::NoFigures
            | CommandError::NothingToReport { .. }
            | CommandError::NoDayToCompare { .. }
            | CommandError::NobodyCalled { .. }
            | CommandError::NoRoundCalled { .. }
            | CommandError::IsThere { .. }
            | CommandError::AskFromStandardInput => 1,
            CommandError::Backup(error) if !matches!(error, BackupError::Store(_)) => 1,
            _ => 2,
        };
        eprintln!("grapevine: {self}");
        ExitCode::from(status)
    }
}

/// What the system says, without its number.
fn reason(error: &io::Error) -> String {
    match error.kind() {
        io::ErrorKind::NotFound => "there is no such file; check the name".to_owned(),
        io::ErrorKind::PermissionDenied => "this needs a permission you do not have".to_owned(),
        io::ErrorKind::IsADirectory => "it is a folder; name a file".to_owned(),
        _ => {
            let text = error.to_string();
            text.split(" (os error").next().unwrap_or_default().to_owned()
        }
    }
}
