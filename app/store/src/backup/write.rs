//! Writing a backup.

use std::fs::{self, File};
use std::io::{self, BufWriter, Read, Write};
use std::path::{Path, PathBuf};
use std::sync::atomic::{AtomicU64, Ordering};

use sqlx::sqlite::{SqliteConnectOptions, SqliteJournalMode};
use sqlx::{ConnectOptions as _, Connection as _};

use super::{
    BackedUp, BackupError, FORMAT, Hashing, MANIFEST, Manifest, Member, SNAPSHOT, VERSION,
};
use crate::book::{Book, DATABASE, MEDIA};
use crate::error::StoreError;
use crate::existing;
use crate::files::{away, remove, settle_folder};
use crate::media::is_hash;

/// Writes a backup of the book into a new file, while the book may be in use. It appears under
/// its name when it is whole. Logins of browsers, invitations and unfinished uploads are not part
/// of it.
///
/// # Errors
/// [`BackupError::Exists`], or what the file system and the database say.
pub async fn backup(book: &Book, file: &Path) -> Result<BackedUp, BackupError> {
    if file.exists() {
        return Err(BackupError::Exists(file.to_owned()));
    }
    let snapshot = snapshot(book).await?;
    let (folder, file, copy) = (book.folder().to_owned(), file.to_owned(), snapshot.clone());
    // Recordings never change and never go, so those of the snapshot are still there.
    let recordings = recordings(&snapshot).await;
    let written = match recordings {
        Ok(recordings) => away(move || write(&folder, &copy, &recordings, &file)).await,
        Err(error) => Err(error.into()),
    };
    remove(&snapshot)?;
    written
}

/// A copy of the database as it is now, without what is of no use elsewhere.
async fn snapshot(book: &Book) -> Result<PathBuf, StoreError> {
    static NUMBER: AtomicU64 = AtomicU64::new(0);
    let number = NUMBER.fetch_add(1, Ordering::Relaxed);
    let name = format!("{SNAPSHOT}{}-{number}.sqlite", std::process::id());
    let place = book.folder().join(name);
    let made = async {
        existing::copy_into(&mut *book.reading.acquire().await?, &place).await?;
        let mut copy = plain(&place).pragma("secure_delete", "on").connect().await?;
        for sql in ["DELETE FROM login_session", "DELETE FROM invitation", "DELETE FROM upload"] {
            sqlx::query(sql).execute(&mut copy).await?;
        }
        Ok(copy.close().await?)
    };
    match made.await {
        Ok(()) => Ok(place),
        Err(error) => {
            remove(&place)?;
            Err(error)
        }
    }
}

/// A database that is one file.
fn plain(database: &Path) -> SqliteConnectOptions {
    SqliteConnectOptions::new().filename(database).journal_mode(SqliteJournalMode::Delete)
}

/// Hash and name of each recording.
async fn recordings(snapshot: &Path) -> Result<Vec<(String, String)>, StoreError> {
    let mut copy = plain(snapshot).connect().await?;
    let found =
        sqlx::query_as("SELECT hash, name FROM media ORDER BY hash").fetch_all(&mut copy).await?;
    copy.close().await?;
    Ok(found)
}

fn write(
    folder: &Path,
    snapshot: &Path,
    recordings: &[(String, String)],
    file: &Path,
) -> Result<BackedUp, BackupError> {
    let mut part = file.as_os_str().to_owned();
    part.push(".part");
    let part = PathBuf::from(part);
    let failed = StoreError::file(file);
    let written = (|| {
        let out = File::create(&part).map_err(&failed)?;
        let mut archive = Archive { tar: tar::Builder::new(BufWriter::new(out)), members: vec![] };
        let mut done = BackedUp::default();
        archive.add(DATABASE.to_owned(), snapshot, &failed)?;
        for (hash, name) in recordings.iter().filter(|(hash, _)| is_hash(hash)) {
            let path = folder.join(MEDIA).join(hash);
            if path.exists() {
                archive.add(format!("{MEDIA}/{hash}"), &path, &failed)?;
                done.recordings += 1;
            } else {
                done.lost.push(name.clone());
            }
        }
        let out = archive.finish().map_err(&failed)?;
        out.sync_all().map_err(&failed)?;
        done.bytes = out.metadata().map_err(&failed)?.len();
        fs::rename(&part, file).map_err(&failed)?;
        if let Some(folder) = file.parent().filter(|folder| !folder.as_os_str().is_empty()) {
            settle_folder(folder)?;
        }
        Ok(done)
    })();
    if written.is_err() {
        let _ = remove(&part);
    }
    written
}

/// A tar file in the making.
struct Archive {
    tar: tar::Builder<BufWriter<File>>,
    members: Vec<Member>,
}

impl Archive {
    fn add(
        &mut self,
        name: String,
        path: &Path,
        failed: impl Fn(io::Error) -> StoreError,
    ) -> Result<(), StoreError> {
        let unread = StoreError::file(path);
        let file = File::open(path).map_err(&unread)?;
        let bytes = file.metadata().map_err(&unread)?.len();
        let mut reader = Hashing::new(file.take(bytes));
        self.tar.append_data(&mut header(bytes), &name, &mut reader).map_err(failed)?;
        if reader.read != bytes {
            return Err(unread(io::Error::other("it became shorter while it was read")));
        }
        self.members.push(Member { name, bytes, blake3: reader.hash() });
        Ok(())
    }

    fn finish(mut self) -> io::Result<File> {
        let manifest =
            Manifest { format: FORMAT.to_owned(), version: VERSION, members: self.members };
        let text = serde_json::to_vec_pretty(&manifest)?;
        self.tar.append_data(&mut header(text.len() as u64), MANIFEST, &text[..])?;
        let mut out = self.tar.into_inner()?;
        out.flush()?;
        out.into_inner().map_err(io::IntoInnerError::into_error)
    }
}

fn header(bytes: u64) -> tar::Header {
    let mut header = tar::Header::new_gnu();
    header.set_size(bytes);
    header.set_mode(0o600);
    header.set_entry_type(tar::EntryType::Regular);
    header
}
