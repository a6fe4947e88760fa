//! Rounds: the list, adding one with captions and a recording, telling one live.

use std::fs;

use academy::{Athlete, EventKind, Position};
use serde_json::json;
use store::{RoundFilter, RoundId};

use super::academy::{Start, at_this_machine, serving};
use super::checks::Look;
use crate::uploads::video;
use server::Access;

#[test]
fn the_list_of_rounds_is_good() {
    at_this_machine(Start::Empty, async |page| {
        page.open("/rounds").await;
        page.sees("There is no round in the book yet").await;
    });
    at_this_machine(Start::FewRounds, async |page| {
        page.open("/rounds").await;
        page.sees("Nadira and Haruki").await;
        page.is_good("rounds").await;
        page.choose("With", "Aurelie").await;
        page.send("Show").await;
        page.sees("2 rounds").await;
        page.sees_no("Nadira and Haruki").await;
    });
}

#[test]
fn a_round_is_added_with_captions_and_a_recording() {
    serving(Start::FewRounds, Access::ThisMachine, async |page, given| {
        let folder = tempfile::tempdir().expect("a folder for files");
        let captions = folder.path().join("friday.txt");
        fs::write(&captions, "0:05 Nadira pulls guard\nand then 0:0x\n").expect("a file");
        let recording = folder.path().join("friday.mp4");
        fs::write(&recording, video(9_000_000)).expect("a file");
        page.open("/rounds/add").await;
        page.sees_no("Add it without the recording").await;
        page.is_good("add-round").await;
        page.fill("First athlete", "Nadira").await;
        page.fill("Second athlete", "Wilhelmina").await;
        page.attach("Captions file", &captions).await;
        page.attach("Video or sound", &recording).await;
        page.sees("friday.mp4 is there").await;
        page.send("Add the round").await;
        page.sees("Nobody in the book is called Wilhelmina").await;
        page.complaints().await;
        page.is_good("add-round-again").await;
        page.sees("friday.mp4 is there").await;
        page.fill("Length", "4:00").await;
        page.tick("Add Wilhelmina to the people").await;
        page.send("Add the round").await;
        page.until("the round is in the book", async || {
            given.book.count_rounds(&RoundFilter::default()).await.expect("a count") == 4
        })
        .await;
        let facts = given.book.round_facts(RoundId(4)).await.expect("the round");
        let hash = facts.media.expect("a recording");
        assert_eq!(given.book.media(&hash).await.expect("it").bytes, 9_000_000);
        assert!(facts.talk.is_some_and(|talk| talk.name == "friday.txt"));
        page.complaints().await;
    });
}

#[test]
fn captions_that_cannot_be_read_say_where_and_lose_nothing() {
    at_this_machine(Start::FewRounds, async |page| {
        let folder = tempfile::tempdir().expect("a folder");
        let path = folder.path().join("broken.srt");
        fs::write(&path, "1\n00:00:05,000 --> 00:00:0x,000\nPetra passes\n").expect("a file");
        page.open("/rounds/add").await;
        page.fill("First athlete", "Nadira").await;
        page.fill("Second athlete", "Haruki").await;
        page.fill("Length", "5:00").await;
        page.attach("Captions file", &path).await;
        page.send("Add the round").await;
        page.sees("These captions cannot be read").await;
        page.sees("line 2").await;
        assert_eq!(page.value("First athlete").await, "Nadira");
        assert_eq!(page.value("Length").await, "5:00");
        assert!(page.value("Text of the captions").await.contains("Petra passes"));
        page.fill("Text of the captions", "0:05 Nadira passes to side control\n").await;
        page.send("Add the round").await;
        page.sees("Nadira and Haruki").await;
        page.complaints().await;
    });
}

#[test]
fn a_round_told_live_outlasts_the_connection_and_the_page() {
    serving(Start::FewRounds, Access::ThisMachine, async |page, given| {
        page.open("/rounds/live").await;
        page.is_good("live-begin").await;
        page.fill("First athlete", "Nadira").await;
        page.fill("Second athlete", "Haruki").await;
        page.send("To the buttons").await;
        let id = RoundId(4);
        page.press("Start the clock").await;
        page.press("takedown").await;
        page.press("half guard").await;
        let count = async || given.book.presses(id).await.expect("presses").len();
        page.until("three presses are kept", async || count().await == 3).await;
        page.is_good("live").await;
        // Everything that is pressed by the mat is on a small screen at once, and large enough.
        page.look(Look { width: 360, height: 640, theme: "light" }).await;
        let small = page.script(BUTTONS, Vec::new()).await;
        assert_eq!(small, json!([]), "too small, or not on the screen");
        let network = |offline: bool| json!({ "offline": offline, "latency": 0, "downloadThroughput": -1, "uploadThroughput": -1 });
        page.browser("Network.enable", json!({})).await;
        page.browser("Network.emulateNetworkConditions", network(true)).await;
        page.press("Haruki").await;
        page.press("sweep").await;
        page.press("mount").await;
        page.press("turtle").await;
        page.press("Undo").await;
        page.sees("wait on this phone").await;
        assert_eq!(count().await, 3);
        page.browser("Network.emulateNetworkConditions", network(false)).await;
        page.until("the others came too", async || count().await == 7).await;
        // The phone is put away and taken out again.
        page.complaints().await;
        page.open("/rounds").await;
        page.follow("Nadira and Haruki").await;
        page.sees("mount, Haruki on top").await;
        page.press("Finish").await;
        page.fill("Length", "4:30").await;
        page.press("Finish the round").await;
        page.until("the round is finished", async || count().await == 8).await;
        let told = given.book.told(id).await.expect("entries").by_hand;
        let last = told.spells.last().expect("a spell");
        assert_eq!((last.position, last.top), (Position::Mount, Some(Athlete::Second)));
        assert_eq!(last.span.end().millis(), 270_000);
        let kinds: Vec<_> = told.events.iter().map(|event| (event.kind, event.actor)).collect();
        let expected = [
            (EventKind::Takedown, Some(Athlete::First)),
            (EventKind::Sweep, Some(Athlete::Second)),
        ];
        assert_eq!(kinds, expected);
        page.until("the page leads to the round", async || page.path().await == "/rounds/4").await;
        page.complaints().await;
    });
}

/// Buttons of the live page that are lower than 44 px or not wholly on the screen.
const BUTTONS: &str = r#"
return [...document.querySelectorAll('#board button')]
  .map((button) => [button.textContent, button.getBoundingClientRect()])
  .filter(([, box]) => box.height < 44 || box.width < 44 || box.top < 0 || box.left < 0
    || box.bottom > innerHeight || box.right > innerWidth)
  .map(([name, box]) => `${name} ${Math.round(box.width)}x${Math.round(box.height)} to ${Math.round(box.bottom)}`);
"#;
