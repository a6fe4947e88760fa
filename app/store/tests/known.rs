//! All rounds with their ledgers at once, and which of them must be read again.

use academy::{
    Answer, Athlete, ByHand, Event, EventKind, Ledger, Member, Position, RoundKind, Source, Span,
    Spell, Time,
};
use store::{
    Book, By, Captions, KeptLedger, KeptRound, MemberId, Remark, RoundFacts, RoundId, Subject,
};

fn by() -> By {
    By { who: "Ines".to_owned(), at: 1_790_000_000, seen: None }
}

fn time(seconds: u64) -> Time {
    Time::from_millis(seconds * 1_000)
}

fn ledger(seconds: u64, change: u64) -> Ledger {
    let spell = |start, end, position, top| Spell {
        span: Span::between(time(start), time(end)),
        position,
        top,
        variant: None,
        confidence: 0.75,
        source: Source::Talk,
    };
    let takedown = Event {
        time: time(change),
        kind: EventKind::Takedown,
        actor: Some(Athlete::Second),
        technique: Some("double leg".to_owned()),
        confidence: 0.5,
        source: Source::Hand,
    };
    let spells = vec![
        spell(0, change, Position::Standing, None),
        spell(change, seconds, Position::Mount, Some(Athlete::Second)),
    ];
    Ledger::new(spells, vec![takedown]).expect("a ledger")
}

fn facts(day: &str, athletes: [MemberId; 2], talk: bool) -> RoundFacts {
    RoundFacts {
        date: day.parse().expect("a day"),
        kind: RoundKind::Hard,
        gi: false,
        athletes,
        length: time(300),
        class: None,
        talk: talk.then(|| Captions { name: "round.vtt".into(), text: "WEBVTT\n".into() }),
        media: None,
        confirmed: None,
    }
}

async fn keep(book: &Book, round: RoundId, ledger: Ledger) {
    let kept = KeptLedger { reading: "as it was".to_owned(), open_questions: 3, ledger };
    book.keep_ledger(round, &kept).await.expect("it is kept");
}

struct Academy {
    // Holds the folder while the book is open.
    _folder: tempfile::TempDir,
    book: Book,
    petra: MemberId,
    /// With a talk, of the later day.
    talked: RoundId,
    /// By hand, of the earlier day, of two others.
    by_hand: RoundId,
}

/// Two rounds whose ledgers are kept, the later one first in the book.
async fn academy() -> Academy {
    let folder = tempfile::tempdir().expect("it is done");
    let book = Book::open(folder.path()).await.expect("it is done");
    let mut people = Vec::new();
    for name in ["Petra", "Idris", "Wren", "Callum"] {
        let member = Member { name: name.to_owned(), ..Member::default() };
        people.push(book.add_member(&by(), &member).await.expect("it is done"));
    }
    let [petra, idris, wren, callum] = people[..] else { panic!("four people") };
    let talked = book
        .add_round(&by(), &facts("2026-11-09", [petra, idris], true))
        .await
        .expect("it is done");
    let by_hand = book
        .add_round(&by(), &facts("2026-11-02", [wren, callum], false))
        .await
        .expect("it is done");
    keep(&book, talked, ledger(300, 60)).await;
    keep(&book, by_hand, ledger(300, 90)).await;
    Academy { _folder: folder, book, petra, talked, by_hand }
}

async fn unread(book: &Book) -> Vec<RoundId> {
    book.known_rounds().await.expect("all rounds").unread
}

#[tokio::test]
async fn rounds_come_by_day_with_their_own_ledgers() {
    let Academy { _folder, book, talked, by_hand, petra, .. } = academy().await;
    let new = facts("2026-11-05", book.round_facts(talked).await.unwrap().athletes, true);
    let new = book.add_round(&by(), &new).await.unwrap();
    let known = book.known_rounds().await.unwrap();
    assert_eq!(known.unread, [new]);
    let ids: Vec<RoundId> = known.rounds.iter().map(|round| round.id).collect();
    assert_eq!(ids, [by_hand, talked]);
    let second: &KeptRound = &known.rounds[1];
    assert_eq!(second.ledger, ledger(300, 60));
    assert_eq!(known.rounds[0].ledger, ledger(300, 90));
    assert_eq!(second.athletes[0], petra);
    assert_eq!((second.kind, second.gi, second.confirmed), (RoundKind::Hard, false, false));
    assert_eq!(second.length, time(300));

    // A deleted round leaves its ledger behind; nobody else gets it, and undoing asks to read it.
    book.delete_round(&by(), by_hand).await.unwrap();
    let known = book.known_rounds().await.unwrap();
    assert_eq!(known.rounds.len(), 1);
    assert_eq!(known.rounds[0].ledger, ledger(300, 60));
    book.undo(Subject::Round(by_hand), &by()).await.unwrap();
    assert_eq!(unread(&book).await, [by_hand, new]);
}

