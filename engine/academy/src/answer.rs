//! What the coach answered or corrected. An answer is new input for the decoder, never an edit of
//! its result.

use crate::person::Athlete;
use crate::position::{EventKind, Position};
use crate::time::{Span, Time};

/// Something a person said about a round.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Answer {
    /// At this moment the round was in this position with this athlete on top.
    State {
        /// The moment asked about.
        time: Time,
        /// The position; one without a top goes with `top: None`.
        position: Position,
        /// Who was on top; `None` also where the person does not know.
        top: Option<Athlete>,
    },
    /// At this moment this athlete was on top, whatever the position.
    Top {
        /// The moment asked about.
        time: Time,
        /// Who was on top.
        top: Athlete,
    },
    /// At this moment the round was in this position with this athlete on top, and that began or
    /// ended, or both, at a time that the person watched for: within half a second or so.
    Spell {
        /// The moment asked about, from the start on and not after the end.
        time: Time,
        /// The position; one without a top goes with `top: None`.
        position: Position,
        /// Who was on top; `None` also where the person does not know.
        top: Option<Athlete>,
        /// When it began, where the person says so.
        start: Option<Time>,
        /// When it ended, where the person says so.
        end: Option<Time>,
    },
    /// This happened about here: people tell of an event in passing, to two seconds or so.
    Event {
        /// When.
        time: Time,
        /// What kind.
        kind: EventKind,
        /// Who did it, where known.
        actor: Option<Athlete>,
    },
    /// Position and top did not change in this stretch.
    Nothing {
        /// The stretch.
        span: Span,
    },
}
