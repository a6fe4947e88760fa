//! `grapevine figures` and `grapevine export`, from ledger files and from a book.

use academy::{
    Athlete, Event, EventKind, Ledger, Person, Position, Round, RoundKind, Source, Span, Spell,
    Time,
};
use store::{Book, By, KeptLedger, RoundFacts};

use crate::program::Folder;

fn time(seconds: u64) -> Time {
    Time::from_millis(seconds * 1_000)
}

/// A round of 200 seconds told by hand: 40 standing, 120 with the first in mount, 40 with the
/// second on top in half guard; the first tries one submission.
fn ledger() -> Ledger {
    let spell = |start, end, position, top| Spell {
        span: Span::between(time(start), time(end)),
        position,
        top,
        variant: None,
        confidence: 1.0,
        source: Source::Hand,
    };
    let attempt = Event {
        time: time(100),
        kind: EventKind::SubmissionAttempt,
        actor: Some(Athlete::First),
        technique: Some("armbar".to_owned()),
        confidence: 1.0,
        source: Source::Hand,
    };
    let spells = vec![
        spell(0, 40, Position::Standing, None),
        spell(40, 160, Position::Mount, Some(Athlete::First)),
        spell(160, 200, Position::HalfGuard, Some(Athlete::Second)),
    ];
    Ledger::new(spells, vec![attempt]).expect("a ledger")
}

fn file(first: &str, second: &str, kind: RoundKind) -> String {
    let person = |name: &str| Person { name: name.to_owned(), pronoun: None };
    let round = Round::new([person(first), person(second)], kind, time(200)).expect("a round");
    academy::ledger_file::write(&round, &ledger())
}

/// A folder `ledgers` of three rounds, with belts.
pub(crate) fn with_ledgers() -> Folder {
    let folder = Folder::new();
    std::fs::create_dir(folder.path("ledgers")).expect("a folder");
    for (name, first, second, kind) in [
        ("2026-11-02-petra-idris", "Petra", "Idris", RoundKind::Flow),
        ("2026-11-09-nogi-wren-petra", "Wren", "Petra", RoundKind::Hard),
        ("2026-11-16-petra-wren", "Petra", "Wren", RoundKind::Hard),
    ] {
        folder.put(&format!("ledgers/{name}.json"), file(first, second, kind));
    }
    folder.put("ledgers/people.csv", "name,belt\nPetra,blue\nwren,white\n");
    folder
}

fn figures(folder: &Folder, more: &[&str]) -> String {
    folder.run(&[&["figures", "--rounds", "ledgers"], more].concat()).good()
}

/// The value of a row of the CSV that begins so.
fn value(csv: &str, begins: &str) -> f64 {
    let line = csv.lines().find(|line| line.starts_with(begins));
    let line = line.unwrap_or_else(|| panic!("{begins}: {csv}"));
    line[begins.len()..].split(',').next().and_then(|cell| cell.parse().ok()).expect("a number")
}

#[test]
fn the_academy_is_one_line_for_each_student() {
    insta::assert_snapshot!(figures(&with_ledgers(), &[]));
}

#[test]
fn what_a_student_did_is_added_up_from_the_files() {
    let folder = with_ledgers();
    let csv = figures(&folder, &["petra", "--about", "time", "--out", "csv"]);
    // On top in mount twice for 120 s and underneath once, of three rounds of 200 s.
    assert!((value(&csv, "Petra,time,mount,top,,") - 0.4).abs() < 1e-6, "{csv}");
    assert!((value(&csv, "Petra,time,mount,bottom,,") - 0.2).abs() < 1e-6, "{csv}");
    assert!((value(&csv, "Petra,round,,,submission_attempt,") - 0.2).abs() < 1e-6, "{csv}");
    assert!(
        csv.starts_with("student,what,position,role,doing,value,unit,count,low,high,confirmed\r\n")
    );
    // Fewer rounds, other figures.
    let nogi = figures(&folder, &["Petra", "--about", "time", "--out", "csv", "--no-gi"]);
    assert!(!nogi.contains("Petra,time,mount,top"), "{nogi}");
    assert!((value(&nogi, "Petra,time,mount,bottom,,") - 0.6).abs() < 1e-6, "{nogi}");
    let flow = figures(&folder, &["--out", "csv", "--kind", "flow,competition"]);
    assert!(
        (value(&flow, "Petra,overview,,,rounds,") - 1.0).abs() < 1e-6 && !flow.contains("Wren")
    );
    let late = figures(&folder, &["--out", "csv", "--since", "2026-11-09"]);
    assert!(
        (value(&late, "Petra,overview,,,rounds,") - 2.0).abs() < 1e-6 && !late.contains("Idris")
    );
}

