//! A round is looked over from Today to its confirmation by the keyboard alone; the focus is always
//! somewhere sensible and can be seen.

use fantoccini::actions::{InputSource as _, KeyAction, KeyActions};
use fantoccini::key::Key;
use serde::Deserialize;
use serde_json::json;
use server::Access;
use store::{Kept, RoundId, Subject};

use super::academy::{Given, Start, serving};
use super::page::Page;

/// What has the focus.
const FOCUS: &str = r#"
const element = document.activeElement ?? document.body;
const style = getComputedStyle(element);
const box = element.getBoundingClientRect();
return {
  id: element.id,
  kind: element.localName,
  words: (element.getAttribute("aria-label") ?? element.innerText ?? "").replace(/\s+/g, " ").trim(),
  outlined: style.outlineStyle !== "none" && parseFloat(style.outlineWidth) > 0,
  on_screen: box.width > 1 && box.height > 1 && box.bottom > 0 && box.top < innerHeight,
};
"#;

#[derive(Debug, Deserialize)]
pub(super) struct Focus {
    pub(super) id: String,
    kind: String,
    pub(super) words: String,
    outlined: bool,
    on_screen: bool,
}

/// The most elements on a page before the one that is looked for.
const MOST_TABS: usize = 80;

async fn focus(page: &Page) -> Focus {
    let focus = page.script(FOCUS, Vec::new()).await;
    serde_json::from_value(focus).expect("what has the focus")
}

/// Waits until the focus is where it should be, to be seen.
async fn is_at(page: &Page, what: &str, holds: impl Fn(&Focus) -> bool) {
    page.until(format!("the focus {what}"), async || holds(&focus(page).await)).await;
    page.until(format!("the focus to be seen {what}"), async || {
        let focus = focus(page).await;
        focus.outlined && focus.on_screen
    })
    .await;
}

async fn is_on(page: &Page, id: &str) {
    is_at(page, &format!("on #{id}"), |focus| focus.id == id).await;
}

/// Steps on by Tab until the focus is where it should be.
pub(super) async fn tab_to(page: &Page, what: &str, holds: impl Fn(&Focus) -> bool) {
    for _ in 0..MOST_TABS {
        page.key(Key::Tab).await;
        let focus = focus(page).await;
        assert!(focus.outlined || focus.kind == "body", "cannot be seen: {focus:?}");
        if holds(&focus) {
            return is_at(page, what, &holds).await;
        }
    }
    panic!("no way by Tab to {what}");
}

/// Steps back by Tab.
async fn step_back(page: &Page) {
    let [shift, tab] = [Key::Shift, Key::Tab].map(char::from);
    let keys = KeyActions::new("keys".to_owned())
        .then(KeyAction::Down { value: shift })
        .then(KeyAction::Down { value: tab })
        .then(KeyAction::Up { value: tab })
        .then(KeyAction::Up { value: shift });
    page.client.perform_actions(keys).await.expect("two keys are pressed");
}

pub(super) async fn keys(page: &Page, text: &str) {
    for key in text.chars() {
        page.key(key).await;
    }
}

/// What stands in the round's history, the last change first.
async fn history(given: &Given, id: RoundId) -> Vec<Kept> {
    given.book.history(Subject::Round(id), 50).await.expect("the history")
}

/// Waits until the history tells of another number of changes, or of others undone; tells the last.
async fn changes_to(page: &Page, given: &Given, id: RoundId, done: usize) -> String {
    let standing = async || {
        let changes = history(given, id).await.into_iter();
        changes.filter(|change| !change.undone).map(|change| change.what).collect::<Vec<_>>()
    };
    page.until(format!("{done} changes that stand"), async || standing().await.len() == done).await;
    settled(page, given, id).await;
    standing().await.swap_remove(0)
}

/// The revision that the page shows, unless it looks for the next question.
const SETTLED: &str = r#"
if (document.querySelector("[data-weighing]")) return null;
return Number(document.querySelector(".ask input[name=revision]").value);
"#;

/// Waits until the page shows the round as it is now.
async fn settled(page: &Page, given: &Given, id: RoundId) {
    page.until("the page to settle", async || {
        let revision = given.book.revision(Subject::Round(id)).await.expect("a revision");
        page.script(SETTLED, vec![]).await == json!(revision.0)
    })
    .await;
}

