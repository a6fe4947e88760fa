//! `grapevine backup`: the whole book in one file.

use store::Book;

use super::error::CommandError;
use crate::arguments::BackupArguments;
use crate::{book_folder, terminal};

pub(crate) fn run(arguments: &BackupArguments) -> Result<(), CommandError> {
    let folder = book_folder::or_usual(arguments.book.clone())?;
    let done = book_folder::wait_for(async {
        let book = Book::open_to_read(&folder).await?;
        let done = store::backup(&book, &arguments.file).await?;
        book.close().await;
        Ok(done)
    })?;
    let name = arguments.file.display().to_string();
    if !done.lost.is_empty() {
        return Err(CommandError::BackupLacks { name, lost: done.lost });
    }
    // Rounded up: an empty book is not "0 MB".
    let megabytes = done.bytes.div_ceil(1_000_000);
    let recordings = terminal::count(done.recordings, "recording");
    terminal::write(&format!("Wrote {name}: the book with {recordings}, {megabytes} MB.\n"))
}
