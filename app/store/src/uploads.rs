//! Recordings on their way in, in pieces, over connections that break. What was acknowledged is on
//! the disk; whoever sends asks how much is there and goes on from there.
//!
//! The bytes lie in the media folder under the id of the upload. A finished one is first linked
//! under its hash, then kept in the database, then the first name is taken away: a kill at any
//! moment loses nothing, and opening the book clears what it left.

use std::fmt;
use std::fs::{self, File};
use std::io::{self, Read, Write};
use std::path::{Path, PathBuf};

use fs4::fs_std::FileExt;

use crate::book::{Book, MEDIA};
use crate::error::StoreError;
use crate::files::{away, hash_of, is_hexadecimal, remove, settle_folder};
use crate::media_type::{LOOKED_AT, media_type};

/// The largest recording, in bytes: 16 GiB, hours of video from a telephone.
pub const LARGEST: u64 = 16 << 30;

/// After so many seconds an upload that was not finished is given up.
pub const STALE: i64 = 7 * 24 * 60 * 60;

/// Characters of the name that is kept of a file.
const LONGEST_NAME: usize = 200;

/// The name of an upload: 32 hexadecimal digits that nobody can guess.
#[derive(Clone, Debug, PartialEq, Eq, Hash)]
pub struct UploadId(String);

impl UploadId {
    /// The id in a text, such as a part of an address; `None` if it can be none.
    #[must_use]
    pub fn parse(text: &str) -> Option<Self> {
        is_hexadecimal(text, DIGITS).then(|| UploadId(text.to_owned()))
    }

    fn random() -> Result<Self, StoreError> {
        let mut bytes = [0; DIGITS / 2];
        let failed = |error: getrandom::Error| StoreError::CannotWrite(error.to_string());
        getrandom::fill(&mut bytes).map_err(failed)?;
        Ok(UploadId(bytes.iter().map(|byte| format!("{byte:02x}")).collect()))
    }
}

const DIGITS: usize = 32;

impl fmt::Display for UploadId {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.0)
    }
}

/// Why a piece of a recording was not taken. Nothing of the piece was kept.
#[derive(Debug, thiserror::Error)]
pub enum UploadError {
    /// No upload has this id: it was finished, given up, or never begun.
    #[error("this upload is not known any more: choose the file again")]
    NoUpload,
    /// The piece does not follow on what is there.
    #[error("this piece does not fit: go on from byte {there}")]
    Offset {
        /// How much is there, and so where the next piece begins.
        there: u64,
    },
    /// More bytes than were announced.
    #[error("the file is longer than the {announced} bytes that were announced: choose it again")]
    TooLong {
        /// How many were.
        announced: u64,
    },
    /// Not all of it is there.
    #[error("only {there} of {announced} bytes have arrived: send the rest")]
    Incomplete {
        /// How much is there.
        there: u64,
        /// How much was announced.
        announced: u64,
    },
    /// Larger than [`LARGEST`], or nothing at all.
    #[error("a recording has between 1 byte and {} GB: cut it before sending", LARGEST >> 30)]
    Size,
    /// Not a kind of recording that browsers play.
    #[error(
        "this is no recording that can be played: choose a video or sound file (mp4, mov, webm, \
         mkv, m4a, mp3, ogg or wav)"
    )]
    NotARecording,
    /// Anything that the book says.
    #[error(transparent)]
    Store(#[from] StoreError),
}

impl From<sqlx::Error> for UploadError {
    fn from(error: sqlx::Error) -> Self {
        UploadError::Store(error.into())
    }
}

/// What was announced.
struct Announced {
    name: String,
    bytes: u64,
}

impl Book {
    /// Announces a recording of so many bytes. Its name is for people only. `now` is in seconds
    /// since 1970.
    ///
    /// # Errors
    /// [`UploadError::Size`], or the database's.
    pub async fn begin_upload(
        &self,
        name: &str,
        bytes: u64,
        now: i64,
    ) -> Result<UploadId, UploadError> {
        let size = i64::try_from(bytes).map_err(|_| UploadError::Size)?;
        if bytes == 0 || bytes > LARGEST {
            return Err(UploadError::Size);
        }
        let id = UploadId::random()?;
        sqlx::query("INSERT INTO upload (id, name, bytes, begun_at) VALUES (?, ?, ?, ?)")
            .bind(&id.0)
            .bind(shown_name(name, "recording"))
            .bind(size)
            .bind(now)
            .execute(&self.writing)
            .await?;
        Ok(id)
    }

    /// Gives up uploads that were begun more than [`STALE`] ago: a program that runs for months
    /// must not come to refuse new ones. `now` is in seconds since 1970.
    ///
    /// # Errors
    /// The database's, or the file system's.
    pub async fn give_up_stale_uploads(&self, now: i64) -> Result<(), StoreError> {
        let stale: Vec<String> = sqlx::query_scalar("SELECT id FROM upload WHERE begun_at < ?")
            .bind(now - STALE)
            .fetch_all(&self.reading)
            .await?;
        for id in stale {
            self.drop_upload(&UploadId(id)).await?;
        }
        Ok(())
    }

