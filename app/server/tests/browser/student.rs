//! What a student sees from the local network: their own rounds, read only, and nobody who has not
//! agreed to be seen.

use academy::Role;
use serde_json::json;
use server::Access;
use store::{Book, MemberId, RoundId};

use super::academy::{Start, by, serving};
use super::page::Page;
use super::recording::record;

async fn id(book: &Book, name: &str) -> MemberId {
    let members = book.members().await.expect("people");
    members.iter().find(|(_, member)| member.name == name).expect("a person").0
}

/// Makes somebody agree to be shown in the club, or not.
async fn agree(book: &Book, name: &str, club: bool) {
    let id = id(book, name).await;
    let mut member = book.member(id).await.expect("a person");
    member.consent.club = club;
    book.change_member(&by(), id, &member).await.expect("a change");
}

async fn log_in(page: &Page, book: &Book, name: &str) {
    let token = "a-token-that-nobody-guesses";
    let own = Some(id(book, name).await);
    book.invite(Role::Student, own, token, i64::MAX).await.expect("an invitation");
    page.open(&format!("/welcome/{token}")).await;
    page.fill("Name", "own").await;
    page.fill("Password", "elbow escape, then knee").await;
    page.send("Make my login").await;
}

/// What a page lets its reader change: forms but that of logging out, and fields.
const CHANGES: &str = r#"
const out = (form) => form.getAttribute("action") === "/logout";
return [...document.querySelectorAll("form, input:not(#loop), select, textarea, [role=slider]")]
  .filter((element) => !out(element.closest("form") ?? element))
  .map((element) => element.outerHTML.slice(0, 120));
"#;

/// The status with which the server answers the page for an address.
async fn status(page: &Page, path: &str) -> serde_json::Value {
    let ask = "const done = arguments[arguments.length - 1];
        fetch(arguments[0]).then((answer) => done(answer.status), (error) => done(String(error)))";
    page.client.execute_async(ask, vec![json!(path)]).await.expect("an answer")
}

#[test]
fn a_student_reads_the_own_round_and_changes_nothing() {
    serving(Start::FewRounds, Access::LocalNetwork, async |page, given| {
        let hash = record(&given.book, RoundId(1)).await;
        log_in(page, &given.book, "Haruki").await;
        page.sees("Nadira").await;
        page.is_good("student-own").await;
        page.follow("With Nadira").await;
        page.sees("Nadira and Haruki").await;
        page.sees("The talk").await;
        assert_eq!(page.script(CHANGES, Vec::new()).await, json!([]));
        let ready = "return document.getElementById('player').readyState >= 2";
        page.until("the recording loads", async || {
            page.script(ready, Vec::new()).await == json!(true)
        })
        .await;
        page.is_good("student-round").await;
        let revision = given.book.revision(store::Subject::Round(RoundId(1))).await;
        for key in ['c', 'u', '1', 'p', 'e', 'w'] {
            page.key(key).await;
        }
        assert_eq!(page.script(CHANGES, Vec::new()).await, json!([]));
        assert_eq!(status(page, &format!("/media/{hash}")).await, json!(200));
        let after = given.book.revision(store::Subject::Round(RoundId(1))).await;
        assert_eq!(after.expect("one"), revision.expect("one"));
        page.open("/rounds/2").await;
        page.sees("Not yours").await;
        page.complaints().await;
    });
}

#[test]
fn a_partner_who_has_not_agreed_is_neither_named_nor_seen() {
    serving(Start::FewRounds, Access::LocalNetwork, async |page, given| {
        let hash = record(&given.book, RoundId(1)).await;
        agree(&given.book, "Nadira", false).await;
        log_in(page, &given.book, "Haruki").await;
        page.sees("training partner").await;
        page.follow("With a training partner").await;
        page.sees("hasn't agreed").await;
        page.has_no_complaints().await;
        let whole = "return document.documentElement.outerHTML";
        let whole = page.script(whole, Vec::new()).await.to_string();
        assert!(!whole.contains("Nadira"), "the name is somewhere in the page");
        assert!(!whole.contains(&hash), "the recording is somewhere in the page");
        assert_eq!(page.script(CHANGES, Vec::new()).await, json!([]));
        page.is_good("student-round-hidden").await;
        assert_eq!(status(page, &format!("/media/{hash}")).await, json!(403));
        agree(&given.book, "Nadira", true).await;
        assert_eq!(status(page, &format!("/media/{hash}")).await, json!(200));
        page.complaints().await;
    });
}