#[tokio::test]
async fn a_round_is_unread_once_what_it_was_read_from_changes() {
    let Academy { _folder, book, talked, by_hand, .. } = academy().await;
    let subject = Subject::Round(talked);
    let answer = Answer::Top { time: time(70), top: Athlete::First };
    book.add_answer(&by(), talked, "Answered", &answer).await.unwrap();
    assert_eq!(unread(&book).await, [talked]);
    // How much was open is still told.
    assert_eq!(book.kept_ledger(talked).await.unwrap().unwrap().open_questions, 3);

    keep(&book, talked, ledger(300, 61)).await;
    assert!(unread(&book).await.is_empty());
    book.undo(subject, &by()).await.unwrap();
    assert_eq!(unread(&book).await, [talked]);
    keep(&book, talked, ledger(300, 60)).await;
    book.redo(subject, &by()).await.unwrap();
    assert_eq!(unread(&book).await, [talked]);

    keep(&book, talked, ledger(300, 61)).await;
    book.put_by_hand(&by(), by_hand, "By hand", &hand()).await.unwrap();
    assert_eq!(unread(&book).await, [by_hand]);
    keep(&book, by_hand, ledger(300, 90)).await;
    let shorter = RoundFacts { length: time(200), ..book.round_facts(by_hand).await.unwrap() };
    book.change_round(&by(), by_hand, "Shorter", &shorter).await.unwrap();
    assert_eq!(unread(&book).await, [by_hand]);
}

fn hand() -> ByHand {
    let ledger = ledger(300, 90);
    ByHand {
        spells: ledger.spells().to_vec(),
        events: ledger.events().to_vec(),
        struck: Vec::new(),
    }
}

#[tokio::test]
async fn words_and_names_concern_the_rounds_that_are_read_from_a_talk() {
    let Academy { _folder, book, talked, by_hand, petra, .. } = academy().await;
    book.teach(&by(), "the gift wrap", "back control").await.unwrap();
    assert_eq!(unread(&book).await, [talked]);
    keep(&book, talked, ledger(300, 60)).await;

    let mut member = book.member(petra).await.unwrap();
    member.notes = "Likes half guard".to_owned();
    book.change_member(&by(), petra, &member).await.unwrap();
    assert!(unread(&book).await.is_empty(), "what is noted of people is in no ledger");
    member.name = "Petra K".to_owned();
    book.change_member(&by(), petra, &member).await.unwrap();
    assert_eq!(unread(&book).await, [talked]);

    // A confirmed round is as the person said it was.
    book.confirm_round(&by(), talked, "2026-11-10".parse().unwrap(), &hand()).await.unwrap();
    keep(&book, talked, ledger(300, 60)).await;
    keep(&book, by_hand, ledger(300, 90)).await;
    book.teach(&by(), "the truck", "back control").await.unwrap();
    assert!(unread(&book).await.is_empty());
    assert!(book.known_rounds().await.unwrap().rounds[1].confirmed);
}

#[tokio::test]
async fn a_note_changes_no_ledger() {
    let Academy { _folder, book, talked, .. } = academy().await;
    let words = "Keep the elbow in".to_owned();
    let note = Remark { id: 0, round: talked, time: time(12), member: None, words };
    book.put_remark(&by(), &note).await.unwrap();
    assert!(unread(&book).await.is_empty());
}

