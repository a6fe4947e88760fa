//! One way through the book: people, a class, a round, answers, corrections, undo, a restart.

use academy::{
    Answer, Athlete, Belt, ByHand, Class, Member, Position, RoundKind, Source, Span, Spell, Time,
};
use store::{Book, By, Captions, Remark, RoundFacts, RoundFilter, StoreError, Subject};

fn by() -> By {
    By { who: "Ines".to_owned(), at: 1_790_000_000, seen: None }
}

fn named(name: &str) -> Member {
    Member { name: name.to_owned(), belt: Belt::Blue, weight: Some(70.5), ..Member::default() }
}

#[tokio::test]
async fn what_was_told_is_there_after_a_restart_and_can_be_undone() {
    let folder = tempfile::tempdir().unwrap();
    let book = Book::open(folder.path()).await.unwrap();
    let petra = book.add_member(&by(), &named("Petra")).await.unwrap();
    let idris = book.add_member(&by(), &named("Idris")).await.unwrap();
    let taken = book.add_member(&by(), &named(" petra ")).await.unwrap_err();
    assert!(matches!(taken, StoreError::Refused(_)), "{taken}");
    let day = "2026-11-02".parse().unwrap();
    let class = Class {
        date: day,
        title: "Fundamentals".into(),
        topic: "Half guard".into(),
        notes: String::new(),
    };
    let class = book.put_class(&by(), None, &class, &[petra, idris]).await.unwrap();
    let facts = RoundFacts {
        date: day,
        kind: RoundKind::Flow,
        gi: true,
        athletes: [petra, idris],
        length: Time::from_millis(300_000),
        class: Some(class),
        talk: Some(Captions { name: "round.vtt".into(), text: "WEBVTT\n".into() }),
        media: None,
        confirmed: None,
    };
    let round = book.add_round(&by(), &facts).await.unwrap();
    let answer = Answer::State {
        time: Time::from_millis(12_000),
        position: Position::Mount,
        top: Some(Athlete::Second),
    };
    book.add_answer(&by(), round, "Mount at 0:12", &answer).await.unwrap();
    let spell = Spell {
        span: Span::between(Time::from_millis(0), Time::from_millis(9_000)),
        position: Position::Standing,
        top: None,
        variant: None,
        confidence: 1.0,
        source: Source::Hand,
    };
    let by_hand = ByHand { spells: vec![spell], ..ByHand::default() };
    book.put_by_hand(&by(), round, "Standing to 0:09", &by_hand).await.unwrap();
    book.close().await;

    let book = Book::open(folder.path()).await.unwrap();
    let told = book.told(round).await.unwrap();
    assert_eq!(told.answers, std::slice::from_ref(&answer));
    assert_eq!(told.by_hand, by_hand);
    assert_eq!(book.round_facts(round).await.unwrap(), facts);
    let subject = Subject::Round(round);
    assert_eq!(book.undo(subject, &by()).await.unwrap().as_deref(), Some("Standing to 0:09"));
    assert_eq!(book.undo(subject, &by()).await.unwrap().as_deref(), Some("Mount at 0:12"));
    assert_eq!(book.told(round).await.unwrap(), store::Told::default());
    assert_eq!(book.redo(subject, &by()).await.unwrap().as_deref(), Some("Mount at 0:12"));
    assert_eq!(book.told(round).await.unwrap().answers, [answer]);
    assert_eq!(book.undo(subject, &by()).await.unwrap().as_deref(), Some("Mount at 0:12"));
    assert_eq!(book.undo(subject, &by()).await.unwrap().as_deref(), Some("Added the round"));
    assert_eq!(book.undo(subject, &by()).await.unwrap(), None);
    assert!(book.rounds(&RoundFilter::default()).await.unwrap().is_empty());
    assert_eq!(book.redo(subject, &by()).await.unwrap().as_deref(), Some("Added the round"));
    assert_eq!(book.rounds(&RoundFilter::default()).await.unwrap()[0].names, ["Petra", "Idris"]);
    // Somebody in a round cannot be undone away.
    let refused = book.delete_member(&by(), petra).await.unwrap_err();
    assert!(matches!(refused, StoreError::Refused(_)), "{refused}");
}

