//! What the coach keeps about how students come on.

use academy::{Conversation, Goal, Member, Message};
use jiff::civil::Date;
use store::{Book, By, MemberId, StoreError, Subject};

fn by() -> By {
    By { who: "Ines".to_owned(), at: 1_790_000_000, seen: None }
}

fn day(number: i8) -> Date {
    Date::new(2026, 11, number).expect("a day of November")
}

fn goal(number: i8, words: &str) -> Goal {
    Goal { set: day(number), words: words.to_owned(), reached: None }
}

async fn person(book: &Book, name: &str) -> MemberId {
    let member = Member { name: name.to_owned(), ..Member::default() };
    book.add_member(&by(), &member).await.expect("a new name")
}

#[tokio::test]
async fn goals_talks_and_messages_are_there_after_a_restart_latest_first() {
    let folder = tempfile::tempdir().unwrap();
    let book = Book::open(folder.path()).await.unwrap();
    let petra = person(&book, "Petra").await;
    let idris = person(&book, "Idris").await;
    let first = book.put_goal(&by(), petra, None, &goal(2, " Frame first \n")).await.unwrap();
    book.put_goal(&by(), petra, None, &goal(9, "Calm in mount")).await.unwrap();
    let reached = Goal { reached: Some(day(12)), ..goal(2, "Frame first") };
    assert_eq!(book.put_goal(&by(), petra, Some(first), &reached).await.unwrap(), first);
    for (number, words) in [(5, "About the guard"), (11, ""), (3, "Hello")] {
        let talk = Conversation { day: day(number), words: words.to_owned() };
        book.put_conversation(&by(), petra, None, &talk).await.unwrap();
    }
    let message = Message { day: day(12), words: "You stay calm now.".to_owned() };
    book.put_message(&by(), petra, None, &message).await.unwrap();
    book.close().await;

    let book = Book::open(folder.path()).await.unwrap();
    let goals = book.goals(petra).await.unwrap().into_iter().map(|(_, goal)| goal);
    assert_eq!(goals.collect::<Vec<_>>(), [goal(9, "Calm in mount"), reached]);
    let talks = book.conversations(petra).await.unwrap();
    let days: Vec<Date> = talks.iter().map(|(_, talk)| talk.day).collect();
    assert_eq!(days, [day(11), day(5), day(3)]);
    assert_eq!(book.messages(petra).await.unwrap()[0].1, message);
    let last = book.last_conversations().await.unwrap();
    assert_eq!((last.get(&petra), last.get(&idris)), (Some(&day(11)), None));
    assert!(book.goals(idris).await.unwrap().is_empty());
    assert_eq!(book.check().await.unwrap(), []);
}

#[tokio::test]
async fn what_is_undone_for_one_student_stays_for_another() {
    let folder = tempfile::tempdir().unwrap();
    let book = Book::open(folder.path()).await.unwrap();
    let petra = person(&book, "Petra").await;
    let idris = person(&book, "Idris").await;
    let of_petra = book.put_goal(&by(), petra, None, &goal(2, "Frame first")).await.unwrap();
    book.put_goal(&by(), idris, None, &goal(3, "Sweep more")).await.unwrap();
    book.delete_goal(&by(), petra, of_petra).await.unwrap();
    assert!(book.goals(petra).await.unwrap().is_empty());

    let subject = Subject::Student(petra);
    assert_eq!(book.undo(subject, &by()).await.unwrap().as_deref(), Some("Took a goal away"));
    assert_eq!(book.goals(petra).await.unwrap(), [(of_petra, goal(2, "Frame first"))]);
    assert_eq!(book.undo(subject, &by()).await.unwrap().as_deref(), Some("Added a goal"));
    assert_eq!(book.undo(subject, &by()).await.unwrap(), None);
    assert_eq!(book.goals(idris).await.unwrap().len(), 1);
    assert_eq!(book.redo(subject, &by()).await.unwrap().as_deref(), Some("Added a goal"));
    assert_eq!(book.goals(petra).await.unwrap(), [(of_petra, goal(2, "Frame first"))]);

    // Another one's goal can be neither changed nor taken from here.
    let wrong = book.put_goal(&by(), idris, Some(of_petra), &goal(4, "Mine")).await.unwrap_err();
    assert!(matches!(wrong, StoreError::Missing("goal")), "{wrong}");
    let wrong = book.delete_goal(&by(), idris, of_petra).await.unwrap_err();
    assert!(matches!(wrong, StoreError::Missing("goal")), "{wrong}");
    assert_eq!(book.goals(petra).await.unwrap().len(), 1);
}

#[tokio::test]
async fn words_for_the_report_are_undone_apart_from_goals_and_talks() {
    let folder = tempfile::tempdir().unwrap();
    let book = Book::open(folder.path()).await.unwrap();
    let petra = person(&book, "Petra").await;
    let message = Message { day: day(12), words: "You stay calm now.".to_owned() };
    let kept = book.put_message(&by(), petra, None, &message).await.unwrap();
    book.put_goal(&by(), petra, None, &goal(13, "Frame first")).await.unwrap();

    let (student, report) = (Subject::Student(petra), Subject::Report(petra));
    assert_eq!(book.undo(student, &by()).await.unwrap().as_deref(), Some("Added a goal"));
    assert_eq!(book.undo(student, &by()).await.unwrap(), None);
    assert_eq!(book.messages(petra).await.unwrap(), [(kept, message)]);
    book.redo(student, &by()).await.unwrap();
    assert_eq!(book.undo(report, &by()).await.unwrap().as_deref(), Some("Added a message"));
    assert!(book.messages(petra).await.unwrap().is_empty());
    assert_eq!(book.goals(petra).await.unwrap().len(), 1);
    assert_eq!(book.history(report, 9).await.unwrap().len(), 1);

    // What is not there can't be taken: no change of nothing in the history.
    let gone = book.delete_message(&by(), petra, kept).await.unwrap_err();
    assert!(matches!(gone, StoreError::Missing("message")), "{gone}");
    assert_eq!(book.redo(report, &by()).await.unwrap().as_deref(), Some("Added a message"));
    assert_eq!(book.check().await.unwrap(), []);
}

#[tokio::test]
async fn what_cannot_be_is_refused_and_changes_nothing() {
    let folder = tempfile::tempdir().unwrap();
    let book = Book::open(folder.path()).await.unwrap();
    let petra = person(&book, "Petra").await;
    let silent = book.put_goal(&by(), petra, None, &goal(2, " ")).await.unwrap_err();
    assert_eq!(silent.to_string(), "the goal cannot be kept: it needs words");
    let nobody = book.put_goal(&by(), MemberId(99), None, &goal(2, "Frame first")).await;
    assert!(matches!(nobody.unwrap_err(), StoreError::Missing("person")));
    assert!(book.history(Subject::Student(petra), 9).await.unwrap().is_empty());

    // Somebody with goals cannot be taken out of the book before them.
    let kept = book.put_goal(&by(), petra, None, &goal(2, "Frame first")).await.unwrap();
    let needed = book.delete_member(&by(), petra).await.unwrap_err();
    assert!(needed.to_string().contains("a goal of that person"), "{needed}");
    let stale = By { seen: Some(store::Revision(0)), ..by() };
    let late = book.delete_goal(&stale, petra, kept).await.unwrap_err();
    assert!(matches!(late, StoreError::OutOfDate), "{late}");
    book.delete_goal(&by(), petra, kept).await.unwrap();
    book.delete_member(&by(), petra).await.unwrap();
    assert!(book.members().await.unwrap().is_empty());
}
