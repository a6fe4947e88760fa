//! Backups are whole or refused; checks find what is lost.

use std::fs::{self, File};
use std::io::Read;
use std::path::Path;

use academy::{Athlete, ByHand, Event, EventKind, Member, RoundKind, Source, Time};
use store::{
    BackupError, Book, By, Finding, MemberId, RoundFacts, StoreError, Subject, backup, restore,
};

use crate::dump::{AROUND, GIVEN, dump, files};
use crate::uploads::recording;

fn by() -> By {
    By { who: "Ines".to_owned(), at: 1_790_000_000, seen: None }
}

fn facts(athletes: [MemberId; 2], media: Option<String>) -> RoundFacts {
    RoundFacts {
        date: "2026-11-02".parse().expect("a date"),
        kind: RoundKind::Hard,
        gi: false,
        athletes,
        length: Time::from_millis(300_000),
        class: None,
        talk: None,
        media,
        confirmed: None,
    }
}

async fn upload(book: &Book, bytes: Vec<u8>) -> String {
    let id = book.begin_upload("roll.wav", bytes.len() as u64, i64::MAX).await.expect("begun");
    book.append(&id, 0, bytes).await.expect("taken");
    book.finish_upload(&id).await.expect("finished")
}

/// A book with people, a round with a recording, another recording, a change undone.
async fn small_book(folder: &Path) -> (Book, String) {
    let book = Book::open(folder).await.expect("the book opens");
    let mut ids = Vec::new();
    for name in ["Petra", "Idris"] {
        let member = Member { name: name.to_owned(), ..Member::default() };
        ids.push(book.add_member(&by(), &member).await.expect("added"));
    }
    let hash = upload(&book, recording(100_000, 1)).await;
    let facts = facts([ids[0], ids[1]], Some(hash.clone()));
    let round = book.add_round(&by(), &facts).await.expect("added");
    let tap = Event {
        time: Time::from_millis(9_000),
        kind: EventKind::Tap,
        actor: Some(Athlete::First),
        technique: Some("armbar".to_owned()),
        confidence: 1.0,
        source: Source::Hand,
    };
    let by_hand = ByHand { events: vec![tap], ..ByHand::default() };
    book.put_by_hand(&by(), round, "A tap at 0:09", &by_hand).await.expect("kept");
    book.undo(Subject::Round(round), &by()).await.expect("undone");
    (book, hash)
}

#[tokio::test]
async fn a_restored_book_is_the_same_book() {
    let folder = tempfile::tempdir().unwrap();
    let (book, hash) = small_book(&folder.path().join("one")).await;
    let unfinished = book.begin_upload("late.wav", 1_000, i64::MAX).await.unwrap();
    book.append(&unfinished, 0, recording(500, 9)).await.unwrap();
    let file = folder.path().join("monday.grapevine");
    let done = backup(&book, &file).await.unwrap();
    assert_eq!((done.recordings, done.lost.len()), (1, 0));
    assert_eq!(done.bytes, file.metadata().unwrap().len());
    // The book goes on; what comes after the backup is not in it.
    let all: Vec<&str> = GIVEN.into_iter().chain(AROUND).collect();
    let before = dump(book.folder(), &all).await;
    book.add_member(&by(), &Member { name: "Ana".to_owned(), ..Member::default() }).await.unwrap();
    let there = backup(&book, &file).await.unwrap_err();
    assert!(matches!(there, BackupError::Exists(_)), "{there}");

    let other = folder.path().join("another machine/book");
    assert_eq!(restore(&file, &other).await.unwrap(), 1);
    assert_eq!(dump(&other, &all).await, before);
    let restored = Book::open(&other).await.unwrap();
    assert_eq!(restored.check().await.unwrap(), []);
    let path = restored.media_path(&hash).await.unwrap();
    assert_eq!(fs::read(path).unwrap(), recording(100_000, 1));
    let round = restored.rounds(&store::RoundFilter::default()).await.unwrap()[0].id;
    let again = restored.redo(Subject::Round(round), &by()).await.unwrap();
    assert_eq!(again.as_deref(), Some("A tap at 0:09"));
    // Nothing is left of the work but the backup and the two books.
    assert_eq!(book.check().await.unwrap(), []);
    assert_eq!(fs::read_dir(folder.path()).unwrap().count(), 3);
}

