//! Recordings: files in the media folder, named by the hash of their bytes. They come in through
//! [`crate::uploads`]. A recording is a fact without undo: it stays, whether a round shows it or
//! not, and never changes.

use std::path::PathBuf;

use sqlx::Row as _;
use sqlx::sqlite::SqliteRow;

use crate::book::{Book, MEDIA};
use crate::error::StoreError;
use crate::files::is_hexadecimal;

/// A recording.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Media {
    /// The hash of its bytes (BLAKE3, 64 hexadecimal digits), by which rounds name it.
    pub hash: String,
    /// The name of the file it came from, for people.
    pub name: String,
    /// What it is, such as `video/mp4`; told by its bytes.
    pub media_type: String,
    /// How long the file is.
    pub bytes: u64,
}

/// Whether a text can be the hash of a recording.
pub(crate) fn is_hash(text: &str) -> bool {
    is_hexadecimal(text, 64)
}

fn media(row: &SqliteRow) -> Result<Media, StoreError> {
    let bytes: i64 = row.try_get("bytes")?;
    Ok(Media {
        hash: row.try_get("hash")?,
        name: row.try_get("name")?,
        media_type: row.try_get("media_type")?,
        bytes: u64::try_from(bytes).unwrap_or(0),
    })
}

impl Book {
    /// A recording of the book.
    ///
    /// # Errors
    /// [`StoreError::Missing`] if no recording has this hash.
    pub async fn media(&self, hash: &str) -> Result<Media, StoreError> {
        let row = sqlx::query("SELECT * FROM media WHERE hash = ?")
            .bind(hash)
            .fetch_optional(&self.reading)
            .await?;
        media(&row.ok_or(StoreError::Missing("recording"))?)
    }

    /// All recordings, by name.
    ///
    /// # Errors
    /// The database's.
    pub async fn all_media(&self) -> Result<Vec<Media>, StoreError> {
        let rows =
            sqlx::query("SELECT * FROM media ORDER BY name, hash").fetch_all(&self.reading).await?;
        rows.iter().map(media).collect()
    }

    /// Where the file of a recording lies. Only a hash that the book holds leads to a path, so
    /// nothing of a request reaches the file system.
    ///
    /// # Errors
    /// [`StoreError::Missing`] if no recording has this hash.
    pub async fn media_path(&self, hash: &str) -> Result<PathBuf, StoreError> {
        let kept = self.media(hash).await?;
        if !is_hash(&kept.hash) {
            return Err(StoreError::Unreadable("the hash of a recording".to_owned()));
        }
        Ok(self.folder().join(MEDIA).join(kept.hash))
    }
}
