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
    /// This happened here.
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
