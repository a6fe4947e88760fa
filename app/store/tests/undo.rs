//! Any sequence of edits, undone, is as if it had never been; done again, it is all there again.

use academy::{
    Answer, Athlete, Belt, ByHand, Class, Conversation, Event, EventKind, Goal, Member, Message,
    Position, RoundKind, Source, Span, Spell, Time,
};
use jiff::civil::Date;
use proptest::prelude::*;
use store::{
    AcademyFacts, Book, By, Captions, ClassId, MemberId, Remark, RoundFacts, RoundFilter, RoundId,
    StoreError, Subject,
};

use crate::dump::{GIVEN, dump};

/// What is done, and numbers that say to whom and how.
type Edit = (u8, usize, usize, usize);

fn by() -> By {
    By { who: "Ines".to_owned(), at: 1_790_000_000, seen: None }
}

fn day(number: usize) -> Date {
    Date::new(2026, 11, 1 + (number % 28) as i8).expect("a day of November")
}

fn time(number: usize) -> Time {
    Time::from_millis(number as u64 * 1_000)
}

fn athlete(number: usize) -> Option<Athlete> {
    [None, Some(Athlete::First), Some(Athlete::Second)][number % 3]
}

fn pick<T: Clone>(of: &[T], number: usize) -> Option<T> {
    of.get(number % of.len().max(1)).cloned()
}

fn member(one: usize, other: usize) -> Member {
    Member {
        name: format!("Person {}", one % 9),
        belt: Belt::ALL[other % 9],
        weight: other.is_multiple_of(2).then_some(50.0 + other as f64 / 3.0),
        notes: "quotes ' and \" and\nlines".repeat(other % 2),
        ..Member::default()
    }
}

fn by_hand(one: usize, other: usize) -> ByHand {
    let spell = |start: usize, end: usize| Spell {
        span: Span::between(time(start), time(end)),
        position: Position::Mount,
        top: athlete(one),
        variant: one.is_multiple_of(2).then(|| "high".to_owned()),
        confidence: 1.0,
        source: Source::Hand,
    };
    let event = |at: usize| Event {
        time: time(at),
        kind: EventKind::Tap,
        actor: athlete(other),
        technique: None,
        confidence: 1.0,
        source: Source::Hand,
    };
    ByHand {
        spells: (0..one % 4).map(|index| spell(index * 10, index * 10 + 5 + other % 5)).collect(),
        events: (0..other % 3).map(event).collect(),
        struck: (0..one % 2).map(event).collect(),
    }
}

/// The subjects that can have changes: undone rounds have some too.
fn subjects(rounds: i64, people: i64) -> Vec<Subject> {
    let fixed = [Subject::Academy, Subject::Roster, Subject::Classes, Subject::Words];
    let rounds = (1..=rounds).map(|id| Subject::Round(RoundId(id)));
    let students =
        (1..=people).map(MemberId).flat_map(|id| [Subject::Student(id), Subject::Report(id)]);
    fixed.into_iter().chain(rounds).chain(students).collect()
}

