//! `grapevine restore`: a backup put in place.

use super::error::CommandError;
use crate::arguments::RestoreArguments;
use crate::{book_folder, terminal};

pub(crate) fn run(arguments: &RestoreArguments) -> Result<(), CommandError> {
    let folder = book_folder::or_usual(arguments.book.clone())?;
    let recordings =
        book_folder::wait_for(async { Ok(store::restore(&arguments.file, &folder).await?) })?;
    terminal::write(&format!(
        "The book is in {} now, with {}.\n",
        folder.display(),
        terminal::count(recordings, "recording")
    ))
}
