//! `grapevine completions`: what a shell needs to complete the commands.

use clap::CommandFactory;

use super::error::CommandError;
use crate::arguments::{Arguments, CompletionsArguments};
use crate::terminal;

pub(crate) fn run(arguments: &CompletionsArguments) -> Result<(), CommandError> {
    let mut script = Vec::new();
    clap_complete::generate(arguments.shell, &mut Arguments::command(), "grapevine", &mut script);
    terminal::write(&String::from_utf8_lossy(&script))
}
