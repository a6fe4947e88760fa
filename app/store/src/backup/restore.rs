//! Reading a backup and putting it in place.

use std::collections::{BTreeMap, BTreeSet};
use std::fs::{self, File};
use std::io::{BufReader, Read, Write};
use std::path::{Path, PathBuf};

use super::{BackupError, FORMAT, Hashing, MANIFEST, Manifest, Member, UNPACKED, VERSION};
use crate::book::{self, DATABASE, LOCK, MEDIA, MIGRATIONS};
use crate::error::StoreError;
use crate::existing::{self, Existing};
use crate::files::{away, settle_folder};
use crate::media::is_hash;

/// A manifest of more bytes is none: that would be a million recordings.
const LONGEST_MANIFEST: u64 = 256 << 20;

/// Puts a backup into a folder that holds no book; tells how many recordings it has. Everything is
/// checked before anything is put in place.
///
/// # Errors
/// A [`BackupError`]; the folder is then as it was.
pub async fn restore(file: &Path, folder: &Path) -> Result<usize, BackupError> {
    if folder.join(DATABASE).exists() {
        return Err(BackupError::BookThere(folder.to_owned()));
    }
    // Opened before the folder is made: a wrong name leaves nothing behind.
    let open = File::open(file).map_err(StoreError::file(file))?;
    let made: Vec<PathBuf> = [folder.to_owned(), folder.join(MEDIA), folder.join(LOCK)]
        .into_iter()
        .filter(|path| !path.exists())
        .collect();
    let restored = restore_into(open, file, folder).await;
    if restored.is_err() && !folder.join(DATABASE).exists() {
        let _ = fs::remove_dir_all(folder.join(UNPACKED));
        // What holds something by now stays.
        for path in made.iter().rev() {
            let _ = if path.is_dir() { fs::remove_dir(path) } else { fs::remove_file(path) };
        }
    }
    restored
}

async fn restore_into(open: File, file: &Path, folder: &Path) -> Result<usize, BackupError> {
    let _lock = book::lock(folder)?;
    if folder.join(DATABASE).exists() {
        return Err(BackupError::BookThere(folder.to_owned()));
    }
    let unpacked = folder.join(UNPACKED);
    let (from, to) = (file.to_owned(), unpacked.clone());
    let members = away(move || unpack(open, &from, &to)).await?;
    match existing::look(&unpacked, &MIGRATIONS).await {
        Ok(Existing::Current | Existing::Older) => {}
        Err(StoreError::Newer(_)) => return Err(BackupError::Newer(file.to_owned())),
        Ok(Existing::Nothing) | Err(_) => {
            return Err(BackupError::Altered { file: file.to_owned(), member: DATABASE.into() });
        }
    }
    let folder = folder.to_owned();
    away(move || put_in_place(&unpacked, &folder, &members)).await
}

/// Unpacks a backup and checks every part of it; tells the names of its parts.
fn unpack(open: File, file: &Path, to: &Path) -> Result<Vec<String>, BackupError> {
    let not = |what: &str| BackupError::NotABackup { file: file.to_owned(), what: what.to_owned() };
    if to.exists() {
        fs::remove_dir_all(to).map_err(StoreError::file(to))?;
    }
    book::make_folder(to).map_err(StoreError::file(to))?;
    let mut found: BTreeMap<String, (u64, String)> = BTreeMap::new();
    let mut manifest = None;
    let mut archive = tar::Archive::new(BufReader::new(open));
    for entry in archive.entries().map_err(|error| not(&error.to_string()))? {
        let mut entry = entry.map_err(|error| not(&error.to_string()))?;
        let name = String::from_utf8_lossy(&entry.path_bytes()).into_owned();
        let regular = entry.header().entry_type() == tar::EntryType::Regular;
        if !regular || manifest.is_some() || found.contains_key(&name) {
            return Err(not(&format!("there is a part \"{name}\" where none belongs")));
        }
        if name == MANIFEST {
            let mut text = Vec::new();
            let read = entry.take(LONGEST_MANIFEST).read_to_end(&mut text);
            read.map_err(|error| not(&error.to_string()))?;
            manifest = Some(text);
        } else if is_member(&name) {
            let place = to.join(&name);
            let mut reader = Hashing::new(&mut entry);
            let out = File::create(&place).map_err(StoreError::file(&place))?;
            copy(&mut reader, out, &place, &not)?;
            found.insert(name, (reader.read, reader.hash()));
        } else {
            return Err(not(&format!("there is a part \"{name}\" where none belongs")));
        }
    }
    let manifest = manifest.ok_or_else(|| not("its end is missing"))?;
    check(&manifest, &found, file)?;
    Ok(found.into_keys().collect())
}

/// Only these names are ever put into a folder; none can lead out of it.
fn is_member(name: &str) -> bool {
    let of_media = |name: &str| name.strip_prefix(MEDIA)?.strip_prefix('/').map(is_hash);
    name == DATABASE || of_media(name) == Some(true)
}

/// Copies a part; says of which side an error is.
fn copy(
    from: &mut impl Read,
    mut to: File,
    place: &Path,
    not: &impl Fn(&str) -> BackupError,
) -> Result<(), BackupError> {
    let mut buffer = vec![0; 1 << 16];
    loop {
        let count = from.read(&mut buffer).map_err(|error| not(&error.to_string()))?;
        if count == 0 {
            break;
        }
        to.write_all(&buffer[..count]).map_err(StoreError::file(place))?;
    }
    Ok(to.sync_all().map_err(StoreError::file(place))?)
}

/// Holds what was found against the manifest.
fn check(
    manifest: &[u8],
    found: &BTreeMap<String, (u64, String)>,
    file: &Path,
) -> Result<(), BackupError> {
    let not = |what: String| BackupError::NotABackup { file: file.to_owned(), what };
    let manifest: Manifest =
        serde_json::from_slice(manifest).map_err(|error| not(format!("manifest: {error}")))?;
    if manifest.format != FORMAT {
        return Err(not("its manifest is of something else".to_owned()));
    }
    if manifest.version != VERSION {
        return Err(BackupError::Newer(file.to_owned()));
    }
    let mut listed = BTreeSet::new();
    for Member { name, bytes, blake3 } in &manifest.members {
        listed.insert(name);
        match found.get(name) {
            None => return Err(not(format!("{name} is missing"))),
            Some((length, hash)) if length == bytes && hash == blake3 => {}
            Some(_) => {
                return Err(BackupError::Altered { file: file.to_owned(), member: name.clone() });
            }
        }
    }
    if let Some(name) = found.keys().find(|name| !listed.contains(name)) {
        return Err(not(format!("{name} is not in its manifest")));
    }
    if !found.contains_key(DATABASE) {
        return Err(not("there is no book in it".to_owned()));
    }
    Ok(())
}

/// Moves what was checked to where it belongs, the database last: until then there is no book.
fn put_in_place(unpacked: &Path, folder: &Path, members: &[String]) -> Result<usize, BackupError> {
    let (database, recordings): (Vec<&String>, Vec<&String>) =
        members.iter().partition(|name| *name == DATABASE);
    for name in &recordings {
        let place = folder.join(name);
        fs::rename(unpacked.join(name), &place).map_err(StoreError::file(&place))?;
    }
    settle_folder(&folder.join(MEDIA))?;
    for name in database {
        let place = folder.join(name);
        fs::rename(unpacked.join(name), &place).map_err(StoreError::file(&place))?;
    }
    settle_folder(folder)?;
    // The book is there; a folder that is left is cleared when it is opened.
    let _ = fs::remove_dir_all(unpacked);
    Ok(recordings.len())
}
