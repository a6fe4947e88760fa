//! Full disks, folders that cannot be used, damaged books, two programs, newer books: each is told
//! in words that say what to do, and no byte of the book changes.

use std::fs;
use std::path::Path;

use academy::Member;
use sqlx::sqlite::SqliteConnectOptions;
use sqlx::{ConnectOptions, Connection};
use store::{Book, By, RoundFilter, StoreError};

use crate::child::child;
use crate::dump::files;

fn by() -> By {
    By { who: "Ines".to_owned(), at: 1_790_000_000, seen: None }
}

/// A closed book with some people in it.
async fn closed_book(folder: &Path, people: usize) {
    let book = Book::open(folder).await.expect("it opens");
    for number in 0..people {
        let name = format!("Person {number}");
        let notes = "half guard ".repeat(40);
        let member = Member { name, notes, ..Member::default() };
        book.add_member(&by(), &member).await.expect("added");
    }
    book.close().await;
}

/// The files of the book; the empty ones that looking at it may leave aside.
fn kept(folder: &Path) -> std::collections::BTreeMap<String, Vec<u8>> {
    let mut kept = files(folder);
    kept.retain(|name, bytes| {
        !(name.ends_with("-shm") || (name.ends_with("-wal") && bytes.is_empty()))
    });
    kept
}

async fn refused(folder: &Path) -> StoreError {
    let before = kept(folder);
    let error = Book::open(folder).await.err().expect("it is refused");
    assert_eq!(kept(folder), before, "nothing is changed");
    let again = Book::open_to_read(folder).await.err().expect("also to read only");
    assert_eq!(again.to_string(), error.to_string());
    assert_eq!(kept(folder), before, "nothing is changed");
    error
}

#[cfg(unix)]
#[tokio::test]
async fn a_full_disk_loses_nothing() {
    let folder = tempfile::tempdir().unwrap();
    closed_book(folder.path(), 2).await;
    let ran = crate::child::child_with_little_room("fill", folder.path(), 2_000).output().unwrap();
    let said = String::from_utf8(ran.stdout).unwrap();
    assert!(said.contains("\npiece true 0\n"), "{said}");
    assert!(said.contains("\nfull true: the change was not kept"), "{said}");
    assert!(said.contains("\nread true\n"), "{said}");
    let rounds: Vec<i64> =
        said.lines().filter_map(|line| line.strip_prefix("round ")?.parse().ok()).collect();
    assert!(!rounds.is_empty(), "some fit: {said}");
    // With room again all is there, and the book goes on.
    let book = Book::open(folder.path()).await.unwrap();
    let mut found: Vec<i64> =
        book.rounds(&RoundFilter::default()).await.unwrap().iter().map(|line| line.id.0).collect();
    found.sort_unstable();
    assert_eq!(found, rounds);
    assert_eq!(book.check().await.unwrap(), []);
    book.add_member(&by(), &Member { name: "Ana".into(), ..Member::default() }).await.unwrap();
}

#[tokio::test]
async fn a_folder_that_cannot_be_used_is_named() {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("file");
    fs::write(&file, "mine").unwrap();
    let blocked = folder.path().join("blocked");
    fs::create_dir(&blocked).unwrap();
    fs::write(blocked.join("media"), "mine").unwrap();
    let odd = folder.path().join("odd");
    fs::create_dir_all(odd.join("book.sqlite/inside")).unwrap();
    let mut places = vec![file.clone(), file.join("below"), blocked, odd];
    if cfg!(target_os = "linux") {
        places.push("/proc/grapevine".into());
    }
    for place in places {
        let error = Book::open(&place).await.err().unwrap();
        assert!(matches!(error, StoreError::Folder { .. }), "{}: {error}", place.display());
        assert!(error.to_string().contains(&place.display().to_string()), "{error}");
    }
    assert_eq!(fs::read(&file).unwrap(), b"mine");
}

#[tokio::test]
async fn a_damaged_book_is_left_as_it_is() {
    let folder = tempfile::tempdir().unwrap();
    closed_book(folder.path(), 150).await;
    let database = folder.path().join("book.sqlite");
    let whole = fs::read(&database).unwrap();
    let mut header = whole.clone();
    header[..100].fill(7);
    let mut middle = whole.clone();
    let half = whole.len() / 2 / 4_096 * 4_096;
    middle[half..half + 4_096].fill(7);
    let cut = whole[..whole.len() / 2].to_vec();
    for (damaged, what) in [(header, "header"), (middle, "middle"), (cut, "cut")] {
        fs::write(&database, damaged).unwrap();
        let error = refused(folder.path()).await;
        assert!(matches!(error, StoreError::Damaged { .. }), "{what}: {error}");
        assert!(error.to_string().contains("grapevine restore"), "{what}: {error}");
    }
    fs::write(&database, whole).unwrap();
    let book = Book::open(folder.path()).await.unwrap();
    assert_eq!(book.members().await.unwrap().len(), 150);
}

#[tokio::test]
async fn a_database_of_somebody_else_is_left_alone() {
    let folder = tempfile::tempdir().unwrap();
    let database = folder.path().join("book.sqlite");
    let options = SqliteConnectOptions::new().filename(&database).create_if_missing(true);
    let mut other = options.connect().await.unwrap();
    sqlx::query("CREATE TABLE tomatoes (kind TEXT)").execute(&mut other).await.unwrap();
    other.close().await.unwrap();
    let before = fs::read(&database).unwrap();
    let error = Book::open(folder.path()).await.err().unwrap();
    assert!(matches!(error, StoreError::Damaged { .. }), "{error}");
    assert_eq!(fs::read(&database).unwrap(), before);
}

#[tokio::test]
async fn a_second_program_is_kept_out() {
    let folder = tempfile::tempdir().unwrap();
    let book = Book::open(folder.path()).await.unwrap();
    let open = || child("open", folder.path(), 0).output().unwrap();
    let said = String::from_utf8(open().stdout).unwrap();
    assert!(said.contains("open in another grapevine: close that one"), "{said}");
    let same = Book::open(folder.path()).await.err().unwrap();
    assert!(matches!(same, StoreError::InUse(_)), "{same}");
    book.add_member(&by(), &Member { name: "Ana".into(), ..Member::default() }).await.unwrap();
    book.close().await;
    let said = String::from_utf8(open().stdout).unwrap();
    assert!(said.contains("\nopened\n"), "{said}");
}

#[tokio::test]
async fn a_newer_book_is_left_as_it_is() {
    let folder = tempfile::tempdir().unwrap();
    closed_book(folder.path(), 3).await;
    let database = folder.path().join("book.sqlite");
    let mut newer = SqliteConnectOptions::new().filename(&database).connect().await.unwrap();
    sqlx::query(
        "INSERT INTO _sqlx_migrations (version, description, success, checksum, execution_time)
         VALUES (9000, 'later', 1, x'00', 0)",
    )
    .execute(&mut newer)
    .await
    .unwrap();
    newer.close().await.unwrap();
    let error = refused(folder.path()).await;
    assert!(matches!(error, StoreError::Newer(_)), "{error}");
    assert!(error.to_string().contains("update this program"), "{error}");
}
