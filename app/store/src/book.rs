//! Opening the book: one folder, one program at a time.

use std::fs::{self, File};
use std::path::{Path, PathBuf};
use std::time::Duration;

use fs4::fs_std::FileExt;
use sqlx::SqlitePool;
use sqlx::migrate::{MigrateError, Migrator};
use sqlx::sqlite::{SqliteConnectOptions, SqliteJournalMode, SqlitePoolOptions, SqliteSynchronous};

use crate::error::StoreError;

pub(crate) static MIGRATIONS: Migrator = sqlx::migrate!();

/// Name of the database in the data folder.
pub const DATABASE: &str = "book.sqlite";

/// Name of the folder of media files in the data folder.
pub const MEDIA: &str = "media";

/// Name of the file whose lock says that a program has the book open.
const LOCK: &str = "in-use.lock";

/// How long a reader or the writer waits for its turn before giving up. Writes take milliseconds;
/// a machine under heavy load must not turn into an error.
const PATIENCE: Duration = Duration::from_secs(60);

/// An open book. Cheap to clone; all clones are one book.
#[derive(Clone)]
pub struct Book {
    /// Many readers.
    pub(crate) reading: SqlitePool,
    /// One writer, so that writes queue in the program and never find the database busy.
    pub(crate) writing: SqlitePool,
    folder: PathBuf,
    _lock: std::sync::Arc<File>,
}

impl Book {
    /// Opens the book in a folder and makes it where there is none. Holds a lock on it until the
    /// last clone is dropped or the process ends, however it ends.
    ///
    /// # Errors
    /// The folder cannot be used, another program has it open, the database is damaged or was made
    /// by a newer program. Nothing is changed in these cases.
    pub async fn open(folder: &Path) -> Result<Self, StoreError> {
        let unusable = |source| StoreError::Folder { folder: folder.to_owned(), source };
        fs::create_dir_all(folder.join(MEDIA)).map_err(unusable)?;
        let lock = File::options()
            .create(true)
            .truncate(false)
            .write(true)
            .open(folder.join(LOCK))
            .map_err(unusable)?;
        if !lock.try_lock_exclusive().map_err(unusable)? {
            return Err(StoreError::InUse(folder.to_owned()));
        }
        let options = SqliteConnectOptions::new()
            .filename(folder.join(DATABASE))
            .create_if_missing(true)
            .foreign_keys(true)
            .journal_mode(SqliteJournalMode::Wal)
            // What was acknowledged survives a loss of power too.
            .synchronous(SqliteSynchronous::Full)
            .busy_timeout(PATIENCE);
        let pool = |most: u32| {
            SqlitePoolOptions::new()
                .max_connections(most)
                .min_connections(1)
                .acquire_timeout(PATIENCE)
                .idle_timeout(None)
                .max_lifetime(None)
        };
        let damaged = |error: sqlx::Error| match StoreError::from(error) {
            StoreError::Database(error) => {
                StoreError::Damaged { folder: folder.to_owned(), what: error.to_string() }
            }
            other => other,
        };
        let writing = pool(1).connect_with(options.clone()).await.map_err(damaged)?;
        MIGRATIONS.run(&writing).await.map_err(|error| match error {
            MigrateError::VersionMissing(_) | MigrateError::VersionTooNew(..) => {
                StoreError::Newer(folder.to_owned())
            }
            MigrateError::Execute(error) => damaged(error),
            other => StoreError::Damaged { folder: folder.to_owned(), what: other.to_string() },
        })?;
        let reading = pool(8).connect_with(options.read_only(true)).await.map_err(damaged)?;
        Ok(Book { reading, writing, folder: folder.to_owned(), _lock: lock.into() })
    }

    /// The data folder.
    #[must_use]
    pub fn folder(&self) -> &Path {
        &self.folder
    }

    /// Closes the database in order, so that the folder holds one whole file. Not needed for
    /// safety.
    pub async fn close(self) {
        self.reading.close().await;
        self.writing.close().await;
    }
}