#[tokio::test]
async fn a_slow_reading_of_what_was_changed_meanwhile_is_not_kept() {
    let Academy { _folder, book, talked, .. } = academy().await;
    let seen = book.reading_revision(talked).await.unwrap();
    let read =
        KeptLedger { reading: "slow".to_owned(), open_questions: 0, ledger: ledger(300, 100) };
    let answer = Answer::Top { time: time(70), top: Athlete::First };
    book.add_answer(&by(), talked, "Answered", &answer).await.unwrap();
    assert!(!book.keep_ledger_as_of(talked, &read, seen).await.unwrap());
    assert_eq!(unread(&book).await, [talked]);
    let seen = book.reading_revision(talked).await.unwrap();
    assert!(book.keep_ledger_as_of(talked, &read, seen).await.unwrap());
    assert!(unread(&book).await.is_empty());
}

#[tokio::test]
async fn the_stamp_moves_with_whatever_figures_rest_on() {
    let Academy { _folder: folder, book, talked, petra, .. } = academy().await;
    let mut last = book.figures_stamp().await.unwrap();
    let mut moved = async |what: &str, expected: bool| {
        let now = book.figures_stamp().await.unwrap();
        assert_eq!(now != last, expected, "{what}");
        last = now;
    };
    moved("nothing", false).await;
    keep(&book, talked, ledger(300, 30)).await;
    moved("a ledger", true).await;
    let mut member = book.member(petra).await.unwrap();
    member.belt = academy::Belt::Blue;
    book.change_member(&by(), petra, &member).await.unwrap();
    moved("a belt", true).await;
    book.undo(Subject::Roster, &by()).await.unwrap();
    moved("undoing it", true).await;
    book.redo(Subject::Roster, &by()).await.unwrap();
    moved("doing it again", true).await;
    book.delete_round(&by(), talked).await.unwrap();
    moved("a round that is gone", true).await;
    let round = book.undo(Subject::Round(talked), &by()).await.unwrap();
    assert!(round.is_some());
    moved("a round that is there again", true).await;
    let answer = Answer::Top { time: time(70), top: Athlete::First };
    book.add_answer(&by(), talked, "Answered", &answer).await.unwrap();
    moved("an answer", true).await;
    book.put_by_hand(&by(), talked, "By hand", &hand()).await.unwrap();
    moved("entries by hand", true).await;
    book.teach(&by(), "the gift wrap", "back control").await.unwrap();
    moved("a taught word", true).await;
    book.undo(Subject::Words, &by()).await.unwrap();
    moved("a word that is forgotten", true).await;

    // What figures do not rest on leaves them as they are.
    let day = "2026-11-10".parse().unwrap();
    let goal = academy::Goal { set: day, words: "Frame first".to_owned(), reached: None };
    book.put_goal(&by(), petra, None, &goal).await.unwrap();
    let talk = academy::Conversation { day, words: "The mount".to_owned() };
    book.put_conversation(&by(), petra, None, &talk).await.unwrap();
    book.undo(Subject::Student(petra), &by()).await.unwrap();
    let message = academy::Message { day, words: "Calm now".to_owned() };
    book.put_message(&by(), petra, None, &message).await.unwrap();
    let class = academy::Class {
        date: day,
        title: "Fundamentals".to_owned(),
        topic: "mount escapes".to_owned(),
        notes: String::new(),
    };
    book.put_class(&by(), None, &class, &[petra]).await.unwrap();
    book.undo(Subject::Classes, &by()).await.unwrap();
    let words = "Keep the elbow in".to_owned();
    let note = Remark { id: 0, round: talked, time: time(12), member: None, words };
    book.put_remark(&by(), &note).await.unwrap();
    let facts = store::AcademyFacts { name: "Riverside".to_owned(), invented: false };
    book.put_academy(&by(), &facts).await.unwrap();
    moved("goals, talks, messages, classes, notes and the name", false).await;
    book.undo(Subject::Report(petra), &by()).await.unwrap();
    book.undo(Subject::Round(talked), &by()).await.unwrap();
    moved("undoing a message and a note", false).await;
    book.known_rounds().await.unwrap();
    moved("looking", false).await;
    // Somebody who only reads sees it too.
    let reader = Book::open_to_read(folder.path()).await.unwrap();
    assert_eq!(reader.figures_stamp().await.unwrap(), book.figures_stamp().await.unwrap());
}
