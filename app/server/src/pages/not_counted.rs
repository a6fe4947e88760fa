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

#[cfg(test)]
mod tests {
    use std::sync::Arc;
    use std::sync::atomic::{AtomicBool, Ordering};

    use academy::{Member, RoundKind, Time};
    use decode::RoundReader;
    use decode::parameters::SettingsError;
    use store::{Book, Captions, RoundFacts};

    use super::*;
    use crate::Access;

    #[tokio::test]
    async fn rounds_that_cannot_be_read_are_said_and_linked_until_they_can_be() {
        let folder = tempfile::tempdir().unwrap();
        let book = Book::open(folder.path()).await.unwrap();
        let broken = Arc::new(AtomicBool::new(false));
        let fails = broken.clone();
        let app = App::with_reader(book, Access::ThisMachine, move |lexicon| {
            if fails.load(Ordering::Relaxed) {
                return Err(SettingsError::Range("numbers").into());
            }
            RoundReader::builtin(lexicon)
        });
        let app = app.unwrap();
        let coach = Visitor::at_this_machine();
        let by = app.by(&coach, None);
        let mut athletes = Vec::new();
        for name in ["Petra", "Idris"] {
            let member = Member { name: name.to_owned(), ..Member::default() };
            athletes.push(app.book.add_member(&by, &member).await.unwrap());
        }
        let text = "WEBVTT\n\n00:01.000 --> 00:03.000\nPetra passes.\n".to_owned();
        let facts = RoundFacts {
            date: "2026-11-02".parse().unwrap(),
            kind: RoundKind::Flow,
            gi: true,
            athletes: [athletes[0], athletes[1]],
            length: Time::from_millis(60_000),
            class: None,
            talk: Some(Captions { name: "round.vtt".to_owned(), text }),
            media: None,
            confirmed: None,
        };
        let id = app.book.add_round(&by, &facts).await.unwrap();
        // The reader is made anew with these words, and can't be.
        broken.store(true, Ordering::Relaxed);
        app.book.teach(&by, "the gift wrap", "back control").await.unwrap();
        let said = async |visitor: &Visitor| {
            let known = app.known().await.unwrap();
            let (own, others) = (app.unread(&known, |_| false), app.unread(&known, |_| true));
            NotCounted::of(&app, visitor, &own, &others).await.unwrap()
        };
        let waiting = said(&coach).await.unwrap();
        assert!(waiting.failed.is_none() && waiting.waiting.is_some());
        assert!(app.read_what_waits().await.unwrap());
        let told = said(&coach).await.unwrap();
        assert_eq!(told.waiting, None);
        assert_eq!(told.failed.as_deref(), Some("1 round can't be read and is not counted:"));
        assert_eq!(told.links, [(id.0, "2 Nov 2026".to_owned())]);
        assert!(said(&Visitor::reading_for(athletes[0])).await.is_none());
        // It is not tried again as it is, but once it changes.
        assert!(!app.read_what_waits().await.unwrap());
        broken.store(false, Ordering::Relaxed);
        let hard = RoundFacts { kind: RoundKind::Hard, ..facts };
        app.book.change_round(&by, id, "Hard", &hard).await.unwrap();
        assert!(app.read_what_waits().await.unwrap());
        assert!(said(&coach).await.is_none());
    }
}
