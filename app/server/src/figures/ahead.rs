//! Reading ahead: rounds that nobody has looked at since they came or changed are read in the
//! background, one after the other, so that figures lack them for as short as can be.

use std::collections::HashMap;
use std::time::{Duration, Instant};

use figures::overview::Selection;
use store::{Revision, RoundId, Subject};

use crate::error::PageError;
use crate::state::App;

/// How long nothing is done before the book is looked at again, if nobody tells of new rounds.
const LOOK_AGAIN: Duration = Duration::from_secs(30);

/// The shortest rest after the rounds were loaded anew: while a coach changes one after the other
/// that need not be done each time.
const REST: Duration = Duration::from_secs(1);

/// Rounds that could not be read as they were; they are tried again once they change.
type Failed = HashMap<RoundId, Revision>;

impl App {
    /// Reads whatever is waiting, and then what comes. Never ends by itself.
    pub(crate) async fn read_ahead(self) {
        let mut failed = Failed::new();
        loop {
            // The book may be in trouble for a moment; a page that needs it says so.
            if !self.read_waiting(&mut failed).await.unwrap_or(false) {
                // Whoever opens a page first finds the figures ready.
                if let Ok(known) = self.known().await {
                    let _ = self.academy_figures(&known, &Selection::default()).await;
                }
                tokio::time::sleep(REST).await;
                let told = self.figures.waiting.notified();
                let _ = tokio::time::timeout(LOOK_AGAIN, told).await;
            }
        }
    }

    /// Reads the rounds that wait, resting after each for as long as it took: pages come first.
    /// Tells whether there were any.
    async fn read_waiting(&self, failed: &mut Failed) -> Result<bool, PageError> {
        let known = self.known().await?;
        let mut any = false;
        for id in known.unread.iter().copied() {
            let revision = self.book.revision(Subject::Round(id)).await?;
            if failed.get(&id) == Some(&revision) {
                continue;
            }
            any = true;
            let begun = Instant::now();
            if self.read_aside(id).await.is_err() {
                failed.insert(id, revision);
            }
            tokio::time::sleep(begun.elapsed()).await;
        }
        Ok(any)
    }
}
