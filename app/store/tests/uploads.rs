//! Recordings coming in over connections that break, and nothing else coming in.

use std::fs;
use std::path::Path;

use store::uploads::{LARGEST, STALE};
use store::{Book, StoreError, UploadError, UploadId};

const NOW: i64 = 1_790_000_000;

/// A sound file of so many bytes, as far as its first bytes tell; `seed` makes it another one.
pub(crate) fn recording(bytes: usize, seed: u8) -> Vec<u8> {
    let mut made = b"RIFF\0\0\0\0WAVEfmt ".to_vec();
    made.extend((made.len()..bytes).map(|index| (index as u8).wrapping_mul(31) ^ seed));
    made.truncate(bytes);
    made
}

fn media_files(folder: &Path) -> Vec<String> {
    let entries = fs::read_dir(folder.join("media")).expect("there is a media folder");
    let name = |entry: std::io::Result<fs::DirEntry>| {
        entry.expect("an entry").file_name().to_string_lossy().into_owned()
    };
    let mut names: Vec<String> = entries.map(name).collect();
    names.sort();
    names
}

#[tokio::test]
async fn a_recording_comes_in_over_a_connection_that_breaks() {
    let folder = tempfile::tempdir().unwrap();
    let book = Book::open(folder.path()).await.unwrap();
    let bytes = recording(10_000, 1);
    let id = book.begin_upload("C:\\videos\\../roll\u{7}.wav", 10_000, i64::MAX).await.unwrap();
    assert_eq!(book.upload_size(&id).await.unwrap(), 0);
    assert_eq!(book.append(&id, 0, bytes[..4_000].to_vec()).await.unwrap(), 4_000);
    // The answer got lost, so the same piece comes again.
    let again = book.append(&id, 0, bytes[..4_000].to_vec()).await.unwrap_err();
    assert!(matches!(again, UploadError::Offset { there: 4_000 }), "{again}");
    let early = book.append(&id, 9_000, bytes[9_000..].to_vec()).await.unwrap_err();
    assert!(matches!(early, UploadError::Offset { there: 4_000 }), "{early}");
    let unfinished = book.finish_upload(&id).await.unwrap_err();
    assert!(matches!(unfinished, UploadError::Incomplete { there: 4_000, announced: 10_000 }));
    book.close().await;

    let book = Book::open(folder.path()).await.unwrap();
    assert_eq!(book.upload_size(&id).await.unwrap(), 4_000);
    let long = book.append(&id, 4_000, vec![0; 6_001]).await.unwrap_err();
    assert!(matches!(long, UploadError::TooLong { announced: 10_000 }), "{long}");
    assert_eq!(book.upload_size(&id).await.unwrap(), 4_000, "nothing of it was kept");
    assert_eq!(book.append(&id, 4_000, bytes[4_000..].to_vec()).await.unwrap(), 10_000);
    let hash = book.finish_upload(&id).await.unwrap();
    assert_eq!(hash, blake3::hash(&bytes).to_hex().as_str());
    let media = book.media(&hash).await.unwrap();
    assert_eq!((media.name.as_str(), media.media_type.as_str()), ("roll.wav", "audio/wav"));
    assert_eq!(media.bytes, 10_000);
    assert_eq!(fs::read(book.media_path(&hash).await.unwrap()).unwrap(), bytes);
    assert_eq!(media_files(folder.path()), [hash.as_str()]);
    let gone = book.append(&id, 10_000, Vec::new()).await.unwrap_err();
    assert!(matches!(gone, UploadError::NoUpload), "{gone}");
}

#[tokio::test]
async fn the_same_recording_twice_is_kept_once() {
    let folder = tempfile::tempdir().unwrap();
    let book = Book::open(folder.path()).await.unwrap();
    let mut hashes = Vec::new();
    for name in ["monday.wav", "copy of monday.wav"] {
        let id = book.begin_upload(name, 500, NOW).await.unwrap();
        book.append(&id, 0, recording(500, 2)).await.unwrap();
        hashes.push(book.finish_upload(&id).await.unwrap());
    }
    assert_eq!(hashes[0], hashes[1]);
    assert_eq!(book.all_media().await.unwrap().len(), 1);
    assert_eq!(book.media(&hashes[0]).await.unwrap().name, "monday.wav");
    assert_eq!(media_files(folder.path()), [hashes[0].as_str()]);
}

