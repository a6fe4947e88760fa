//! A round told live keeps every press once, whatever the connection does.

use academy::{Athlete, EventKind, Position, Time};
use serde_json::{Value, json};
use server::Access;
use store::{RoundId, Subject};

use crate::app::{Browser, Served, named};
use crate::uploads::ask;

async fn begun(served: &Served, browser: &mut Browser) -> RoundId {
    served.person(named("Petra")).await;
    served.person(named("Idris")).await;
    let fields =
        [("first", "petra"), ("second", "Idris"), ("kind", "flow"), ("gi", "yes"), ("length", "5")];
    let begun = browser.post("/rounds/live", &fields).await;
    let to = begun.location().unwrap_or_else(|| panic!("{begun:?}"));
    let id = to.trim_start_matches("/rounds/").trim_end_matches("/live");
    RoundId(id.parse().expect("the number of a round"))
}

fn press(number: u32, at: u64, kind: &str, id: Option<&str>, athlete: Option<u8>) -> Value {
    let clock = (kind == "start").then_some(1_790_000_000_000_u64);
    json!({ "number": number, "at": at, "kind": kind, "id": id, "athlete": athlete, "clock": clock })
}

async fn send(served: &Served, browser: &mut Browser, id: RoundId, presses: &[Value]) -> u16 {
    let body = json!({ "page": "p1", "presses": presses }).to_string();
    ask(browser, served, "POST", &format!("/rounds/{}/live", id.0), body).await.status
}

#[tokio::test]
async fn presses_that_come_again_are_not_doubled() {
    let served = Served::new(Access::ThisMachine).await;
    let mut browser = served.browser();
    let id = begun(&served, &mut browser).await;
    let presses = [
        press(1, 0, "start", None, None),
        press(2, 20_000, "event", Some("takedown"), Some(1)),
        press(3, 21_000, "position", Some("half_guard"), Some(1)),
        press(4, 60_000, "position", Some("mount"), Some(0)),
        press(5, 62_000, "undo", None, None),
        press(6, 63_000, "position", Some("mount"), Some(1)),
    ];
    assert_eq!(send(&served, &mut browser, id, &presses[..2]).await, 200);
    // The answer was lost: the phone sends all that it does not know to be kept.
    assert_eq!(send(&served, &mut browser, id, &presses[..4]).await, 200);
    assert_eq!(send(&served, &mut browser, id, &presses).await, 200);
    assert_eq!(send(&served, &mut browser, id, &presses[4..]).await, 200);
    assert_eq!(served.book.presses(id).await.unwrap().len(), 6);
    // Everything is in the book although nobody has finished the round.
    let told = served.book.told(id).await.unwrap().by_hand;
    let spells: Vec<_> = (told.spells.iter())
        .map(|spell| (spell.span.start().millis(), spell.position, spell.top))
        .collect();
    assert_eq!(
        spells,
        [
            (0, Position::Standing, None),
            (21_000, Position::HalfGuard, Some(Athlete::Second)),
            (63_000, Position::Mount, Some(Athlete::Second)),
        ]
    );
    assert_eq!(told.events.len(), 1);
    assert_eq!(
        (told.events[0].kind, told.events[0].actor),
        (EventKind::Takedown, Some(Athlete::Second))
    );
    // Going back to the page finds what was pressed, and the list leads there.
    browser.get(&format!("/rounds/{}/live", id.0)).await.says("half_guard");
    browser.get("/rounds").await.says("told live, not finished");
    browser.get("/rounds/live").await.says("Petra and Idris");

    let finish = [press(7, 250_000, "finish", None, None)];
    assert_eq!(send(&served, &mut browser, id, &finish).await, 200);
    assert_eq!(send(&served, &mut browser, id, &finish).await, 200);
    let facts = served.book.round_facts(id).await.unwrap();
    assert_eq!(facts.length, Time::from_millis(250_000));
    let told = served.book.told(id).await.unwrap().by_hand;
    assert_eq!(told.spells.last().unwrap().span.end(), facts.length);
    // A press after that is refused, and the page leads to the round.
    let late = [press(8, 100_000, "position", Some("turtle"), Some(0))];
    assert_eq!(send(&served, &mut browser, id, &late).await, 422);
    let page = browser.get(&format!("/rounds/{}/live", id.0)).await;
    assert_eq!(page.location().as_deref(), Some(&*format!("/rounds/{}", id.0)));
}