    /// How many uploads were begun and neither finished nor given up.
    ///
    /// # Errors
    /// The database's.
    pub async fn open_uploads(&self) -> Result<u32, StoreError> {
        let count = sqlx::query_scalar("SELECT count(*) FROM upload");
        Ok(count.fetch_one(&self.reading).await?)
    }

    /// How many bytes of an upload have arrived.
    ///
    /// # Errors
    /// [`UploadError::NoUpload`].
    pub async fn upload_size(&self, id: &UploadId) -> Result<u64, UploadError> {
        self.announced(id).await?;
        let path = self.upload_path(id);
        away(move || match fs::metadata(&path) {
            Ok(found) => Ok(found.len()),
            Err(error) if error.kind() == io::ErrorKind::NotFound => Ok(0),
            Err(error) => Err(StoreError::file(&path)(error).into()),
        })
        .await
    }

    /// Adds a piece; tells how much is there now. It is on the disk when this returns.
    ///
    /// # Errors
    /// [`UploadError::Offset`] unless `offset` is what is there, [`UploadError::TooLong`],
    /// [`UploadError::NotARecording`] as soon as the first bytes tell, [`UploadError::NoUpload`].
    pub async fn append(
        &self,
        id: &UploadId,
        offset: u64,
        piece: impl AsRef<[u8]> + Send + 'static,
    ) -> Result<u64, UploadError> {
        let announced = self.announced(id).await?.bytes;
        let path = self.upload_path(id);
        away(move || add(&path, announced, offset, piece.as_ref())).await
    }

    /// Makes an upload a recording of the book; tells its hash. A recording that is there already
    /// stays as it is.
    ///
    /// # Errors
    /// [`UploadError::Incomplete`], [`UploadError::NotARecording`], [`UploadError::NoUpload`]. The
    /// upload stays.
    pub async fn finish_upload(&self, id: &UploadId) -> Result<String, UploadError> {
        let Announced { name, bytes } = self.announced(id).await?;
        let path = self.upload_path(id);
        let (hash, media_type) = away(move || settle(&path, bytes)).await?;
        let mut transaction = self.writing.begin().await?;
        sqlx::query(
            "INSERT INTO media (hash, name, media_type, bytes) VALUES (?, ?, ?, ?)
             ON CONFLICT (hash) DO NOTHING",
        )
        .bind(&hash)
        .bind(name)
        .bind(media_type)
        .bind(i64::try_from(bytes).unwrap_or(i64::MAX))
        .execute(&mut *transaction)
        .await?;
        sqlx::query("DELETE FROM upload WHERE id = ?")
            .bind(&id.0)
            .execute(&mut *transaction)
            .await?;
        transaction.commit().await?;
        remove(&self.upload_path(id))?;
        Ok(hash)
    }

    /// Gives an upload up; one that is not known is gone already.
    ///
    /// # Errors
    /// The database's, or the file system's.
    pub async fn drop_upload(&self, id: &UploadId) -> Result<(), StoreError> {
        sqlx::query("DELETE FROM upload WHERE id = ?").bind(&id.0).execute(&self.writing).await?;
        remove(&self.upload_path(id))
    }

    /// Gives up uploads that were begun more than [`STALE`] ago, and clears what a kill left.
    pub(crate) async fn clear_uploads(&self, now: i64) -> Result<(), StoreError> {
        sqlx::query("DELETE FROM upload WHERE begun_at < ?")
            .bind(now - STALE)
            .execute(&self.writing)
            .await?;
        let open: Vec<String> =
            sqlx::query_scalar("SELECT id FROM upload").fetch_all(&self.writing).await?;
        let kept: Vec<String> =
            sqlx::query_scalar("SELECT hash FROM media").fetch_all(&self.writing).await?;
        let folder = self.folder().join(MEDIA);
        away(move || clear(&folder, &open, &kept)).await
    }

    async fn announced(&self, id: &UploadId) -> Result<Announced, UploadError> {
        let found: Option<(String, i64)> =
            sqlx::query_as("SELECT name, bytes FROM upload WHERE id = ?")
                .bind(&id.0)
                .fetch_optional(&self.reading)
                .await?;
        let (name, bytes) = found.ok_or(UploadError::NoUpload)?;
        Ok(Announced { name, bytes: u64::try_from(bytes).unwrap_or(0) })
    }

    fn upload_path(&self, id: &UploadId) -> PathBuf {
        self.folder().join(MEDIA).join(&id.0)
    }
}

