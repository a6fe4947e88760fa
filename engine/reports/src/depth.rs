//! How bad each position is for the one underneath: the depth of the tide.
//!
//! Common practice: teachers and rule books rank positions in this order (guard, half guard, the
//! turtle and the headlock, the side pins, knee on belly, mount, the back), and points rise with
//! it. The steps between them are a choice for drawing, not a measurement, and nothing is
//! computed from them.

use academy::Position;

/// The deepest position's depth.
pub(crate) const DEEPEST: f64 = 6.0;

/// Depth, 0 where nobody is on top, to [`DEEPEST`].
pub(crate) const fn depth(position: Position) -> f64 {
    match position {
        Position::Standing | Position::Reset => 0.0,
        Position::OpenGuard => 1.0,
        Position::ClosedGuard => 1.25,
        Position::HalfGuard => 2.0,
        Position::LegEntanglement | Position::Turtle | Position::FrontHeadlock => 3.0,
        Position::SideControl | Position::NorthSouth => 4.0,
        Position::KneeOnBelly => 4.5,
        Position::Mount => 5.0,
        Position::BackControl => 6.0,
    }
}

/// The levels that a picture names at its side.
pub(crate) const LEVELS: [(&str, f64); 5] =
    [("guard", 1.0), ("half", 2.0), ("side", 4.0), ("mount", 5.0), ("back", 6.0)];
