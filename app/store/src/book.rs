//! Opening the book: one folder, one program at a time.

use std::fs::{self, File};
use std::io;
use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::time::{Duration, SystemTime, UNIX_EPOCH};

use fs4::fs_std::FileExt;
use sqlx::SqlitePool;
use sqlx::migrate::{MigrateError, Migrator};
use sqlx::sqlite::{SqliteConnectOptions, SqliteJournalMode, SqlitePoolOptions, SqliteSynchronous};

use crate::backup::SNAPSHOT;
use crate::error::StoreError;
use crate::existing::{self, Existing};

pub(crate) static MIGRATIONS: Migrator = sqlx::migrate!();

/// Name of the database in the data folder.
pub const DATABASE: &str = "book.sqlite";

/// Name of the folder of media files in the data folder.
pub const MEDIA: &str = "media";

/// Name of the file whose lock says that a program has the book open.
pub(crate) const LOCK: &str = "in-use.lock";

/// How long a reader or the writer waits for its turn before giving up. Writes take milliseconds;
/// a machine under heavy load must not turn into an error.
pub(crate) const PATIENCE: Duration = Duration::from_secs(60);

/// An open book. Cheap to clone; all clones are one book.
#[derive(Clone)]
pub struct Book {
    /// Many readers.
    pub(crate) reading: SqlitePool,
    /// One writer, so that writes queue in the program and never find the database busy.
    pub(crate) writing: SqlitePool,
    folder: PathBuf,
    _lock: Option<Arc<Lock>>,
}

impl Book {
    /// Opens the book in a folder and makes it where there is none. Holds a lock on it until the
    /// last clone is dropped or the process ends, however it ends. A book of an older program is
    /// copied beside itself before it is brought up to date.
    ///
    /// # Errors
    /// The folder cannot be used, another program has it open, the database is damaged or was made
    /// by a newer program. Nothing is changed in these cases.
    pub async fn open(folder: &Path) -> Result<Self, StoreError> {
        Self::open_with(folder, &MIGRATIONS).await
    }

    /// Opens the book in a folder to read it only, also while another program has it open: for
    /// backups and checks.
    ///
    /// # Errors
    /// As [`Book::open`], or [`StoreError::NoBook`].
    pub async fn open_to_read(folder: &Path) -> Result<Self, StoreError> {
        match existing::look(folder, &MIGRATIONS).await? {
            Existing::Nothing => return Err(StoreError::NoBook(folder.to_owned())),
            Existing::Older => return Self::open(folder).await,
            Existing::Current => {}
        }
        // The way in which the file is written stays as it is: a restored one was never opened.
        let options = SqliteConnectOptions::new()
            .filename(folder.join(DATABASE))
            .read_only(true)
            .busy_timeout(PATIENCE);
        let reading = pool(2).connect_with(options).await.map_err(existing::damaged(folder))?;
        Ok(Book { writing: reading.clone(), reading, folder: folder.to_owned(), _lock: None })
    }

    pub(crate) async fn open_with(folder: &Path, migrator: &Migrator) -> Result<Self, StoreError> {
        let lock = lock(folder)?;
        let damaged = existing::damaged(folder);
        if existing::look(folder, migrator).await? == Existing::Older {
            existing::copy_before(folder, migrator).await?;
        }
        let options = options(folder);
        let writing = pool(1).connect_with(options.clone()).await.map_err(&damaged)?;
        migrator.run(&writing).await.map_err(|error| match error {
            MigrateError::VersionMissing(_) | MigrateError::VersionTooNew(..) => {
                StoreError::Newer(folder.to_owned())
            }
            MigrateError::Execute(error) | MigrateError::ExecuteMigration(error, _) => {
                damaged(error)
            }
            other => StoreError::Damaged { folder: folder.to_owned(), what: other.to_string() },
        })?;
        let reading = pool(8).connect_with(options.read_only(true)).await.map_err(&damaged)?;
        let book =
            Book { reading, writing, folder: folder.to_owned(), _lock: Some(Arc::new(lock)) };
        book.clear_uploads(now()).await?;
        clear_snapshots(folder);
        Ok(book)
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

/// The lock of a folder, given back when this is dropped.
pub(crate) struct Lock(File);

impl Drop for Lock {
    fn drop(&mut self) {
        // Closing the file would not do: a process that is being started shares it for a moment.
        let _ = FileExt::unlock(&self.0);
    }
}

/// Makes the folder where it is missing, and takes its lock.
pub(crate) fn lock(folder: &Path) -> Result<Lock, StoreError> {
    let unusable = |source| StoreError::Folder { folder: folder.to_owned(), source };
    make_folder(folder).map_err(unusable)?;
    let lock = File::options()
        .create(true)
        .truncate(false)
        .write(true)
        .open(folder.join(LOCK))
        .map_err(unusable)?;
    if !lock.try_lock_exclusive().map_err(unusable)? {
        return Err(StoreError::InUse(folder.to_owned()));
    }
    Ok(Lock(lock))
}

/// Makes the data folder with the one for media in it, where they are missing. What people of the
/// academy told is for nobody else of this machine, as far as its system can keep them out.
pub(crate) fn make_folder(folder: &Path) -> io::Result<()> {
    let mut builder = fs::DirBuilder::new();
    builder.recursive(true);
    #[cfg(unix)]
    std::os::unix::fs::DirBuilderExt::mode(&mut builder, 0o700);
    builder.create(folder.join(MEDIA))
}

fn options(folder: &Path) -> SqliteConnectOptions {
    SqliteConnectOptions::new()
        .filename(folder.join(DATABASE))
        .create_if_missing(true)
        .foreign_keys(true)
        .journal_mode(SqliteJournalMode::Wal)
        // What was acknowledged survives a loss of power too.
        .synchronous(SqliteSynchronous::Full)
        .busy_timeout(PATIENCE)
}

fn pool(most: u32) -> SqlitePoolOptions {
    SqlitePoolOptions::new()
        .max_connections(most)
        .min_connections(1)
        .acquire_timeout(PATIENCE)
        .idle_timeout(None)
        .max_lifetime(None)
}

/// Removes copies that a backup left when it was killed. Those of today may still be in use.
fn clear_snapshots(folder: &Path) {
    let Ok(entries) = fs::read_dir(folder) else { return };
    for entry in entries.flatten() {
        let left = entry.file_name().to_str().is_some_and(|name| name.starts_with(SNAPSHOT));
        let age = entry.metadata().and_then(|about| about.modified()).map(|made| made.elapsed());
        if left && matches!(age, Ok(Ok(age)) if age > A_DAY) {
            // It is only in the way.
            let _ = fs::remove_file(entry.path());
        }
    }
}

const A_DAY: Duration = Duration::from_secs(24 * 60 * 60);

/// Seconds since 1970.
fn now() -> i64 {
    let since = SystemTime::now().duration_since(UNIX_EPOCH).unwrap_or_default();
    i64::try_from(since.as_secs()).unwrap_or(i64::MAX)
}