#[tokio::test]
async fn a_book_is_never_written_over() {
    let folder = tempfile::tempdir().unwrap();
    let (book, _) = small_book(&folder.path().join("one")).await;
    let file = folder.path().join("monday.grapevine");
    backup(&book, &file).await.unwrap();
    book.close().await;
    let before = files(&folder.path().join("one"));
    let refused = restore(&file, &folder.path().join("one")).await.unwrap_err();
    assert!(matches!(refused, BackupError::BookThere(_)), "{refused}");
    assert_eq!(files(&folder.path().join("one")), before);
}

#[tokio::test]
async fn a_backup_that_is_cut_or_altered_writes_nothing() {
    let folder = tempfile::tempdir().unwrap();
    let (book, _) = small_book(&folder.path().join("one")).await;
    let file = folder.path().join("monday.grapevine");
    backup(&book, &file).await.unwrap();
    let whole = fs::read(&file).unwrap();
    let (bad, empty) = (folder.path().join("bad"), folder.path().join("empty"));
    fs::create_dir(&empty).unwrap();
    let refused = async |bytes: &[u8], what: &str| {
        fs::write(&bad, bytes).unwrap();
        for place in [folder.path().join("new"), empty.clone()] {
            let refused = restore(&bad, &place).await.unwrap_err();
            let known =
                matches!(refused, BackupError::NotABackup { .. } | BackupError::Altered { .. });
            assert!(known, "{what}: {refused}");
        }
        assert!(!folder.path().join("new").exists(), "{what}");
        assert_eq!(fs::read_dir(&empty).unwrap().count(), 0, "{what}");
    };
    for length in [0, 1, 511, 512, 600, whole.len() / 3, whole.len() / 2, whole.len() - 2_048] {
        refused(&whole[..length], &format!("cut to {length}")).await;
    }
    // A byte of the database, of the recording, and of the manifest at the end.
    let hash_at = |text: &[u8]| whole.windows(text.len()).rposition(|found| found == text).unwrap();
    for at in [5_000, 512 + 4_000, whole.len() / 2, hash_at(b"\"blake3\": \"") + 12] {
        let mut altered = whole.clone();
        altered[at] ^= 1;
        refused(&altered, &format!("altered at {at}")).await;
    }
    refused(b"WEBVTT\n\n", "captions").await;
    let missing = restore(&folder.path().join("nowhere"), &folder.path().join("new")).await;
    assert!(matches!(missing, Err(BackupError::Store(StoreError::File { .. }))));
    assert!(!folder.path().join("new").exists());
    restore(&file, &empty).await.unwrap();
}

#[tokio::test]
async fn names_that_lead_elsewhere_are_refused() {
    let folder = tempfile::tempdir().unwrap();
    let names = [
        "../outside",
        "/tmp/outside",
        "media/../../outside",
        "media/short",
        "book.sqlite-wal",
        "in-use.lock",
        "media",
        "manifest.json/x",
    ];
    for name in names {
        let mut tar = tar::Builder::new(Vec::new());
        let mut header = tar::Header::new_gnu();
        // The library refuses to write such names, so they are put there as bytes.
        header.as_old_mut().name[..name.len()].copy_from_slice(name.as_bytes());
        header.set_size(4);
        header.set_cksum();
        tar.append(&header, &b"evil"[..]).unwrap();
        let file = folder.path().join("bad");
        fs::write(&file, tar.into_inner().unwrap()).unwrap();
        let place = folder.path().join("in/side");
        let refused = restore(&file, &place).await.unwrap_err();
        assert!(refused.to_string().contains(name), "{refused}");
        assert!(!place.exists());
        assert!(
            !folder.path().join("in/outside").exists() && !folder.path().join("outside").exists()
        );
    }
    let mut tar = tar::Builder::new(Vec::new());
    let mut link = tar::Header::new_gnu();
    link.set_entry_type(tar::EntryType::Symlink);
    link.set_size(0);
    tar.append_link(&mut link, "book.sqlite", "/etc/passwd").unwrap();
    let file = folder.path().join("bad");
    fs::write(&file, tar.into_inner().unwrap()).unwrap();
    let refused = restore(&file, &folder.path().join("new")).await.unwrap_err();
    assert!(matches!(refused, BackupError::NotABackup { .. }), "{refused}");
}

