//! What is pressed while a round is told live, beside the mat.

use crate::person::Athlete;
use crate::position::{EventKind, Position};
use crate::time::Time;

/// One press.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Press {
    /// When, by the round's clock.
    pub at: Time,
    /// What was pressed.
    pub what: Pressed,
}

/// What a press says.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Pressed {
    /// The clock starts; both stand.
    Start {
        /// When that was by the clock on the wall, in milliseconds since 1970.
        clock: u64,
    },
    /// From now on they are in this position.
    Position {
        /// Which.
        position: Position,
        /// Who is on top; `None` exactly where the position has no top.
        top: Option<Athlete>,
    },
    /// Something happened.
    Event {
        /// What.
        kind: EventKind,
        /// Who did it.
        actor: Athlete,
    },
    /// The last position or event that is not undone was a mistake.
    Undo,
    /// The round is over.
    Finish,
}