#[tokio::test]
async fn another_press_under_the_same_number_is_not_dropped_in_silence() {
    let served = Served::new(Access::ThisMachine).await;
    let mut browser = served.browser();
    let id = begun(&served, &mut browser).await;
    let start = press(1, 0, "start", None, None);
    let mount = press(2, 9_000, "position", Some("mount"), Some(0));
    assert_eq!(send(&served, &mut browser, id, &[start.clone(), mount.clone()]).await, 200);
    let turtle = press(2, 9_500, "position", Some("turtle"), Some(1));
    assert_eq!(send(&served, &mut browser, id, &[start, turtle]).await, 409);
    let tap = |at| press(3, at, "event", Some("tap"), Some(0));
    assert_eq!(send(&served, &mut browser, id, &[tap(20_000), tap(21_000)]).await, 409);
    assert_eq!(send(&served, &mut browser, id, &[mount, tap(20_000), tap(20_000)]).await, 200);
    assert_eq!(served.book.presses(id).await.unwrap().len(), 3);
}

#[tokio::test]
async fn presses_that_cannot_be_are_refused_whole() {
    let served = Served::new(Access::ThisMachine).await;
    let mut browser = served.browser();
    let id = begun(&served, &mut browser).await;
    for wrong in [
        press(2, 10, "position", Some("mount"), None),
        press(2, 10, "position", Some("standing"), Some(0)),
        press(2, 10, "position", Some("lying about"), Some(0)),
        press(2, 10, "event", Some("tap"), None),
        press(2, 10, "event", Some("tap"), Some(2)),
        press(2, 10, "dance", None, None),
    ] {
        let both = [press(1, 0, "start", None, None), wrong.clone()];
        assert_eq!(send(&served, &mut browser, id, &both).await, 422, "{wrong}");
        assert!(served.book.presses(id).await.unwrap().is_empty());
    }
    let elsewhere = [press(1, 0, "start", None, None)];
    assert_eq!(send(&served, &mut browser, RoundId(99), &elsewhere).await, 404);
}

#[tokio::test]
async fn a_round_that_goes_on_is_as_long_as_it_lasts() {
    let served = Served::new(Access::ThisMachine).await;
    let mut browser = served.browser();
    let id = begun(&served, &mut browser).await;
    let presses =
        [press(1, 0, "start", None, None), press(2, 330_000, "position", Some("turtle"), Some(0))];
    assert_eq!(send(&served, &mut browser, id, &presses).await, 200);
    let facts = served.book.round_facts(id).await.unwrap();
    assert!(facts.length > Time::from_millis(330_000), "{}", facts.length);
    let told = served.book.told(id).await.unwrap().by_hand;
    assert_eq!(told.spells.last().unwrap().position, Position::Turtle);
    // That it got longer is no change beside what was pressed.
    let changes = served.book.history(Subject::Round(id), 9).await.unwrap();
    assert_eq!(changes.len(), 2, "{changes:?}");
    // Nothing is changed under the hands of whoever tells it.
    let revision = served.book.revision(Subject::Round(id)).await.unwrap().0.to_string();
    for change in ["undo", "redo", "answer", "details"] {
        let path = format!("/rounds/{}/{change}", id.0);
        let refused = browser.post(&path, &[("revision", &revision), ("at", "1:00")]).await;
        assert_eq!(refused.status, 422, "{change}");
        assert!(refused.text.contains("being told live"), "{change}: {}", refused.text);
    }
}

#[tokio::test]
async fn who_is_not_known_is_asked_about() {
    let served = Served::new(Access::ThisMachine).await;
    let mut browser = served.browser();
    let fields = [("first", "Petra"), ("second", "Idris"), ("kind", "flow"), ("length", "5:00")];
    let asked = browser.post("/rounds/live", &fields).await;
    assert_eq!(asked.status, 422);
    assert!(asked.text.contains("Add Petra and Idris to the people"), "{}", asked.text);
    let fields = [&fields[..], &[("add_people", "yes")]].concat();
    assert_eq!(browser.post("/rounds/live", &fields).await.status, 303);
    assert_eq!(served.book.members().await.unwrap().len(), 2);
}
