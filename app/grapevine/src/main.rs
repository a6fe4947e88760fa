//! `grapevine`: from a talked-over sparring round to a ledger of what happened, on the command
//! line, with files only.
//!
//! This is an edge: it reads files and arguments, makes a few calls of the engine, and writes.

mod answers_beside;
mod arguments;
mod book_folder;
mod commands;
mod folds;
mod parquet_tables;
mod prompt;
mod round_arguments;
mod rounds_at_hand;
mod rounds_folder;
mod talk_file;
mod terminal;

use std::process::ExitCode;

use clap::Parser;

fn main() -> ExitCode {
    let arguments = arguments::Arguments::parse();
    match commands::run(arguments.command) {
        Ok(()) => ExitCode::SUCCESS,
        Err(error) => error.report(),
    }
}
