//! A small invented academy to test with, served to a browser of its own.

use std::fs;
use std::net::Ipv4Addr;

use academy::{Belt, Consent, Member, Pronoun, Role, RoundKind, Time};
use fantoccini::Client;
use jiff::ToSpan;
use jiff::civil::Date;
use serde_json::json;
use server::{Access, App, ServeOptions};
use store::{AcademyFacts, Book, By, Captions, MemberId, RoundFacts};

use super::checks::{LOOKS, root};
use super::driver::{RUNTIME, with_browser};
use super::page::Page;

/// What a book holds when a test begins.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Start {
    /// Nobody and nothing.
    Empty,
    /// Four people and three rounds, two with talk.
    FewRounds,
}

/// Runs a test in a browser, over a book of its own, at this machine.
pub(crate) fn at_this_machine(start: Start, test: impl AsyncFnOnce(&Page)) {
    serving(start, Access::ThisMachine, async |page, _| test(page).await);
}

/// What is served.
pub(crate) struct Given {
    pub(crate) book: Book,
    pub(crate) app: App,
}

/// Runs a test in a browser over a book of its own.
pub(crate) fn serving(start: Start, access: Access, test: impl AsyncFnOnce(&Page, &Given)) {
    serving_with(start, |book| App::new(book, access).expect("the reader fits"), test);
}

/// As [`serving`], with an app made for the test.
pub(crate) fn serving_with(
    start: Start,
    make: impl FnOnce(Book) -> App,
    test: impl AsyncFnOnce(&Page, &Given),
) {
    RUNTIME.block_on(async {
        let folder = tempfile::tempdir().expect("a folder for a book");
        let book = Book::open(folder.path()).await.expect("a new book");
        let facts = AcademyFacts { name: "The Testing Mats".to_owned(), invented: false };
        book.put_academy(&by(), &facts).await.expect("a name for the academy");
        if start == Start::FewRounds {
            fill(&book).await;
        }
        let given = Given { app: make(book.clone()), book };
        let served = server::start(given.app.clone(), ServeOptions { port: 0 });
        let served = served.await.expect("a free port");
        let address = format!("http://{}:{}", Ipv4Addr::LOCALHOST, served.address.port());
        with_browser(async |client: Client| {
            let page = Page { client, address };
            page.browser("Network.clearBrowserCookies", json!({})).await;
            page.look(LOOKS[2]).await;
            // What the console said of another test is not this one's.
            page.complaints().await;
            test(&page, &given).await;
            page.has_no_complaints().await;
            page.client.goto("about:blank").await.expect("an empty page");
        })
        .await;
        served.stop().await.expect("the server stops in order");
    });
}

fn person(name: &str, pronoun: Pronoun, belt: Belt) -> Member {
    Member {
        name: name.to_owned(),
        pronoun: Some(pronoun),
        role: Role::Student,
        belt,
        consent: Consent { club: true, public: false },
        ..Member::default()
    }
}

/// The day so many days before today.
pub(crate) fn some_days_ago(days: i32) -> Date {
    jiff::ZonedDateTime::now().date().checked_sub(days.days()).expect("a date")
}

/// Who puts things into the book before a test begins.
pub(crate) fn by() -> By {
    By { who: "coach".to_owned(), at: 1_790_000_000, seen: None }
}

async fn fill(book: &Book) {
    let by = by();
    let people = [
        person("Nadira", Pronoun::She, Belt::Blue),
        person("Haruki", Pronoun::He, Belt::Purple),
        person("Gwendolyn", Pronoun::She, Belt::White),
        person("Aurelie", Pronoun::She, Belt::Blue),
    ];
    let mut ids: Vec<MemberId> = Vec::new();
    for member in &people {
        ids.push(book.add_member(&by, member).await.expect("a person"));
    }
    for (file, days, athletes, seconds) in
        [(Some("r01"), 9, [0, 1], 240), (Some("r02"), 5, [2, 3], 135), (None, 2, [0, 3], 180)]
    {
        let talk = file.map(|name| {
            let name = format!("{name}.vtt");
            let path = root().join("samples/academy/rounds").join(&name);
            Captions { text: fs::read_to_string(path).expect("a sample round"), name }
        });
        let facts = RoundFacts {
            date: some_days_ago(days),
            kind: RoundKind::Flow,
            gi: true,
            athletes: athletes.map(|index: usize| ids[index]),
            length: Time::from_millis(seconds * 1000),
            class: None,
            talk,
            media: None,
            confirmed: None,
        };
        book.add_round(&by, &facts).await.expect("a round");
    }
}