#[tokio::test]
async fn a_page_that_is_out_of_date_changes_nothing() {
    let folder = tempfile::tempdir().unwrap();
    let book = Book::open(folder.path()).await.unwrap();
    let seen = book.revision(Subject::Roster).await.unwrap();
    let fresh = By { seen: Some(seen), ..by() };
    book.add_member(&fresh, &named("Petra")).await.unwrap();
    let stale = book.add_member(&fresh, &named("Idris")).await.unwrap_err();
    assert!(matches!(stale, StoreError::OutOfDate), "{stale}");
    assert_eq!(book.members().await.unwrap().len(), 1);
}

#[tokio::test]
async fn a_note_goes_to_whoever_was_really_in_the_round() {
    let folder = tempfile::tempdir().unwrap();
    let book = Book::open(folder.path()).await.unwrap();
    let petra = book.add_member(&by(), &named("Petra")).await.unwrap();
    let idris = book.add_member(&by(), &named("Idris")).await.unwrap();
    let wren = book.add_member(&by(), &named("Wren")).await.unwrap();
    let mut facts = RoundFacts {
        date: "2026-11-02".parse().unwrap(),
        kind: RoundKind::Flow,
        gi: true,
        athletes: [petra, idris],
        length: Time::from_millis(300_000),
        class: None,
        talk: None,
        media: None,
        confirmed: None,
    };
    let round = book.add_round(&by(), &facts).await.unwrap();
    let time = Time::from_millis(12_000);
    let words = "Keep the elbow in".to_owned();
    let note = Remark { id: 0, round, time, member: Some(idris), words };
    book.put_remark(&by(), &note).await.unwrap();
    // It was Wren, not Idris, and she stood first.
    facts.athletes = [wren, petra];
    book.change_round(&by(), round, "Changed who it was", &facts).await.unwrap();
    assert!(book.remarks_for(idris).await.unwrap().is_empty());
    assert!(book.remarks_for(petra).await.unwrap().is_empty());
    assert_eq!(book.remarks_for(wren).await.unwrap().len(), 1);
    book.undo(Subject::Round(round), &by()).await.unwrap();
    assert_eq!(book.remarks_for(idris).await.unwrap().len(), 1);
}

#[tokio::test]
async fn what_is_told_live_leaves_the_other_facts_as_they_are() {
    let folder = tempfile::tempdir().unwrap();
    let book = Book::open(folder.path()).await.unwrap();
    let petra = book.add_member(&by(), &named("Petra")).await.unwrap();
    let idris = book.add_member(&by(), &named("Idris")).await.unwrap();
    let planned = RoundFacts {
        date: "2026-11-02".parse().unwrap(),
        kind: RoundKind::Flow,
        gi: true,
        athletes: [petra, idris],
        length: Time::from_millis(300_000),
        class: None,
        talk: None,
        media: None,
        confirmed: None,
    };
    let round = book.add_round(&by(), &planned).await.unwrap();
    let hard = RoundFacts { kind: RoundKind::Hard, ..planned };
    book.change_round(&by(), round, "Changed the kind", &hard).await.unwrap();
    let length = Time::from_millis(340_000);
    let spell = Spell {
        span: Span::between(Time::ZERO, length),
        position: Position::Standing,
        top: None,
        variant: None,
        confidence: 1.0,
        source: Source::Hand,
    };
    let by_hand = ByHand { spells: vec![spell], ..ByHand::default() };
    book.put_live(&by(), round, "Started the clock", length, &by_hand).await.unwrap();
    let longer = RoundFacts { length, ..hard.clone() };
    assert_eq!(book.round_facts(round).await.unwrap(), longer);
    assert_eq!(book.told(round).await.unwrap().by_hand, by_hand);
    // It is one change.
    book.undo(Subject::Round(round), &by()).await.unwrap();
    assert_eq!(book.round_facts(round).await.unwrap(), hard);
    assert_eq!(book.told(round).await.unwrap().by_hand, ByHand::default());
}

#[cfg(unix)]
#[tokio::test]
async fn a_new_folder_is_for_its_owner_alone() {
    use std::os::unix::fs::PermissionsExt as _;

    let folder = tempfile::tempdir().unwrap();
    let data = folder.path().join("club/book");
    Book::open(&data).await.unwrap().close().await;
    let mode = std::fs::metadata(&data).unwrap().permissions().mode();
    assert_eq!(mode & 0o077, 0, "{mode:o}");
}