#[test]
fn json_says_what_csv_says() {
    let folder = with_ledgers();
    let json = figures(&folder, &["Petra", "--out", "json"]);
    let read: serde_json::Value = serde_json::from_str(&json).expect("it is JSON");
    assert_eq!(
        (read["format"].as_str(), read["version"].as_i64()),
        (Some("grapevine figures"), Some(1))
    );
    let rows = read["figures"].as_array().expect("a list");
    let csv = figures(&folder, &["Petra", "--out", "csv"]);
    assert_eq!(rows.len(), csv.lines().count() - 1);
    let mount = rows.iter().find(|row| row["what"] == "time" && row["position"] == "mount");
    assert_eq!(
        mount.map(|row| (&row["role"], &row["unit"])),
        Some((&"top".into(), &"share".into()))
    );
    assert!(rows.iter().all(|row| row["student"] == "Petra" && row["value"].is_number()));
    assert_eq!(json, figures(&folder, &["Petra", "--out", "json"]), "the order is stable");
}

#[test]
fn a_student_is_told_as_text() {
    let text = figures(&with_ledgers(), &["Wren", "--about", "time"]);
    insta::assert_snapshot!(text);
}

#[test]
fn rounds_are_looked_at_one_by_one() {
    let folder = with_ledgers();
    let round = ["--round", "2026-11-02-petra-idris", "--out", "csv"];
    let of = |about: &[&str]| {
        let ran = folder.run(&[&["figures", "--rounds", "ledgers"], about, &round].concat());
        assert_eq!(ran.status, Some(0), "{}", ran.err);
        ran.out
    };
    let one = of(&["--about", "round"]);
    assert!((value(&one, "Idris,time,mount,bottom,,") - 0.6).abs() < 1e-6, "{one}");
    // Mount from standing: a takedown and the mount, both held.
    let scored = of(&["--about", "scoring"]);
    assert!(value(&scored, "Petra,scoring,,,points,") > 0.0, "{scored}");
    let same = of(&["--about", "agreement", "--with", "ledgers/2026-11-16-petra-wren.json"]);
    let share = value(&same, "Petra and Idris,agreement,,,position_and_top_share,");
    assert!((share - 1.0).abs() < 1e-9, "{same}");
}

#[test]
fn changes_and_what_was_taught_need_a_day() {
    let folder = with_ledgers();
    let taught =
        ["--about", "taught", "--technique", "Armbar", "--since", "2026-11-10", "--out", "csv"];
    let csv = figures(&folder, &[&["Petra"], &taught[..]].concat());
    // Once in each half: 400 s before, 200 s since.
    assert!((value(&csv, "Petra,taught,,,armbar_before,") - 0.15).abs() < 1e-6, "{csv}");
    assert!((value(&csv, "Petra,taught,,,armbar_since,") - 0.3).abs() < 1e-6, "{csv}");
    let changes = figures(&folder, &["Petra", "--about", "changes", "--since", "2026-11-10"]);
    assert!(changes.contains("before") && changes.contains("since 2026-11-10"), "{changes}");
}

