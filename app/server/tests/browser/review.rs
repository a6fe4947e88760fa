//! A round is looked over: questions answered, what is wrong put right, the whole confirmed.

use std::time::Duration;

use fantoccini::actions::{InputSource as _, MOUSE_BUTTON_LEFT, MouseActions, PointerAction};
use fantoccini::key::Key;
use serde_json::Value;
use server::Access;
use store::RoundId;

use super::academy::{Start, at_this_machine, serving};
use super::page::Page;

/// A round with talk, of Nadira and Haruki.
const TALKED: &str = "/rounds/1";

/// The round's revision once the page has settled; empty while it has not.
const REVISION: &str = r#"
const weighing = document.querySelector('#question[data-weighing]');
return weighing ? "" : document.querySelector('#part-ask input[name=revision]')?.value ?? "";
"#;

/// Waits until the page shows another revision than this one, and tells which.
async fn revised(page: &Page, before: &str) -> String {
    let shown = async || {
        let shown = page.script(REVISION, Vec::new()).await;
        shown.as_str().unwrap_or_default().to_owned()
    };
    let other = async || {
        let shown = shown().await;
        !shown.is_empty() && shown != before
    };
    page.until(format!("another revision than {before:?}"), other).await;
    shown().await
}

/// What a script tells of the page, as text.
async fn told(page: &Page, script: &str) -> String {
    match page.script(script, Vec::new()).await {
        Value::String(text) => text,
        other => other.to_string(),
    }
}

#[test]
fn a_question_is_answered_by_key_and_taken_back() {
    at_this_machine(Start::FewRounds, async |page| {
        page.open(TALKED).await;
        let fresh = revised(page, "").await;
        let asked = told(page, "return document.getElementById('question').textContent").await;
        page.key('1').await;
        let answered = revised(page, &fresh).await;
        let next = told(page, "return document.getElementById('question').textContent").await;
        assert_ne!(asked, next, "the answer must lead on");
        page.key('u').await;
        let undone = revised(page, &answered).await;
        page.sees("Do again").await;
        page.key('r').await;
        let again = revised(page, &undone).await;
        page.key('p').await;
        revised(page, &again).await;
    });
}

#[test]
fn a_border_is_dragged_and_moved_by_keys() {
    at_this_machine(Start::FewRounds, async |page| {
        page.open(TALKED).await;
        let fresh = revised(page, "").await;
        page.press("Move changes by dragging").await;
        let place =
            "const place = document.querySelector('#borders .border').getBoundingClientRect();
            return [place.left + place.width / 2, place.top + place.height / 2];";
        let place = page.script(place, Vec::new()).await;
        let at = |index: usize| place[index].as_f64().expect("a place").round();
        let go = |x: f64, y: f64| PointerAction::MoveTo { duration: Some(Duration::ZERO), x, y };
        let button = MOUSE_BUTTON_LEFT;
        let drag = MouseActions::new("mouse".to_owned())
            .then(go(at(0), at(1)))
            .then(PointerAction::Down { button })
            .then(go(at(0) + 6.0, at(1)))
            .then(go(at(0) + 12.0, at(1)))
            .then(PointerAction::Up { button });
        page.client.perform_actions(drag).await.expect("a drag");
        let dragged = revised(page, &fresh).await;
        page.sees("Moved").await;
        // The same by keys alone.
        let focus = "document.querySelector('#borders .border').focus()";
        page.script(focus, Vec::new()).await;
        page.key(Key::Right).await;
        page.key(Key::Enter).await;
        let moved = revised(page, &dragged).await;
        page.key('u').await;
        let back = revised(page, &moved).await;
        page.key('u').await;
        revised(page, &back).await;
    });
}

#[test]
fn what_is_wrong_is_put_right_by_forms() {
    serving(Start::FewRounds, Access::ThisMachine, async |page, given| {
        page.open(TALKED).await;
        let fresh = revised(page, "").await;
        page.press("Change 0:0").await;
        page.choose("From 0:0", "mount, Haruki on top").await;
        page.press("Keep").await;
        let mended = revised(page, &fresh).await;
        page.sees("Mount, Haruki on top").await;
        page.press("Add an event").await;
        page.fill("At", "1:00").await;
        page.choose("Who", "Nadira").await;
        page.choose("What", "sweeps: comes up from their guard").await;
        page.press("Keep").await;
        revised(page, &mended).await;
        let told = given.book.told(RoundId(1)).await.expect("what was told");
        assert!(!told.by_hand.events.is_empty(), "the event is kept as entered by hand");
        page.press("A word was heard wrongly").await;
        page.fill("The talk says", "camera").await;
        page.fill("What was really said?", "kimura").await;
        page.press("Teach").await;
        page.sees("“camera” is kimura").await;
        let taught = given.book.spoken_forms().await.expect("words");
        assert_eq!(taught.len(), 1);
    });
}

#[test]
fn what_is_half_written_stays_when_something_else_is_kept() {
    at_this_machine(Start::FewRounds, async |page| {
        page.open(TALKED).await;
        let fresh = revised(page, "").await;
        page.press("Note a moment").await;
        page.fill("At", "1:00").await;
        page.fill("Your words", "Lovely patience").await;
        page.choose("For", "Haruki").await;
        page.press("1 Keep").await;
        let answered = revised(page, &fresh).await;
        assert_eq!(page.value("Your words").await, "Lovely patience");
        page.press("Keep the note").await;
        revised(page, &answered).await;
        page.sees("Lovely patience for Haruki").await;
        assert_eq!(page.value("Your words").await, "", "what was sent is done");
    });
}

#[test]
fn a_round_is_confirmed_and_that_can_be_undone() {
    serving(Start::FewRounds, Access::ThisMachine, async |page, given| {
        page.open(TALKED).await;
        let fresh = revised(page, "").await;
        page.key('c').await;
        let confirmed = revised(page, &fresh).await;
        page.sees("confirmed on").await;
        let facts = async || given.book.round_facts(RoundId(1)).await.expect("the round");
        assert!(facts().await.confirmed.is_some());
        page.key('u').await;
        revised(page, &confirmed).await;
        page.sees_no("confirmed on").await;
        assert!(facts().await.confirmed.is_none());
    });
}

#[test]
fn a_round_nobody_talked_over_is_told_by_hand() {
    at_this_machine(Start::FewRounds, async |page| {
        page.open("/rounds/3").await;
        page.sees("Tell what happened").await;
        page.is_good("round-by-hand").await;
        page.fill("From", "0:00").await;
        page.choose("they were", "mount, Nadira on top").await;
        page.press("Keep").await;
        page.sees("Mount, Nadira on top").await;
    });
}

#[test]
fn the_page_of_a_round_is_good() {
    at_this_machine(Start::FewRounds, async |page| {
        page.open(TALKED).await;
        revised(page, "").await;
        page.is_good("round").await;
        page.press("Move changes by dragging").await;
        page.press("Add an event").await;
        page.press("Note a moment").await;
        page.press("Details").await;
        page.is_good("round-all-open").await;
        page.press("Keys").await;
        page.sees("choose an answer").await;
        page.is_good("round-keys").await;
    });
}