#[test]
fn a_round_is_confirmed_by_the_keyboard_alone() {
    serving(Start::FewRounds, Access::ThisMachine, async |page, given| {
        page.open("/").await;
        tab_to(page, "on a round", |focus| focus.words == "Nadira and Haruki").await;
        let old = page.mark().await;
        page.key(Key::Enter).await;
        page.newer_than(old).await;
        let round = RoundId(1);
        settled(page, given, round).await;
        let begun = history(given, round).await.len();

        page.key('1').await;
        changes_to(page, given, round, begun + 1).await;
        is_on(page, "asked").await;
        page.key('u').await;
        changes_to(page, given, round, begun).await;
        is_on(page, "asked").await;
        page.key('r').await;
        changes_to(page, given, round, begun + 1).await;
        is_on(page, "asked").await;

        page.key('o').await;
        is_on(page, "other").await;
        keys(page, "m").await;
        page.key(Key::Tab).await;
        is_at(page, "on the button", |focus| focus.kind == "button").await;
        page.key(Key::Enter).await;
        changes_to(page, given, round, begun + 2).await;
        is_on(page, "asked").await;
        page.key('p').await;
        changes_to(page, given, round, begun + 3).await;
        is_on(page, "asked").await;

        tab_to(page, "on the handles' button", |focus| focus.id == "show-borders").await;
        page.key(Key::Enter).await;
        page.sees("Drag a handle").await;
        step_back(page).await;
        is_at(page, "on a handle", |focus| focus.id.starts_with("border-")).await;
        let before = focus(page).await.id;
        page.key(Key::Left).await;
        page.key(Key::Enter).await;
        let moved = changes_to(page, given, round, begun + 4).await;
        assert!(moved.contains("Moved"), "{moved}");
        let on_moved = |focus: &Focus| focus.id.starts_with("border-") && focus.id != before;
        is_at(page, "on the moved handle", on_moved).await;

        page.key('e').await;
        is_on(page, "event-who").await;
        page.key(Key::Tab).await;
        is_on(page, "event-kind").await;
        keys(page, "guard p").await;
        page.key(Key::Tab).await;
        is_on(page, "event-technique").await;
        page.key(Key::Enter).await;
        changes_to(page, given, round, begun + 5).await;
        is_at(page, "on the form", |focus| focus.words == "Add an event").await;
        let told = given.book.told(round).await.expect("what was told");
        assert!(!told.by_hand.events.is_empty());

        page.key('w').await;
        is_on(page, "remark-words").await;
        keys(page, "Patient.").await;
        page.key(Key::Tab).await;
        is_at(page, "on the button", |focus| focus.words == "Keep the note").await;
        page.key(Key::Enter).await;
        changes_to(page, given, round, begun + 6).await;
        is_at(page, "on the form", |focus| focus.words == "Note a moment").await;
        page.sees("Patient.").await;

        page.key('?').await;
        page.sees("They work while you are not writing").await;
        tab_to(page, "on the key u", |focus| focus.kind == "input" && focus.words.is_empty()).await;
        while !of_key(page, "u").await {
            page.key(Key::Tab).await;
        }
        page.key(' ').await;
        tab_to(page, "on the way out", |focus| focus.words == "Close").await;
        page.key(Key::Enter).await;
        is_at(page, "where it was", |focus| focus.words == "Note a moment").await;
        page.key('u').await;
        // The dialog answers after the key that rests was heard.
        page.key('?').await;
        page.sees("They work while you are not writing").await;
        page.key(Key::Escape).await;
        page.sees_no("They work while you are not writing").await;
        is_at(page, "where it was", |focus| focus.words == "Note a moment").await;
        assert_eq!(history(given, round).await.len(), begun + 6, "the key u was switched off");

        page.key('c').await;
        changes_to(page, given, round, begun + 7).await;
        page.sees("confirmed on").await;
        is_at(page, "where the round is told to be confirmed", |focus| {
            focus.words.contains("confirmed on")
        })
        .await;
        let facts = given.book.round_facts(round).await.expect("the round");
        assert!(facts.confirmed.is_some());
    });
}

/// Whether the focus is on the box that switches a key.
async fn of_key(page: &Page, name: &str) -> bool {
    let named = "return document.activeElement.closest('label')?.querySelector('kbd')?.textContent";
    page.script(named, vec![]).await == json!(name)
}