/// A file's name as it may be shown: no folders, nothing invisible, not endless. Another word where
/// nothing is left of it.
#[must_use]
pub fn shown_name(name: &str, otherwise: &str) -> String {
    let last = name.rsplit(['/', '\\']).next().unwrap_or_default();
    let shown: String = last.chars().filter(|letter| !letter.is_control()).collect();
    let shown: String = shown.trim().chars().take(LONGEST_NAME).collect();
    if shown.is_empty() { otherwise.to_owned() } else { shown }
}

/// Adds a piece to the file of an upload. Its lock keeps two pieces from mixing.
fn add(path: &Path, announced: u64, offset: u64, piece: &[u8]) -> Result<u64, UploadError> {
    let failed = StoreError::file(path);
    let mut file = File::options().create(true).append(true).open(path).map_err(&failed)?;
    file.lock_exclusive().map_err(&failed)?;
    let there = file.metadata().map_err(&failed)?.len();
    if offset != there {
        return Err(UploadError::Offset { there });
    }
    let length = piece.len() as u64;
    if length > announced.saturating_sub(there) {
        return Err(UploadError::TooLong { announced });
    }
    let tells = piece.len() >= LOOKED_AT || length == announced;
    if there == 0 && tells && media_type(piece).is_none() {
        return Err(UploadError::NotARecording);
    }
    if let Err(error) = file.write_all(piece).and_then(|()| file.sync_data()) {
        // A part of a piece is no harm, since whoever sends asks what is there, but room is short.
        let _ = file.set_len(there);
        return Err(failed(error).into());
    }
    if there == 0
        && let Some(folder) = path.parent()
    {
        settle_folder(folder)?;
    }
    Ok(there + length)
}

/// Links a whole upload under its hash; tells the hash and what it is.
fn settle(path: &Path, announced: u64) -> Result<(String, &'static str), UploadError> {
    let failed = StoreError::file(path);
    let mut file = match File::open(path) {
        Err(error) if error.kind() == io::ErrorKind::NotFound => {
            return Err(UploadError::Incomplete { there: 0, announced });
        }
        opened => opened.map_err(&failed)?,
    };
    file.lock_exclusive().map_err(&failed)?;
    let there = file.metadata().map_err(&failed)?.len();
    if there != announced {
        return Err(UploadError::Incomplete { there, announced });
    }
    let mut start = Vec::with_capacity(LOOKED_AT);
    (&mut file).take(LOOKED_AT as u64).read_to_end(&mut start).map_err(&failed)?;
    let kind = media_type(&start).ok_or(UploadError::NotARecording)?;
    file.sync_all().map_err(&failed)?;
    let hash = hash_of(path)?;
    let place = path.with_file_name(&hash);
    match fs::hard_link(path, &place) {
        Ok(()) => {}
        Err(error)
            if error.kind() == io::ErrorKind::AlreadyExists
                && hash_of(&place).is_ok_and(|found| found == hash) => {}
        // Another file in its place, or a file system without links.
        Err(_) => {
            let copy = path.with_extension(COPY);
            fs::copy(path, &copy)
                .and_then(|_| File::open(&copy)?.sync_all())
                .and_then(|()| fs::rename(&copy, &place))
                .map_err(StoreError::file(&place))?;
        }
    }
    if let Some(folder) = path.parent() {
        settle_folder(folder)?;
    }
    Ok((hash, kind))
}

/// Ending of a copy in the making.
const COPY: &str = "copy";

/// Removes files of uploads that are no more, and second names of those that are.
fn clear(folder: &Path, open: &[String], kept: &[String]) -> Result<(), StoreError> {
    let failed = StoreError::file(folder);
    let mut unknown = Vec::new();
    for entry in fs::read_dir(folder).map_err(&failed)? {
        let path = entry.map_err(&failed)?.path();
        let Some(name) = path.file_name().and_then(|name| name.to_str()) else { continue };
        let id = name.strip_suffix(&format!(".{COPY}")).unwrap_or(name);
        if is_hexadecimal(id, DIGITS) && (id != name || !open.iter().any(|open| open == id)) {
            remove(&path)?;
        } else if is_hexadecimal(name, 64) && !kept.iter().any(|kept| kept == name) {
            unknown.push(path);
        }
    }
    for path in unknown {
        if open.iter().any(|id| is_same_file(&path, &folder.join(id))) {
            remove(&path)?;
        }
    }
    Ok(())
}

/// Whether two names lead to one file.
#[cfg(unix)]
fn is_same_file(one: &Path, other: &Path) -> bool {
    use std::os::unix::fs::MetadataExt;
    match (fs::metadata(one), fs::metadata(other)) {
        (Ok(one), Ok(other)) => (one.dev(), one.ino()) == (other.dev(), other.ino()),
        _ => false,
    }
}

/// Elsewhere it is not known, and the second name stays.
#[cfg(not(unix))]
fn is_same_file(_: &Path, _: &Path) -> bool {
    false
}
