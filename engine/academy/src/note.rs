//! What a reader of a ledger should know about how it came about, before relying on it.

use crate::person::Athlete;
use crate::time::{Span, Time};

/// A remark about a whole ledger.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Note {
    /// In these stretches the positions are clear, but not who is who: what is said there of one
    /// athlete may be true of the other.
    MayBeSwapped {
        /// Where, by time.
        stretches: Vec<Span>,
    },
    /// The talk never says the name of this athlete.
    NameNotHeard {
        /// Whose.
        athlete: Athlete,
    },
    /// Talk after the end of the round was left out.
    TalkLeftOut {
        /// How many lines of it.
        lines: usize,
        /// The end of the round.
        after: Time,
    },
}

impl Note {
    /// The id used in files.
    #[must_use]
    pub const fn id(&self) -> &'static str {
        match self {
            Note::MayBeSwapped { .. } => "may_be_swapped",
            Note::NameNotHeard { .. } => "name_not_heard",
            Note::TalkLeftOut { .. } => "talk_left_out",
        }
    }
}
