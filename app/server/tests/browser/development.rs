//! Pages of figures: at both widths and in both themes, and walked through by the keyboard alone.

use academy::{Class, Goal, Message};
use fantoccini::key::Key;
use fantoccini::wd::{PrintConfiguration, PrintSize};
use serde_json::json;
use server::Access;

use super::academy::{Given, Start, by, serving, some_days_ago};
use super::keyboard::{keys, tab_to};
use super::page::Page;
use crate::told::a_small_academy;

/// Opens a page once every round is read.
async fn open_settled(page: &Page, path: &str) {
    page.until("every round is read", async || {
        page.open(path).await;
        let text = "return document.body.innerText.includes('not read yet')";
        page.script(text, Vec::new()).await == json!(false)
    })
    .await;
}

/// The invented people, their rounds, and a class that some of them were in.
async fn filled(given: &Given) {
    let people = a_small_academy(&given.book).await;
    let class = Class {
        date: some_days_ago(30),
        title: "Fundamentals".to_owned(),
        topic: "knee cut pass".to_owned(),
        notes: String::new(),
    };
    given.book.put_class(&by(), None, &class, &people[..5]).await.expect("a class");
}

#[test]
fn pages_of_figures_are_good() {
    serving(Start::Empty, Access::ThisMachine, async |page, given| {
        filled(given).await;
        open_settled(page, "/students/belt/blue").await;
        page.sees("What would help most").await;
        page.is_good("belt").await;
        open_settled(page, "/students/1").await;
        page.sees("Train next").await;
        page.press("All habits, place by place").await;
        page.is_good("student-figures").await;
        page.open("/layers?place=mount.bottom").await;
        page.sees("At blue belt").await;
        page.is_good("layers").await;
        page.open("/classes/1").await;
        page.sees("What was taught, and whether it shows").await;
        page.is_good("class-figures").await;
        page.open("/students/1/report").await;
        page.sees("Your words to them").await;
        page.is_good("report-words").await;
        page.open("/rounds/1").await;
        page.press("As a match would be scored").await;
        page.sees("The referee's rule book decides").await;
        page.is_good("round-scored").await;
    });
}

#[test]
fn a_student_is_looked_at_and_written_to_by_the_keyboard_alone() {
    serving(Start::Empty, Access::ThisMachine, async |page, given| {
        filled(given).await;
        open_settled(page, "/students/1").await;
        tab_to(page, "on the choice of rounds", |focus| focus.id == "which-kind").await;
        keys(page, "flow").await;
        tab_to(page, "on the button", |focus| focus.words == "Show these").await;
        enter(page).await;
        page.sees("from 5 rounds").await;
        tab_to(page, "on the numbers", |focus| focus.words == "Numbers").await;
        page.key(Key::Enter).await;
        page.sees("of rolling known").await;
        tab_to(page, "on the words of the talk", |focus| focus.id == "talk-words").await;
        keys(page, "The mount.").await;
        tab_to(page, "on the button", |focus| focus.words == "We talked today").await;
        enter(page).await;
        page.sees("Since you talked on").await;
        let goal = "Make it a goal: ";
        tab_to(page, "on a suggestion", |focus| focus.words.starts_with(goal)).await;
        enter(page).await;
        page.sees("The goal is kept").await;
        tab_to(page, "on the goal", |focus| focus.words.starts_with("Reached: ")).await;
        enter(page).await;
        page.sees("The goal is reached").await;
        tab_to(page, "on undo", |focus| focus.words.starts_with("Undo: ")).await;
        enter(page).await;
        page.sees("Undone: ").await;

        open_settled(page, "/students/1").await;
        tab_to(page, "on the report", |focus| focus.words == "Write the report").await;
        enter(page).await;
        tab_to(page, "on the words", |focus| focus.id == "words").await;
        tab_to(page, "on the button", |focus| focus.words == "Keep my words").await;
        enter(page).await;
        page.sees("change it so that it is yours").await;
        // The browser itself tells the status.
        page.complaints().await;
        tab_to(page, "on the words", |focus| focus.id == "words").await;
        keys(page, " See you on Thursday.").await;
        tab_to(page, "on the button", |focus| focus.words == "Keep my words").await;
        enter(page).await;
        page.sees("Your words are kept").await;
        tab_to(page, "on the report", |focus| focus.words == "Look at it").await;
        page.key(Key::Enter).await;
        page.sees("From your coach").await;
        page.sees("See you on Thursday.").await;
        page.picture("report-file").await;
    });
}

/// Presses Enter and waits for the page that it leads to.
async fn enter(page: &Page) {
    let old = page.mark().await;
    page.key(Key::Enter).await;
    page.newer_than(old).await;
}

/// Pages of a printed document: each is an object of that type in the file.
fn printed_pages(document: &[u8]) -> usize {
    let text = String::from_utf8_lossy(document);
    text.matches("/Type /Page").count() - text.matches("/Type /Pages").count()
}

#[test]
fn a_report_prints_on_two_pages_however_much_there_is_to_say() {
    serving(Start::Empty, Access::ThisMachine, async |page, given| {
        let people = a_small_academy(&given.book).await;
        let day = some_days_ago(3);
        for number in 1..=4 {
            let words =
                format!("Goal {number}: {}", "breathe, frame, and only then move. ".repeat(4));
            let goal = Goal { set: day, words, reached: None };
            given.book.put_goal(&by(), people[0], None, &goal).await.expect("a goal");
        }
        for sentences in [2, 20, 60] {
            let words =
                "You slow down when it gets tight, and I like to see it. ".repeat(sentences);
            let message = Message { day, words };
            given.book.put_message(&by(), people[0], None, &message).await.expect("a message");
            open_settled(page, "/students/1").await;
            page.open("/students/1/report/file").await;
            page.sees("You slow down when it gets tight").await;
            let size = PrintSize { width: 21.0, height: 29.7 };
            let a4 = PrintConfiguration::builder().size(size).build().expect("a paper size");
            let document = page.client.print(a4).await.expect("it prints");
            let pages = printed_pages(&document);
            assert!((1..=2).contains(&pages), "{pages} pages with {sentences} sentences");
        }
    });
}
