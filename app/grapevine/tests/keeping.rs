//! `grapevine backup`, `restore` and `check`: the book kept safe from the command line.

use store::{Book, By};

use crate::program::{Folder, Ran};

/// A book of one person in the folder `book`.
fn with_book() -> Folder {
    let folder = Folder::new();
    let runtime = tokio::runtime::Builder::new_current_thread().enable_all().build();
    runtime.expect("threads start").block_on(async {
        let book = Book::open(&folder.path("book")).await.expect("the book opens");
        let by = By { who: "Ines".to_owned(), at: 0, seen: None };
        let petra = academy::Member { name: "Petra".to_owned(), ..Default::default() };
        book.add_member(&by, &petra).await.expect("she is added");
        let wav = b"RIFF\0\0\0\0WAVEfmt ".to_vec();
        let upload = book.begin_upload("monday.wav", wav.len() as u64, i64::MAX).await;
        let upload = upload.expect("it begins");
        book.append(&upload, 0, wav).await.expect("it comes in");
        book.finish_upload(&upload).await.expect("it is kept");
        book.close().await;
    });
    folder
}

/// What it said, with the folder's name taken out.
fn said(folder: &Folder, ran: &Ran) -> String {
    let place = folder.path("").display().to_string();
    format!("{}{}[{}]\n\n", ran.out, ran.err, ran.status.unwrap_or(-1)).replace(&place, "")
}

#[test]
fn a_backup_is_restored_where_there_is_no_book() {
    let folder = with_book();
    let wrote = folder.run(&["backup", "monday.grapevine", "--book", "book"]).good();
    assert_eq!(wrote, "Wrote monday.grapevine: the book with 1 recording, 1 MB.\n");
    let there = folder.run(&["backup", "monday.grapevine", "--book", "book"]);
    assert_eq!(there.status, Some(1), "{}", there.err);
    let restored = folder.run(&["restore", "monday.grapevine", "--book", "other"]).good();
    assert_eq!(restored, "The book is in other now, with 1 recording.\n");
    let again = folder.run(&["restore", "monday.grapevine", "--book", "other"]);
    assert_eq!(again.status, Some(1), "{}", again.err);
    // Also before it was ever opened to be changed.
    let checked = folder.run(&["check", "--book", "other"]).good();
    assert!(
        checked.ends_with("The book is whole: 1 person, 0 rounds, 1 recording.\n"),
        "{checked}"
    );
    assert!(checked.starts_with("no round shows the recording monday.wav"), "{checked}");
    assert_eq!(folder.names(), ["book", "monday.grapevine", "other"]);
}

#[test]
fn the_book_is_in_the_folder_for_data() {
    let folder = with_book();
    std::fs::create_dir_all(folder.path("home/.local/share")).unwrap();
    std::fs::rename(folder.path("book"), folder.path("home/.local/share/grapevine")).unwrap();
    let check = |variable: &str, place: &str| {
        let mut command = folder.command();
        command.env_remove("HOME").env_remove("XDG_DATA_HOME").arg("check");
        command.env(variable, folder.path(place)).output().expect("it runs").status.code()
    };
    assert_eq!(check("HOME", "home"), Some(0));
    assert_eq!(check("XDG_DATA_HOME", "home/.local/share"), Some(0));
    assert_eq!(check("HOME", "elsewhere"), Some(1));
    // A path that is not absolute does not count.
    assert_eq!(check("NOTHING", "home"), Some(2));
}

#[test]
fn what_is_wrong_is_said() {
    let folder = with_book();
    let run = |arguments: &[&str]| said(&folder, &folder.run(arguments));
    folder.put("captions.vtt", "WEBVTT\n");
    folder.run(&["backup", "whole", "--book", "book"]).good();
    let whole = std::fs::read(folder.path("whole")).unwrap();
    let mut altered = whole.clone();
    altered[5_000] ^= 1;
    folder.put("altered", altered);
    folder.put("cut", &whole[..whole.len() / 2]);
    let mut told = [
        run(&["check", "--book", "nowhere"]),
        run(&["backup", "file", "--book", "nowhere"]),
        run(&["backup", "whole", "--book", "book"]),
        run(&["backup", "no/such/folder", "--book", "book"]),
        run(&["restore", "nowhere", "--book", "new"]),
        run(&["restore", "captions.vtt", "--book", "new"]),
        run(&["restore", "altered", "--book", "new"]),
        run(&["restore", "cut", "--book", "new"]),
        run(&["restore", "whole", "--book", "book"]),
    ]
    .concat();
    for entry in std::fs::read_dir(folder.path("book/media")).unwrap() {
        std::fs::remove_file(entry.unwrap().path()).unwrap();
    }
    told += &run(&["check", "--book", "book"]);
    told += &run(&["backup", "without", "--book", "book"]);
    folder.put("book/book.sqlite", vec![7; 9_000]);
    told += &run(&["check", "--book", "book"]);
    assert!(!folder.path("new").exists() && !folder.path("nowhere").exists());
    insta::assert_snapshot!(told);
}
