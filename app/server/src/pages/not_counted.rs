//! What a page of figures says of rounds that count in nothing yet. Pages that show it have an
//! `unread` and include `pages/not_counted.html`.

use crate::error::PageError;
use crate::figures::Unread;
use crate::state::App;
use crate::visitor::Visitor;
use crate::wording::{count, day};

/// Links to rounds that can't be read; more of them have one cause.
const MOST_LINKS: usize = 5;

/// Rounds that count in nothing.
pub(crate) struct NotCounted {
    /// Of those that are being read.
    pub(crate) waiting: Option<String>,
    /// Of those that can't be read.
    pub(crate) failed: Option<String>,
    /// Rounds that can't be read, by their days.
    pub(crate) links: Vec<(i64, String)>,
}

impl NotCounted {
    /// Of the rounds that a page is about and of the others that these are read beside; nothing
    /// where all of them count. A student is led to their own rounds only.
    pub(crate) async fn of(
        app: &App,
        visitor: &Visitor,
        own: &Unread,
        others: &Unread,
    ) -> Result<Option<Self>, PageError> {
        let mut failed = own.failed.clone();
        if visitor.is_staff() {
            failed.extend(&others.failed);
        }
        let mut links = Vec::new();
        for id in failed.iter().take(MOST_LINKS) {
            let known = app.book.round_facts(*id).await;
            links.push((id.0, known.map_or("a round".to_owned(), |facts| day(facts.date))));
        }
        let told = match failed.len() {
            0 => None,
            1 => Some("1 round can't be read and is not counted:".to_owned()),
            many => Some(format!("{many} rounds can't be read and are not counted:")),
        };
        let waiting = waiting(own.waiting, others.waiting);
        let any = waiting.is_some() || told.is_some();
        Ok(any.then_some(NotCounted { waiting, failed: told, links }))
    }
}

/// "2 rounds are not read yet and not counted ..."
fn waiting(own: usize, others: usize) -> Option<String> {
    let rounds = |number| count(number, "round is", "rounds are");
    let told = match (own, others) {
        (0, 0) => return None,
        (0, others) => format!(
            "{} not read yet and not counted among the others.",
            count(others, "other round is", "other rounds are")
        ),
        (own, 0) => format!("{} not read yet and not counted.", rounds(own)),
        (own, others) => {
            format!("{} not read yet and not counted, nor {others} of others.", rounds(own))
        }
    };
    Some(format!("{told} They are being read; look again in a while."))
}
