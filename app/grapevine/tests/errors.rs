//! What people read when something is wrong: what, where, what to do, and the exit status.

use crate::program::Folder;

/// Runs and shows status and message; nothing may be on standard output.
fn told(folder: &Folder, arguments: &[&str]) -> String {
    let ran = folder.run(arguments);
    assert_eq!(ran.out, "", "{arguments:?}");
    format!("$ grapevine {}\n{}[{}]\n\n", arguments.join(" "), ran.err, ran.status.unwrap_or(-1))
}

#[test]
fn wrong_files() {
    let folder = Folder::new();
    folder.put("empty.vtt", "");
    folder.put("silent.vtt", "WEBVTT\n");
    folder.put("garden.vtt", "WEBVTT\n\n00:01.000 --> 00:03.000\nwater the tomatoes\n");
    folder.put("notes.txt", "buy tape\nwash the mats\n");
    folder.put(
        "broken.srt",
        "1\n00:00:01,000 --> 00:00:02,000\nokay\n\n2\n00:00:0x,000 --> 3\nand\n",
    );
    folder.put("latin.txt", b"[0:01] Jo\xe3o sits down\n");
    folder.put("picture.png", b"\x89PNG\r\n\x1a\n\0\0\0\rIHDR");
    std::fs::create_dir(folder.path("round")).unwrap();
    // Sparse: a hundred megabytes that take no room.
    std::fs::File::create(folder.path("film.mp4")).unwrap().set_len(100_000_000).unwrap();
    let names = [
        "nowhere.vtt",
        "round",
        "empty.vtt",
        "silent.vtt",
        "garden.vtt",
        "notes.txt",
        "broken.srt",
        "latin.txt",
        "picture.png",
        "film.mp4",
    ];
    let read = |name| told(&folder, &["read", name, "--between", "Petra", "Idris"]);
    insta::assert_snapshot!(names.map(read).concat());
}

#[test]
fn wrong_arguments() {
    let folder = Folder::with_demo();
    let told = |more: &[&str]| told(&folder, &[&["read", "round.vtt"], more].concat());
    insta::assert_snapshot!(
        [
            told(&["--between", "Petra", "petra"]),
            told(&["--between", "Petra:shee", "Idris"]),
            told(&["--between", "Petra"]),
            told(&["--between", "Petra", "Idris", "--length", "5"]),
            told(&["--between", "Petra", "Idris", "--length", "0:00"]),
            told(&["--between", "Petra", "Idris", "--out", "pdf"]),
            told(&[]),
        ]
        .concat()
    );
}

#[test]
fn wrong_answers() {
    let folder = Folder::with_demo();
    folder.put("others.json", r#"{"format": "grapevine answers", "version": 1, "athletes": ["Ana", "Bo"], "answers": []}"#);
    folder.put("list.json", "[\n1,\n");
    let told = |more: &[&str]| {
        told(&folder, &[&["read", "round.vtt", "--between", "Petra", "Idris"], more].concat())
    };
    insta::assert_snapshot!(
        [
            told(&["--answers", "nowhere.json"]),
            told(&["--answers", "others.json"]),
            told(&["--answers", "list.json"]),
        ]
        .concat()
    );
}

#[test]
fn wrong_uses() {
    let folder = Folder::new();
    insta::assert_snapshot!(
        [
            told(&folder, &["ask", "-", "--between", "Petra", "Idris"]),
            told(&folder, &["man", "cook"]),
            told(&folder, &["raed"]),
        ]
        .concat()
    );
}

#[test]
fn odd_lines_are_told_and_the_rest_is_read() {
    let folder = Folder::new();
    folder.put(
        "odd.vtt",
        "WEBVTT\n\n00:xx --> 00:03.000\nlost\n\n00:05.000 --> 00:08.000\nand that is the mount\n",
    );
    let ran = folder.run(&["captions", "odd.vtt"]);
    assert_eq!(ran.status, Some(0));
    assert!(ran.err.starts_with("grapevine: odd.vtt: line 3: "), "{}", ran.err);
    assert!(ran.out.contains("mount") && !ran.out.contains("lost"), "{}", ran.out);
}
