//! What people entered or confirmed about a round. It outlives every reading of the talk.

use crate::ledger::{Event, Spell};

/// The entries of a round that a person made. Spells do not overlap, each has the source `hand`
/// and confidence 1; so have the events.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct ByHand {
    /// Stretches of time that a person told, in order.
    pub spells: Vec<Spell>,
    /// Moments that a person told, in order.
    pub events: Vec<Event>,
    /// Guessed moments that a person struck out: whatever is guessed of the same kind near the
    /// same time does not count.
    pub struck: Vec<Event>,
}
