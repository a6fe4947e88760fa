//! What can go wrong with the book, in words that say what to do.

use std::io;
use std::path::{Path, PathBuf};

/// Why the book could not be opened, read or changed.
#[derive(Debug, thiserror::Error)]
pub enum StoreError {
    /// The data folder cannot be made or used.
    #[error("the folder {} cannot be used: {}", folder.display(), said(source))]
    Folder {
        /// Which.
        folder: PathBuf,
        /// Why.
        source: std::io::Error,
    },
    /// There is no book in the folder.
    #[error("there is no book in {}: name its folder with --book", .0.display())]
    NoBook(PathBuf),
    /// Another program has the book open.
    #[error(
        "the book in {} is open in another grapevine: close that one, or use another folder",
        .0.display()
    )]
    InUse(PathBuf),
    /// A later program made the book.
    #[error(
        "the book in {} was made by a newer grapevine: update this program; nothing was changed",
        .0.display()
    )]
    Newer(PathBuf),
    /// The file is not a sound database.
    #[error(
        "the book in {} is damaged ({what}): nothing was changed; restore a backup with \
         `grapevine restore`",
        folder.display()
    )]
    Damaged {
        /// Which folder.
        folder: PathBuf,
        /// What is wrong.
        what: String,
    },
    /// No room, or no permission to write.
    #[error(
        "the change was not kept, since nothing can be written ({0}): make room or allow it, then try again"
    )]
    CannotWrite(String),
    /// Something asked for is not there.
    #[error("there is no such {0} in the book")]
    Missing(&'static str),
    /// A name, date or the like is taken or impossible; nothing was changed.
    #[error("{0}")]
    Refused(String),
    /// The database holds something that this program does not know.
    #[error("the book holds something that cannot be read: {0}")]
    Unreadable(String),
    /// Somebody changed the same thing after the page was made.
    #[error("somebody else changed this in the meantime: look at it as it is now, then try again")]
    OutOfDate,
    /// A file of the data folder could not be read or written.
    #[error("{}: {}", path.display(), said(source))]
    File {
        /// Which.
        path: PathBuf,
        /// Why.
        source: std::io::Error,
    },
    /// Anything else the database says.
    #[error("the book says: {0}")]
    Database(sqlx::Error),
}

/// What the database says, without its number.
pub(crate) fn told(error: &sqlx::Error) -> String {
    match error.as_database_error() {
        Some(error) => error.message().to_owned(),
        None => error.to_string(),
    }
}

/// What the system says, without its number.
fn said(error: &io::Error) -> String {
    if error.kind() == io::ErrorKind::NotFound {
        return "there is no such file; check the name".to_owned();
    }
    let text = error.to_string();
    text.split(" (os error").next().unwrap_or_default().to_lowercase()
}

impl StoreError {
    /// What a failure to read or write a file means.
    pub(crate) fn file(path: &Path) -> impl Fn(io::Error) -> StoreError {
        use io::ErrorKind::{
            FileTooLarge, PermissionDenied, QuotaExceeded, ReadOnlyFilesystem, StorageFull,
        };
        let path = path.to_owned();
        move |source| match source.kind() {
            FileTooLarge | PermissionDenied | QuotaExceeded | ReadOnlyFilesystem | StorageFull => {
                StoreError::CannotWrite(said(&source))
            }
            _ => StoreError::File { path: path.clone(), source },
        }
    }
}

impl From<sqlx::Error> for StoreError {
    fn from(error: sqlx::Error) -> Self {
        if let sqlx::Error::RowNotFound = error {
            return StoreError::Missing("entry");
        }
        // SQLITE_READONLY 8, SQLITE_IOERR 10, SQLITE_FULL 13, SQLITE_CANTOPEN 14, in the low byte
        // (https://www.sqlite.org/rescode.html).
        let code = error.as_database_error().and_then(|error| error.code()?.parse::<u32>().ok());
        match code.map(|code| code & 0xff) {
            Some(8 | 10 | 13 | 14) => StoreError::CannotWrite(told(&error)),
            _ => StoreError::Database(error),
        }
    }
}
