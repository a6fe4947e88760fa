//! Reading ahead: rounds that nobody has looked at since they came or changed are read in the
//! background, one after the other, so that figures lack them for as short as can be.

use std::collections::HashMap;
use std::time::{Duration, Instant};

use store::{Revision, RoundId, Subject};

use crate::error::PageError;
use crate::state::App;

/// How long nothing is done before the book is looked at again, if nobody tells of new rounds.
const LOOK_AGAIN: Duration = Duration::from_secs(30);

impl App {
    /// Reads whatever is waiting, and then what comes. Never ends by itself.
    pub(crate) async fn read_ahead(self) {
        // Rounds that could not be read as they are; they are tried again once they change.
        let mut failed: HashMap<RoundId, Revision> = HashMap::new();
        loop {
            // The book may be in trouble for a moment; a page that needs it says so.
            while let Ok(true) = self.read_one(&mut failed).await {}
            // Whoever opens a page first finds the figures ready.
            if let Ok(known) = self.known().await {
                let _ = self.academy_figures(&known, &Default::default()).await;
            }
            let told = self.figures.waiting.notified();
            let _ = tokio::time::timeout(LOOK_AGAIN, told).await;
        }
    }

    /// Reads one of the waiting rounds and rests for as long as that took: pages come first. Tells
    /// whether there was one.
    async fn read_one(&self, failed: &mut HashMap<RoundId, Revision>) -> Result<bool, PageError> {
        for id in self.known().await?.unread.clone() {
            let revision = self.book.revision(Subject::Round(id)).await?;
            if failed.get(&id) == Some(&revision) {
                continue;
            }
            let begun = Instant::now();
            if self.read_aside(id).await.is_err() {
                failed.insert(id, revision);
            }
            tokio::time::sleep(begun.elapsed()).await;
            return Ok(true);
        }
        Ok(false)
    }
}
