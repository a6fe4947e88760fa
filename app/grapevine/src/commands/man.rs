//! `grapevine man`: the manual pages, made from the same words as the help.

use clap::CommandFactory;
use clap_mangen::Man;

use super::error::CommandError;
use crate::arguments::{Arguments, ManArguments};
use crate::terminal;

pub(crate) fn run(arguments: &ManArguments) -> Result<(), CommandError> {
    let program = Arguments::command();
    let command = match &arguments.of {
        None => program,
        Some(name) => {
            let found = program.get_subcommands().find(|command| command.get_name() == name);
            let found = found.ok_or_else(|| CommandError::NoCommand(name.clone()))?;
            found.clone().name(format!("grapevine-{name}")).bin_name(format!("grapevine {name}"))
        }
    };
    let mut page = Vec::new();
    Man::new(command)
        .render(&mut page)
        .map_err(|source| CommandError::Write { name: "the page".to_owned(), source })?;
    terminal::write(&String::from_utf8_lossy(&page))
}
