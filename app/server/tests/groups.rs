//! Groups: a belt, those who were in a class, and one place belt by belt.

use academy::{Athlete, ByHand, Class, Event, EventKind, Position, Role, RoundKind, Source, Time};
use server::Access;

use crate::app::{Served, by};
use crate::development::settled;
use crate::logins::join;
use crate::told::{a_small_academy, days_ago, told_round};

#[tokio::test]
async fn a_belt_says_what_would_help_and_who_differs() {
    let served = Served::new(Access::ThisMachine).await;
    a_small_academy(&served.book).await;
    let mut coach = served.browser();
    let page = settled(&mut coach, "/students/belt/blue").await;
    page.says("8 of 8 people are in rounds that are read");
    page.says("What would help most");
    page.says("Chokes, joint locks and falls can hurt people");
    let (_, differs) = page.text.split_once("id=\"differs\"").unwrap();
    let (differs, _) = differs.split_once("</section>").unwrap();
    // Petra is the one who stays under mount.
    assert!(differs.contains("under mount, Petra seldom gets out"), "{differs}");
    page.says("80 times so far: the blue belts got out 80 times");
    coach.get("/students/belt/black").await.says("Nobody wears this belt here");
    assert_eq!(coach.get("/students/belt/plaid").await.status, 404);
    coach.get("/students").await.says("href=\"/students/belt/blue\"");
    coach.get("/students/belt/blue?gi=no").await.says("None of them is in rounds without the gi");
}

#[tokio::test]
async fn one_place_is_read_belt_by_belt() {
    let served = Served::new(Access::ThisMachine).await;
    a_small_academy(&served.book).await;
    let mut coach = served.browser();
    let page = settled(&mut coach, "/layers?place=mount.bottom").await;
    page.says("At blue belt (8 people)");
    page.says("<option value=\"mount.bottom\" selected>");
    coach.get("/layers?place=turtle.top").await.says("At no belt have 5 people or more been");
    // What is no place falls back to one that is.
    coach
        .get("/layers?place=%3Cb%3E")
        .await
        .says("<option value=\"side_control.bottom\" selected>");
}

#[tokio::test]
async fn a_class_says_whether_what_was_taught_shows() {
    let served = Served::new(Access::ThisMachine).await;
    let people = a_small_academy(&served.book).await;
    let class = |topic: &str| Class {
        date: days_ago(30),
        title: "Fundamentals".to_owned(),
        topic: topic.to_owned(),
        notes: String::new(),
    };
    let there = &people[..4];
    let knee = served.book.put_class(&by(), None, &class("knee cut pass"), there).await.unwrap();
    let hips = served.book.put_class(&by(), None, &class("moving hips"), &[]).await.unwrap();
    let mut coach = served.browser();
    let page = settled(&mut coach, &format!("/classes/{}", knee.0)).await;
    page.says("Knee cut pass: not seen among those who were there since the class");
    page.says("not seen among those who weren&#39;t there since the class");
    page.says("4 of 4 people are in rounds that are read");
    let page = coach.get(&format!("/classes/{}", hips.0)).await;
    page.says("The topic names no technique that is counted in rounds");
}

#[tokio::test]
async fn a_technique_that_is_used_is_counted_before_the_class_and_since() {
    let served = Served::new(Access::ThisMachine).await;
    let people = a_small_academy(&served.book).await;
    // Petra sweeps with it once before the class and in each of six rounds since; Wren never.
    let day = |since: i32| (days_ago(30 - since), RoundKind::Hard);
    for since in [-3, 1, 2, 3, 4, 5, 6] {
        let sweep = Event {
            time: Time::from_millis(60_000),
            kind: EventKind::Sweep,
            actor: Some(Athlete::First),
            technique: Some("butterfly sweep".to_owned()),
            confidence: 1.0,
            source: Source::Hand,
        };
        let parts = [
            (0, Position::OpenGuard, Some(Athlete::Second)),
            (60, Position::HalfGuard, Some(Athlete::First)),
        ];
        let id = told_round(&served.book, [people[0], people[2]], day(since), &parts, &[]).await;
        let told = served.book.told(id).await.unwrap();
        let by_hand = ByHand { events: vec![sweep], ..told.by_hand };
        served.book.confirm_round(&by(), id, day(since).0, &by_hand).await.unwrap();
    }
    let class = Class {
        date: days_ago(30),
        title: "Fundamentals".to_owned(),
        topic: "butterfly sweep".to_owned(),
        notes: String::new(),
    };
    let id = served.book.put_class(&by(), None, &class, &people[..1]).await.unwrap();
    let mut coach = served.browser();
    let page = settled(&mut coach, &format!("/classes/{}", id.0)).await;
    page.says("Butterfly sweep: 6 times since the class among those who were there");
    page.says("Butterfly sweep: not seen among those who weren&#39;t there since the class");
    // Who was there is read as it is now.
    served.book.put_class(&by(), Some(id), &class, &people[2..3]).await.unwrap();
    let page = coach.get(&format!("/classes/{}", id.0)).await;
    page.says("Butterfly sweep: 6 times since the class among those who weren&#39;t there");
    page.says("Butterfly sweep: not seen among those who were there since the class");
}

#[tokio::test]
async fn groups_are_for_staff() {
    let served = Served::new(Access::LocalNetwork).await;
    let people = a_small_academy(&served.book).await;
    let mut own = join(&served, Role::Student, Some(people[0]), "petra").await;
    let mut assistant = join(&served, Role::Assistant, None, "assistant").await;
    for path in ["/students/belt/blue", "/layers"] {
        assert_eq!(own.get(path).await.status, 403, "{path}");
        assert_eq!(assistant.get(path).await.status, 200, "{path}");
    }
}
