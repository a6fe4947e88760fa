//! Rounds that count in no figure yet: those that wait to be read, and those that can't be.

use std::sync::PoisonError;

use store::{Revision, RoundId};

use super::Known;
use crate::state::App;

/// Some rounds that count in nothing.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub(crate) struct Unread {
    /// How many are being read.
    pub(crate) waiting: usize,
    /// Those that could not be read as they are.
    pub(crate) failed: Vec<RoundId>,
}

impl App {
    /// The rounds among these that count in nothing.
    pub(crate) fn unread(&self, known: &Known, of: impl Fn(RoundId) -> bool) -> Unread {
        let failed = self.figures.failed.lock().unwrap_or_else(PoisonError::into_inner);
        let mut unread = Unread::default();
        for id in known.unread.iter().copied().filter(|id| of(*id)) {
            match failed.contains_key(&id) {
                true => unread.failed.push(id),
                false => unread.waiting += 1,
            }
        }
        unread
    }

    /// Whether a round could not be read as it is at this revision.
    pub(super) fn has_failed(&self, id: RoundId, at: Revision) -> bool {
        let failed = self.figures.failed.lock().unwrap_or_else(PoisonError::into_inner);
        failed.get(&id) == Some(&at)
    }

    /// Notes whether a round could be read as it is at this revision.
    pub(super) fn note_read(&self, id: RoundId, at: Revision, could: bool) {
        let mut failed = self.figures.failed.lock().unwrap_or_else(PoisonError::into_inner);
        match could {
            true => failed.remove(&id),
            false => failed.insert(id, at),
        };
    }
}
