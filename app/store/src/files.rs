//! Work on files that must be whole, done away from the threads that answer people.

use std::fs::{self, File};
use std::io;
use std::path::Path;

use crate::error::StoreError;

/// Runs work that waits for the disk on a thread of its own.
pub(crate) async fn away<T, E>(work: impl FnOnce() -> Result<T, E> + Send + 'static) -> Result<T, E>
where
    T: Send + 'static,
    E: From<StoreError> + Send + 'static,
{
    match tokio::task::spawn_blocking(work).await {
        Ok(done) => done,
        Err(error) => match error.try_into_panic() {
            Ok(panic) => std::panic::resume_unwind(panic),
            Err(stopped) => Err(StoreError::CannotWrite(stopped.to_string()).into()),
        },
    }
}

/// Makes the names in a folder survive a loss of power.
pub(crate) fn settle_folder(folder: &Path) -> Result<(), StoreError> {
    // Only Unix lets a folder be opened; elsewhere names are settled with their files.
    if cfg!(unix) {
        File::open(folder).and_then(|open| open.sync_all()).map_err(StoreError::file(folder))?;
    }
    Ok(())
}

/// The hash of a file's bytes, as 64 hexadecimal digits.
pub(crate) fn hash_of(path: &Path) -> Result<String, StoreError> {
    let mut hasher = blake3::Hasher::new();
    File::open(path)
        .and_then(|file| hasher.update_reader(file).map(|_| ()))
        .map_err(StoreError::file(path))?;
    Ok(hasher.finalize().to_hex().to_string())
}

/// Removes a file; one that is not there is removed already.
pub(crate) fn remove(path: &Path) -> Result<(), StoreError> {
    match fs::remove_file(path) {
        Err(error) if error.kind() != io::ErrorKind::NotFound => Err(StoreError::file(path)(error)),
        _ => Ok(()),
    }
}

/// Whether a text is so many hexadecimal digits in lower case, and so no path.
pub(crate) fn is_hexadecimal(text: &str, digits: usize) -> bool {
    text.len() == digits && text.bytes().all(|byte| matches!(byte, b'0'..=b'9' | b'a'..=b'f'))
}