#[tokio::test]
async fn a_backup_of_a_newer_program_says_so() {
    let folder = tempfile::tempdir().unwrap();
    let (book, _) = small_book(&folder.path().join("one")).await;
    let file = folder.path().join("monday.grapevine");
    backup(&book, &file).await.unwrap();
    let mut bytes = Vec::new();
    File::open(&file).unwrap().read_to_end(&mut bytes).unwrap();
    let mark = b"\"version\": 1";
    let at = bytes.windows(mark.len()).rposition(|found| found == mark).unwrap();
    bytes[at + mark.len() - 1] = b'2';
    fs::write(&file, bytes).unwrap();
    let refused = restore(&file, &folder.path().join("new")).await.unwrap_err();
    assert!(matches!(refused, BackupError::Newer(_)), "{refused}");
}

#[tokio::test]
async fn a_check_finds_what_is_lost_and_what_does_not_belong() {
    let folder = tempfile::tempdir().unwrap();
    let (book, hash) = small_book(folder.path()).await;
    assert_eq!(book.check().await.unwrap(), []);
    let unused = upload(&book, recording(300, 2)).await;
    let lost = upload(&book, recording(300, 3)).await;
    let media = folder.path().join("media");
    fs::write(media.join(&hash), "something else").unwrap();
    fs::remove_file(media.join(&lost)).unwrap();
    fs::write(media.join("holiday.jpg"), "").unwrap();
    fs::write(folder.path().join("notes.txt"), "").unwrap();
    let found = book.check().await.unwrap();
    let [one, two, rest @ ..] = &found[..] else { panic!("{found:?}") };
    assert!([one, two].iter().any(|it| matches!(it, Finding::MediaAltered(m) if m.hash == hash)));
    assert!([one, two].iter().any(|it| matches!(it, Finding::MediaMissing(m) if m.hash == lost)));
    assert!([one, two].iter().all(|it| it.is_fault()) && rest.iter().all(|it| !it.is_fault()));
    assert!(rest.iter().any(|it| matches!(it, Finding::MediaUnused(m) if m.hash == unused)));
    assert!(rest.contains(&Finding::StrayFile(folder.path().join("notes.txt"))));
    assert!(rest.contains(&Finding::StrayFile(media.join("holiday.jpg"))));
    assert_eq!(found.len(), 5);
    // A backup keeps what there is and says what it could not.
    let file = folder.path().join("../monday.grapevine");
    let done = backup(&book, &file).await.unwrap();
    fs::remove_file(&file).unwrap();
    assert_eq!((done.recordings, done.lost), (2, vec!["roll.wav".to_owned()]));
}

#[tokio::test]
async fn a_book_in_use_can_be_backed_up_and_checked_from_outside() {
    let folder = tempfile::tempdir().unwrap();
    let (book, _) = small_book(&folder.path().join("one")).await;
    let outside = Book::open_to_read(book.folder()).await.unwrap();
    assert_eq!(outside.check().await.unwrap(), []);
    backup(&outside, &folder.path().join("monday.grapevine")).await.unwrap();
    let ana = Member { name: "Ana".to_owned(), ..Member::default() };
    let refused = outside.add_member(&by(), &ana).await.unwrap_err();
    assert!(matches!(refused, StoreError::CannotWrite(_)), "{refused}");
    outside.close().await;
    book.add_member(&by(), &ana).await.unwrap();
    book.close().await;
    // Nor is anything in the way when nobody has it open.
    let outside = Book::open_to_read(&folder.path().join("one")).await.unwrap();
    assert_eq!(outside.members().await.unwrap().len(), 3);
    let nothing = Book::open_to_read(folder.path()).await.err().unwrap();
    assert!(matches!(nothing, StoreError::NoBook(_)), "{nothing}");
}