#[test]
fn what_is_wrong_is_said() {
    let folder = with_ledgers();
    std::fs::create_dir(folder.path("none")).unwrap();
    std::fs::create_dir(folder.path("undated")).unwrap();
    folder.put("undated/petra-idris.json", file("Petra", "Idris", RoundKind::Flow));
    std::fs::create_dir(folder.path("other")).unwrap();
    folder.put("other/2026-11-02-x.json", "{}");
    let told = |arguments: &[&str]| {
        let ran = folder.run(arguments);
        assert_eq!(ran.out, "", "{arguments:?}");
        let status = ran.status.unwrap_or(-1);
        format!("$ grapevine {}\n{}[{status}]\n\n", arguments.join(" "), ran.err)
    };
    let from = ["figures", "--rounds", "ledgers"];
    let with = |more: &[&str]| told(&[&from[..], more].concat());
    insta::assert_snapshot!(
        [
            with(&["Nobody"]),
            with(&["--about", "round"]),
            with(&["--about", "round", "--round", "99"]),
            with(&["--about", "agreement", "--round", "2026-11-02-petra-idris"]),
            with(&["--about", "scoring", "--round", "2026-11-02-petra-idris", "--rules", "chess"]),
            with(&["--about", "taught"]),
            with(&["Petra", "--about", "changes"]),
            with(&["--since", "2030-01-01"]),
            with(&["--about", "everything"]),
            told(&["figures", "--rounds", "none"]),
            told(&["figures", "--rounds", "undated"]),
            told(&["figures", "--rounds", "other"]),
            told(&["figures", "--rounds", "nowhere"]),
            told(&["figures", "--book", "nowhere"]),
        ]
        .concat()
    );
}

/// A book of two rounds in the folder `book`, one of which was never read; it stays open.
pub(crate) async fn with_book(folder: &Folder) -> Book {
    let book = Book::open(&folder.path("book")).await.expect("the book opens");
    let by = By { who: "Ines".to_owned(), at: 0, seen: None };
    let mut people = Vec::new();
    for name in ["Petra", "Idris"] {
        let member = academy::Member { name: name.to_owned(), ..Default::default() };
        people.push(book.add_member(&by, &member).await.expect("a new name"));
    }
    let facts = RoundFacts {
        date: "2026-11-02".parse().expect("a day"),
        kind: RoundKind::Flow,
        gi: true,
        athletes: [people[0], people[1]],
        length: time(200),
        class: None,
        talk: None,
        media: None,
        confirmed: None,
    };
    let read = book.add_round(&by, &facts).await.expect("a round");
    book.add_round(&by, &facts).await.expect("a round");
    let kept = KeptLedger { reading: "x".to_owned(), open_questions: 0, ledger: ledger() };
    book.keep_ledger(read, &kept).await.expect("it is kept");
    book
}

#[tokio::test]
async fn a_book_is_read_while_it_is_open_elsewhere() {
    let folder = Folder::new();
    let book = with_book(&folder).await;
    let ran = folder.run(&["figures", "--book", "book", "--out", "csv"]);
    assert_eq!(ran.status, Some(0), "{}", ran.err);
    assert!((value(&ran.out, "Petra,overview,,,rounds,") - 1.0).abs() < 1e-6, "{}", ran.out);
    assert!(ran.err.contains("1 round is left out"), "{}", ran.err);
    let ran = folder.run(&["export", "--book", "book", "--parquet", "tables"]);
    assert!(ran.out.starts_with("Wrote 1 round to tables"), "{} {}", ran.out, ran.err);
    book.close().await;
}

#[test]
fn tables_are_written_whole_and_replaced_only_when_asked_to() {
    let folder = with_ledgers();
    let export = |more: &[&str]| {
        folder.run(&[&["export", "--rounds", "ledgers", "--parquet", "out/tables"], more].concat())
    };
    assert!(export(&[]).good().starts_with("Wrote 3 rounds to out/tables"));
    let all = ["events.parquet", "people.parquet", "rounds.parquet", "spells.parquet"];
    let names = || {
        let entries = std::fs::read_dir(folder.path("out/tables")).expect("it is there");
        let name = |entry: std::io::Result<std::fs::DirEntry>| {
            entry.expect("an entry").file_name().to_string_lossy().into_owned()
        };
        let mut names: Vec<String> = entries.map(name).collect();
        names.sort();
        names
    };
    assert_eq!(names(), all);
    let read = || all.map(|name| std::fs::read(folder.path("out/tables").join(name)).unwrap());
    let first = read();
    let again = export(&[]);
    assert_eq!(again.status, Some(1), "{}", again.out);
    assert!(again.err.contains("is there already"), "{}", again.err);
    export(&["--force"]).good();
    assert_eq!(read(), first, "the same rounds give the same bytes");
    let holds = |bytes: &[u8]| bytes.windows(5).any(|part| part == b"Petra");
    assert!(!first.iter().any(|bytes| holds(bytes)));
    export(&["--force", "--names"]).good();
    assert_eq!(read().map(|bytes| holds(&bytes)), [false, true, false, false]);
    assert_eq!(names(), all);
}
