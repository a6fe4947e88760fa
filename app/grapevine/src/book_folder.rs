//! Where the academy's book lies if nothing else is said, and waiting for what is done there.

use std::env;
use std::future::Future;
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

/// Runs a short job on the book to its end.
pub(crate) fn wait_for<T>(
    job: impl Future<Output = Result<T, CommandError>>,
) -> Result<T, CommandError> {
    let runtime = tokio::runtime::Builder::new_current_thread().enable_all().build();
    runtime.map_err(|source| CommandError::NoRuntime { source })?.block_on(job)
}
