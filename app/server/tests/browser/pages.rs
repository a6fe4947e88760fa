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