/// Tries one edit. What the book refuses changes nothing, and is part of the game.
async fn edit(
    book: &Book,
    rounds: &mut i64,
    people: &mut i64,
    edit: Edit,
) -> Result<(), StoreError> {
    let (kind, one, two, three) = edit;
    let members: Vec<MemberId> = book.members().await?.into_iter().map(|(id, _)| id).collect();
    let classes: Vec<ClassId> =
        book.classes(day(0), day(27)).await?.into_iter().map(|(id, _)| id).collect();
    let kept: Vec<RoundId> =
        book.rounds(&RoundFilter::default()).await?.into_iter().map(|line| line.id).collect();
    let (who, class, round) = (pick(&members, one), pick(&classes, one), pick(&kept, one));
    let facts = |first, second| RoundFacts {
        date: day(three),
        kind: [RoundKind::Flow, RoundKind::Hard][three % 2],
        gi: three % 2 == 0,
        athletes: [first, second],
        length: time(60 + three),
        class: pick(&classes, three).filter(|_| three % 2 == 0),
        talk: (three % 3 == 0)
            .then(|| Captions { name: "round.vtt".into(), text: format!("WEBVTT\n\n{three}") }),
        media: None,
        confirmed: None,
    };
    match kind % 20 {
        0 | 1 => {
            let added = book.add_member(&by(), &member(one, two)).await?;
            *people = (*people).max(added.0);
        }
        2 => {
            let Some(who) = who else { return Ok(()) };
            book.change_member(&by(), who, &member(two, three)).await?;
        }
        3 => {
            let Some(who) = who else { return Ok(()) };
            book.delete_member(&by(), who).await?;
        }
        4 | 5 => {
            let attended: Vec<MemberId> =
                members.into_iter().skip(two % 3).take(three % 4).collect();
            let new = Class {
                date: day(two),
                title: "Fundamentals".to_owned(),
                topic: format!("topic {three}"),
                notes: String::new(),
            };
            book.put_class(&by(), class.filter(|_| kind % 20 == 5), &new, &attended).await?;
        }
        6 | 7 => {
            let (Some(first), Some(second)) = (who, pick(&members, two)) else { return Ok(()) };
            let added = book.add_round(&by(), &facts(first, second)).await?;
            *rounds = (*rounds).max(added.0);
        }
        8 => {
            let (Some(round), Some(first)) = (round, pick(&members, two)) else { return Ok(()) };
            let Some(second) = pick(&members, three) else { return Ok(()) };
            book.change_round(&by(), round, "Changed it", &facts(first, second)).await?;
        }
        9 => {
            let Some(round) = round else { return Ok(()) };
            book.delete_round(&by(), round).await?;
        }
        10 => {
            let Some(round) = round else { return Ok(()) };
            let answer = match two % 4 {
                0 => Answer::State {
                    time: time(two),
                    position: Position::Mount,
                    top: athlete(three),
                },
                1 => Answer::Top { time: time(two), top: Athlete::Second },
                2 => Answer::Nothing { span: Span::between(time(two), time(two + three)) },
                _ => Answer::Event { time: time(two), kind: EventKind::Tap, actor: athlete(three) },
            };
            book.add_answer(&by(), round, "Answered", &answer).await?;
        }
        11 => {
            let Some(round) = round else { return Ok(()) };
            book.pass_over(&by(), round, time(two)).await?;
        }
        12 => {
            let Some(round) = round else { return Ok(()) };
            book.put_by_hand(&by(), round, "By hand", &by_hand(two, three)).await?;
        }
        13 => {
            let Some(round) = round else { return Ok(()) };
            book.confirm_round(&by(), round, day(two), &by_hand(two, three)).await?;
        }
        14 => {
            let Some(round) = round else { return Ok(()) };
            let noted = book.remarks(round).await?;
            let known = pick(&noted, two).filter(|_| three % 2 == 0);
            if let (Some(known), 4) = (&known, three % 6) {
                return book.delete_remark(&by(), round, known.id).await;
            }
            let words = format!("note {three}");
            let id = known.map_or(0, |known| known.id);
            let remark =
                Remark { id, round, time: time(two), member: pick(&members, three), words };
            book.put_remark(&by(), &remark).await?;
        }
        15 => {
            let name = format!("Academy {}", two % 3);
            book.put_academy(&by(), &AcademyFacts { name, invented: three % 2 == 0 }).await?;
            let (heard, meant) = (format!("word {}", one % 3), format!("term {}", two % 3));
            book.teach(&by(), &heard, &meant).await?;
        }
        16 => {
            // Back some steps and forth again, as somebody who looks.
            let Some(subject) = pick(&subjects(*rounds, *people), one) else { return Ok(()) };
            let mut steps = 0;
            while steps < two % 4 && matches!(book.undo(subject, &by()).await, Ok(Some(_))) {
                steps += 1;
            }
            for _ in 0..steps {
                assert!(book.redo(subject, &by()).await?.is_some(), "{subject}");
            }
        }
        18 => {
            let Some(who) = who else { return Ok(()) };
            let kept = book.goals(who).await?;
            let known = pick(&kept, two).map(|(id, _)| id).filter(|_| three % 2 == 0);
            if let (Some(known), 4) = (known, three % 6) {
                return book.delete_goal(&by(), who, known).await;
            }
            let reached = (two % 3 == 0).then(|| day(two));
            let goal = Goal { set: day(two), words: format!("goal {three}"), reached };
            book.put_goal(&by(), who, known, &goal).await?;
        }
        19 => {
            let Some(who) = who else { return Ok(()) };
            let talk = Conversation { day: day(two), words: "talked".repeat(three % 2) };
            let kept = book.conversations(who).await?;
            book.put_conversation(&by(), who, pick(&kept, two).map(|(id, _)| id), &talk).await?;
            let message = Message { day: day(three), words: format!("message {two}") };
            let message = book.put_message(&by(), who, None, &message).await?;
            if three % 3 == 0 {
                book.delete_message(&by(), who, message).await?;
            }
        }
        _ => {
            // Back for good. Only where nothing of another subject needs what goes away.
            let fixed = [Subject::Academy, Subject::Words];
            let own = kept.into_iter().map(Subject::Round);
            let students =
                members.into_iter().flat_map(|id| [Subject::Student(id), Subject::Report(id)]);
            let all: Vec<Subject> = fixed.into_iter().chain(own).chain(students).collect();
            let Some(subject) = pick(&all, one) else { return Ok(()) };
            book.undo(subject, &by()).await?;
            if three % 3 == 0 {
                book.redo(subject, &by()).await?;
            }
        }
    }
    Ok(())
}

