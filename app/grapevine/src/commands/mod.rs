//! The commands, one file each: take in, call the engine, give out.

mod ask;
mod backup;
mod captions;
mod check;
mod completions;
pub(crate) mod error;
pub(crate) mod evaluate;
pub(crate) mod export;
pub(crate) mod figures;
pub(crate) mod learn;
mod man;
pub(crate) mod prepare;
mod read;
pub(crate) mod report;
mod restore;
mod serve;

use crate::arguments::Command;
use error::CommandError;

/// Runs a command.
pub(crate) fn run(command: Command) -> Result<(), CommandError> {
    match command {
        Command::Read(arguments) => read::run(&arguments),
        Command::Captions(arguments) => captions::run(&arguments),
        Command::Ask(arguments) => ask::run(&arguments),
        Command::Serve(arguments) => serve::run(&arguments),
        Command::Backup(arguments) => backup::run(&arguments),
        Command::Restore(arguments) => restore::run(&arguments),
        Command::Check(arguments) => check::run(&arguments),
        Command::Figures(arguments) => figures::run(&arguments),
        Command::Report(arguments) => report::run(&arguments),
        Command::Export(arguments) => export::run(&arguments),
        Command::Evaluate(arguments) => evaluate::run(&arguments),
        Command::Learn(arguments) => learn::run(&arguments),
        Command::Prepare(arguments) => prepare::run(&arguments),
        Command::Completions(arguments) => completions::run(&arguments),
        Command::Man(arguments) => man::run(&arguments),
    }
}
