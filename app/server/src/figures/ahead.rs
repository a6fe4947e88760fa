//! Reading ahead: rounds that nobody has looked at since they came or changed are read in the
//! background, one after the other, so that figures lack them for as short as can be.

use std::time::{Duration, Instant};

use figures::overview::Selection;
use store::{RoundId, Subject};

use crate::error::PageError;
use crate::state::App;

/// How long nothing is done before the book is looked at again, if nobody tells of new rounds.
const LOOK_AGAIN: Duration = Duration::from_secs(30);

/// The shortest rest once nothing waits to be read.
const REST: Duration = Duration::from_secs(1);

/// After rounds were loaded it is rested for so many times as long as that took: while a coach
/// changes one after the other they are out of date again at once.
const RESTS: u32 = 5;

/// The longest rest.
const LONGEST_REST: Duration = Duration::from_secs(60);

/// For so long nothing must have been changed before figures are worked out that nobody has asked
/// for: they would be out of date with the coach's next answer.
const QUIET: Duration = Duration::from_secs(5);

impl App {
    /// Reads whatever is waiting, and then what comes. Never ends by itself.
    pub(crate) async fn read_ahead(self) {
        loop {
            let begun = Instant::now();
            // The book may be in trouble for a moment; a page that needs it says so.
            let known = self.known_at_last().await;
            let rest = (begun.elapsed() * RESTS).min(LONGEST_REST);
            // Not held on to: what is loaded anew would lie beside it.
            let (stamp, unread) =
                known.map_or((0, Vec::new()), |known| (known.stamp, known.unread.clone()));
            if self.read_waiting(unread).await.unwrap_or(false) {
                tokio::time::sleep(rest).await;
                continue;
            }
            tokio::time::sleep(rest.max(REST)).await;
            let told = self.figures.waiting.notified();
            if tokio::time::timeout(QUIET, told).await.is_ok() {
                continue;
            }
            self.add_up_ahead(stamp).await;
            let told = self.figures.waiting.notified();
            let _ = tokio::time::timeout(LOOK_AGAIN, told).await;
        }
    }

    /// Reads what waits now, for a test.
    #[cfg(test)]
    pub(crate) async fn read_what_waits(&self) -> Result<bool, PageError> {
        let unread = self.known_at_last().await?.unread.clone();
        self.read_waiting(unread).await
    }

    /// Works out what everybody's rounds add up to, unless the book was changed since: whoever opens
    /// a page first finds that ready.
    async fn add_up_ahead(&self, stamp: i64) {
        if let Ok(Some(known)) = self.known_at_hand().await
            && known.stamp == stamp
        {
            let _ = self.academy_figures(&known, &Selection::default()).await;
        }
    }

    /// Reads the rounds that wait, resting after each for as long as it took: pages come first.
    /// Tells whether there were any.
    async fn read_waiting(&self, unread: Vec<RoundId>) -> Result<bool, PageError> {
        let mut any = false;
        for id in unread {
            let revision = self.book.revision(Subject::Round(id)).await?;
            if self.has_failed(id, revision) {
                continue;
            }
            any = true;
            let begun = Instant::now();
            let read = self.read_aside(id).await;
            self.note_read(id, revision, read.is_ok());
            tokio::time::sleep(begun.elapsed()).await;
        }
        Ok(any)
    }
}