#[tokio::test]
async fn pieces_sent_at_once_do_not_mix() {
    let folder = tempfile::tempdir().unwrap();
    let book = Book::open(folder.path()).await.unwrap();
    let bytes = recording(60_000, 3);
    let id = book.begin_upload("roll.wav", 60_000, NOW).await.unwrap();
    let send = || book.append(&id, 0, bytes[..30_000].to_vec());
    let sent = tokio::join!(send(), send(), send());
    let taken = [sent.0, sent.1, sent.2].into_iter().filter(Result::is_ok).count();
    assert_eq!(taken, 1);
    book.append(&id, 30_000, bytes[30_000..].to_vec()).await.unwrap();
    let hash = book.finish_upload(&id).await.unwrap();
    assert_eq!(hash, blake3::hash(&bytes).to_hex().as_str());
}

#[tokio::test]
async fn what_is_no_recording_is_refused_at_its_first_bytes() {
    let folder = tempfile::tempdir().unwrap();
    let book = Book::open(folder.path()).await.unwrap();
    for wrong in [0, LARGEST + 1, u64::MAX] {
        let refused = book.begin_upload("roll.mp4", wrong, NOW).await.unwrap_err();
        assert!(matches!(refused, UploadError::Size), "{refused}");
    }
    let page = vec![b'<'; 300];
    let id = book.begin_upload("roll.mp4", 5_000, NOW).await.unwrap();
    let refused = book.append(&id, 0, page.clone()).await.unwrap_err();
    assert!(matches!(refused, UploadError::NotARecording), "{refused}");
    // In pieces too small to tell, it is told at the end.
    let id = book.begin_upload("roll.mp4", 300, NOW).await.unwrap();
    for (offset, byte) in page.iter().enumerate() {
        book.append(&id, offset as u64, vec![*byte]).await.unwrap();
    }
    let refused = book.finish_upload(&id).await.unwrap_err();
    assert!(refused.to_string().contains("mp4, mov, webm"), "{refused}");
    book.drop_upload(&id).await.unwrap();
    book.drop_upload(&id).await.unwrap();
    let gone = book.upload_size(&id).await.unwrap_err();
    assert!(matches!(gone, UploadError::NoUpload), "{gone}");
    assert!(book.all_media().await.unwrap().is_empty());
}

#[tokio::test]
async fn ids_and_hashes_are_never_paths() {
    let folder = tempfile::tempdir().unwrap();
    let book = Book::open(folder.path()).await.unwrap();
    let paths = [
        "",
        ".",
        "..",
        "../book.sqlite",
        "/etc/passwd",
        "..%2f..%2fetc%2fpasswd",
        "book.sqlite",
        "aaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaa/",
        "AAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAA",
        "../../aaaaaaaaaaaaaaaaaaaaaaaaaa",
        "aaaaaaaaaaaaaaa\0aaaaaaaaaaaaaaaa",
    ];
    for path in paths {
        assert_eq!(UploadId::parse(path), None, "{path}");
        let refused = book.media_path(path).await.unwrap_err();
        assert!(matches!(refused, StoreError::Missing("recording")), "{path}: {refused}");
    }
    // Files that lie in the folder but not in the book are not given out either.
    let stray = "ab".repeat(32);
    fs::write(folder.path().join("media").join(&stray), "secret").unwrap();
    assert!(book.media_path(&stray).await.is_err());
    // An id that is well formed and unknown touches nothing.
    let unknown = UploadId::parse(&"0".repeat(32)).unwrap();
    assert!(matches!(book.append(&unknown, 0, vec![1]).await, Err(UploadError::NoUpload)));
    assert_eq!(media_files(folder.path()), [stray]);
}

#[tokio::test]
async fn an_upload_of_last_week_is_given_up_when_the_book_is_opened() {
    let folder = tempfile::tempdir().unwrap();
    let book = Book::open(folder.path()).await.unwrap();
    let now = std::time::SystemTime::now().duration_since(std::time::UNIX_EPOCH).unwrap();
    let now = i64::try_from(now.as_secs()).unwrap();
    let old = book.begin_upload("old.wav", 500, now - STALE - 60).await.unwrap();
    let young = book.begin_upload("young.wav", 500, now - STALE + 3_600).await.unwrap();
    for id in [&old, &young] {
        book.append(id, 0, recording(100, 0)).await.unwrap();
    }
    // What a kill between two steps leaves: bytes without an upload, and a second name.
    let media = folder.path().join("media");
    fs::write(media.join("f".repeat(32)), "left").unwrap();
    fs::hard_link(media.join(young.to_string()), media.join("e".repeat(64))).unwrap();
    book.close().await;
    let book = Book::open(folder.path()).await.unwrap();
    assert!(matches!(book.upload_size(&old).await, Err(UploadError::NoUpload)));
    assert_eq!(book.upload_size(&young).await.unwrap(), 100);
    assert_eq!(media_files(folder.path()), [young.to_string()]);
}
