//! Every page at both widths and in both themes.

use super::academy::{Start, at_this_machine};

#[test]
fn today_is_good() {
    at_this_machine(Start::FewRounds, async |page| {
        page.open("/").await;
        page.sees("Nadira and Haruki").await;
        page.is_good("today").await;
    });
}

#[test]
fn a_book_without_rounds_has_a_good_list() {
    at_this_machine(Start::Empty, async |page| {
        page.open("/rounds").await;
        page.is_good("rounds-empty").await;
    });
}

#[test]
fn a_page_that_is_not_there_says_so() {
    at_this_machine(Start::Empty, async |page| {
        page.open("/nowhere").await;
        page.sees("There is no such page").await;
        // The browser itself tells the status.
        page.complaints().await;
        page.is_good("not-here").await;
        page.follow("To the first page").await;
        page.sees("Today").await;
    });
}