/// Undoes everything, the latest change first; tells of which subjects.
async fn undo_everything(book: &Book, rounds: i64, people: i64) -> Vec<Subject> {
    let mut undone = Vec::new();
    loop {
        let mut latest = None;
        for subject in subjects(rounds, people) {
            let history = book.history(subject, 1_000).await.expect("the history");
            let last = history.into_iter().find(|kept| !kept.undone);
            latest = latest.max(last.map(|kept| (kept.id, subject.to_string())));
        }
        let Some((_, name)) = latest else { return undone };
        let subject =
            subjects(rounds, people).into_iter().find(|subject| subject.to_string() == name);
        let subject = subject.expect("one of them");
        let what = book.undo(subject, &by()).await.expect("the latest change can be undone");
        assert!(what.is_some(), "{subject}");
        undone.push(subject);
    }
}

async fn reopened(book: Book) -> Book {
    let folder = book.folder().to_owned();
    book.close().await;
    Book::open(&folder).await.expect("it opens again")
}

async fn there_and_back(edits: Vec<Edit>) {
    let folder = tempfile::tempdir().expect("a folder");
    let mut book = Book::open(folder.path()).await.expect("it opens");
    let start = dump(folder.path(), &GIVEN).await;
    let (mut rounds, mut people) = (0, 0);
    for what in edits {
        match edit(&book, &mut rounds, &mut people, what).await {
            Ok(()) | Err(StoreError::Refused(_)) => {}
            Err(error) => panic!("{what:?}: {error}"),
        }
    }
    let end = dump(folder.path(), &GIVEN).await;
    book = reopened(book).await;
    assert_eq!(dump(folder.path(), &GIVEN).await, end, "a restart changes nothing");
    assert_eq!(book.check().await.expect("a check"), []);

    let undone = undo_everything(&book, rounds, people).await;
    assert_eq!(dump(folder.path(), &GIVEN).await, start, "undone");
    book = reopened(book).await;
    for subject in undone.into_iter().rev() {
        let again = book.redo(subject, &by()).await.expect("it can be done again");
        assert!(again.is_some(), "{subject}");
    }
    assert_eq!(dump(folder.path(), &GIVEN).await, end, "done again");
    book.close().await;
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 24, max_shrink_iters: 100, failure_persistence: None, ..Default::default() })]

    #[test]
    fn whatever_is_done_can_be_undone_and_done_again(
        edits in prop::collection::vec((0_u8..20, 0_usize..40, 0_usize..40, 0_usize..40), 0..20),
    ) {
        // Some people to begin with, so that most edits find somebody.
        let mut all = vec![(0, 0, 1, 0), (0, 1, 2, 0), (4, 0, 3, 2), (6, 0, 1, 0)];
        all.extend(edits);
        let runtime = tokio::runtime::Builder::new_current_thread().enable_all().build();
        runtime.expect("a runtime").block_on(there_and_back(all));
    }
}
