//! Who is meant when a round is added: first names, people of the same name, and doubts.

use server::Access;
use store::{MemberId, RoundId};

use crate::app::{Served, named};
use crate::rounds::add;

const TALK: &str = "WEBVTT\n\n00:00.000 --> 00:04.000\nBruna pulls guard\n\n\
    00:20.000 --> 00:24.500\nand Joss passes to side control\n\n\
    00:30.000 --> 00:34.500\nBruna recovers guard and Joss stands up\n";

fn facts<'f>(first: &'f str, second: &'f str) -> Vec<(&'f str, &'f str)> {
    let rest = [("date", "2026-11-02"), ("kind", "hard"), ("gi", "yes"), ("length", "")];
    [("first", first), ("second", second)].into_iter().chain(rest).collect()
}

async fn with_people() -> (Served, [MemberId; 2]) {
    let served = Served::new(Access::ThisMachine).await;
    let mut ids = [MemberId(0); 2];
    for (id, name) in ids.iter_mut().zip(["Bruna Aldertree", "Joss Pettifer"]) {
        *id = served.person(named(name)).await;
    }
    served.person(named("Wren Adder")).await;
    served.person(named("Wren Bittern")).await;
    served.person(named("Idris")).await;
    (served, ids)
}

#[tokio::test]
async fn a_first_name_means_the_one_who_has_it_and_is_heard_in_the_talk() {
    let (served, ids) = with_people().await;
    let mut browser = served.browser();
    let file = Some(("friday.vtt", TALK.as_bytes()));
    let added = add(&mut browser, &served, "/rounds/add", &facts("bruna", "Joss"), file).await;
    assert_eq!(added.location().as_deref(), Some("/rounds/1"), "{added:?}");
    assert_eq!(served.book.round_facts(RoundId(1)).await.unwrap().athletes, ids);
    let page = browser.get("/rounds/1").await;
    page.says("Bruna Aldertree");
    assert!(!page.text.contains("never heard"), "{}", page.text);
    // Where the first name doesn't tell, the whole one is listened for, and not heard.
    served.person(named("Joss Aldertree")).await;
    let fields = [&facts("Joss Pettifer", "Joss Aldertree")[..], &[("others", "yes")]].concat();
    assert_eq!(add(&mut browser, &served, "/rounds/add", &fields, file).await.status, 303);
    browser.get("/rounds/2").await.says("never heard");
}

#[tokio::test]
async fn a_first_name_that_several_have_is_asked_about() {
    let (served, _) = with_people().await;
    let mut browser = served.browser();
    let refused = add(&mut browser, &served, "/rounds/add", &facts("Wren", "Joss"), None).await;
    assert_eq!(refused.status, 422);
    assert!(refused.text.contains("Did you mean Wren Adder or Wren Bittern?"), "{}", refused.text);
    assert!(refused.text.contains("<a href=\"#first\">First athlete</a>"), "{}", refused.text);
    let alone = facts("Joss", "Joss Pettifer");
    let refused = add(&mut browser, &served, "/rounds/add", &alone, None).await;
    assert!(refused.text.contains("Nobody rolls alone"), "{}", refused.text);
}

#[tokio::test]
async fn the_same_captions_again_and_other_peoples_names_are_asked_about_once() {
    let (served, _) = with_people().await;
    let mut browser = served.browser();
    let file = Some(("friday.vtt", TALK.as_bytes()));
    let fields = facts("Joss", "Bruna");
    assert_eq!(add(&mut browser, &served, "/rounds/add", &fields, file).await.status, 303);
    let twice = add(&mut browser, &served, "/rounds/add", &fields, file).await;
    assert_eq!(twice.status, 422);
    let told = "A round with these captions is in the book already: 2 Nov 2026, \
                Joss Pettifer and Bruna Aldertree.";
    assert!(twice.text.contains(told), "{}", twice.text);
    let sure = [&fields[..], &[("twice", "yes")]].concat();
    assert_eq!(add(&mut browser, &served, "/rounds/add", &sure, file).await.status, 303);

    let wrong = facts("Idris", "Wren Adder");
    let asked = add(&mut browser, &served, "/rounds/add", &wrong, file).await;
    assert_eq!(asked.status, 422);
    let told = "This talk names Bruna and Joss. Are these the right two?";
    assert!(asked.text.contains(told), "{}", asked.text);
    let sure = [&wrong[..], &[("others", "yes")]].concat();
    assert_eq!(add(&mut browser, &served, "/rounds/add", &sure, file).await.status, 303);
}
