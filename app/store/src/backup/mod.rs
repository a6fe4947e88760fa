//! One file that holds the whole book: a tar file of the database, the recordings, and last the
//! manifest with the hash of each. It is taken while the book is in use and is read on any machine.

mod restore;
mod write;

pub use restore::restore;
pub use write::backup;

use std::io::{self, Read};
use std::path::PathBuf;

use serde::{Deserialize, Serialize};

use crate::error::StoreError;

/// What the manifest says it is.
const FORMAT: &str = "grapevine backup";
const VERSION: u32 = 1;
const MANIFEST: &str = "manifest.json";

/// Beginning of the names of copies in the making, which opening the book clears.
pub(crate) const SNAPSHOT: &str = "backup-in-progress-";

/// Name of the folder into which a backup is unpacked before it is trusted.
pub(crate) const UNPACKED: &str = "restore-in-progress";

#[derive(Debug, Deserialize, Serialize)]
struct Manifest {
    format: String,
    version: u32,
    members: Vec<Member>,
}

#[derive(Debug, Deserialize, Serialize)]
struct Member {
    name: String,
    bytes: u64,
    blake3: String,
}

/// What a backup holds.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct BackedUp {
    /// How many recordings.
    pub recordings: usize,
    /// Names of recordings whose file was not in the media folder, and so could not be kept.
    pub lost: Vec<String>,
    /// How long the backup is.
    pub bytes: u64,
}

/// Why there is no backup, or nothing was restored. Nothing was put in place then.
#[derive(Debug, thiserror::Error)]
pub enum BackupError {
    /// The file of the backup exists.
    #[error("{}: there is such a file already: name another one", .0.display())]
    Exists(PathBuf),
    /// It was not written by [`backup`], or only in part.
    #[error("{}: this is no whole backup of grapevine ({what}): use another one", file.display())]
    NotABackup {
        /// Which file.
        file: PathBuf,
        /// What is wrong.
        what: String,
    },
    /// A part is not as it was written.
    #[error(
        "{}: {member} in it was altered or damaged: use another backup; nothing was restored",
        file.display()
    )]
    Altered {
        /// Which file.
        file: PathBuf,
        /// Which part of it.
        member: String,
    },
    /// It was written by a later program.
    #[error("{}: it was made by a newer grapevine: update this program", .0.display())]
    Newer(PathBuf),
    /// There is a book where it would go.
    #[error(
        "there is a book in {} already: name an empty folder, so that nothing is written over",
        .0.display()
    )]
    BookThere(PathBuf),
    /// Anything else.
    #[error(transparent)]
    Store(#[from] StoreError),
}

/// Reads on, and hashes what was read.
struct Hashing<R> {
    inner: R,
    hasher: blake3::Hasher,
    read: u64,
}

impl<R> Hashing<R> {
    fn new(inner: R) -> Self {
        Hashing { inner, hasher: blake3::Hasher::new(), read: 0 }
    }

    fn hash(&self) -> String {
        self.hasher.finalize().to_hex().to_string()
    }
}

impl<R: Read> Read for Hashing<R> {
    fn read(&mut self, buffer: &mut [u8]) -> io::Result<usize> {
        let count = self.inner.read(buffer)?;
        self.hasher.update(&buffer[..count]);
        self.read += count as u64;
        Ok(count)
    }
}
