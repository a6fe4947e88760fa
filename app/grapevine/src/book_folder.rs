//! Where the academy's book lies if nothing else is said.

use std::env;
use std::path::PathBuf;

use crate::commands::error::CommandError;

/// The folder asked for, or the usual place for a person's data (the XDG Base Directory
/// Specification's `XDG_DATA_HOME`, else `~/.local/share`).
pub(crate) fn or_usual(asked: Option<PathBuf>) -> Result<PathBuf, CommandError> {
    if let Some(folder) = asked {
        return Ok(folder);
    }
    let absolute =
        |name: &str| env::var_os(name).map(PathBuf::from).filter(|path| path.is_absolute());
    absolute("XDG_DATA_HOME")
        .or_else(|| absolute("HOME").map(|home| home.join(".local/share")))
        .map(|data| data.join("grapevine"))
        .ok_or(CommandError::NoUsualFolder)
}
