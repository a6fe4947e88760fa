//! Where every place lies on the map, laid out by hand.
//!
//! Both stand at the top of the picture. What is on the right is on top, what is on the left is
//! underneath, as in a mirror; the further from the middle, the more one of the two holds the
//! other: guards and legs next to the middle, the headlock and the turtle above, then the pins, the
//! mount and the back outermost (on a narrow screen the pins come under the guards instead).
//! `common practice`; a way of drawing, not a measure.

use academy::Position;
use figures::{Place, Role};

use crate::tide::TideWidth;

/// The picture's width and the height of the part with places in it.
pub(crate) const fn size(width: TideWidth) -> [f64; 2] {
    match width {
        TideWidth::Laptop => [960.0, 560.0],
        TideWidth::Phone => [360.0, 690.0],
    }
}

/// The middle of a place's dot.
pub(crate) fn spot(place: Place, width: TideWidth) -> [f64; 2] {
    let [across, down] = match width {
        TideWidth::Laptop => wide(place.position),
        TideWidth::Phone => narrow(place.position),
    };
    let middle = size(width)[0] / 2.0;
    match place.role {
        Role::Neither => [middle, down],
        Role::Top => [middle + across, down],
        Role::Bottom => [middle - across, down],
    }
}

/// How far from the middle, and how far down.
const fn wide(position: Position) -> [f64; 2] {
    match position {
        Position::Standing | Position::Reset => [0.0, 62.0],
        Position::FrontHeadlock => [205.0, 88.0],
        Position::Turtle => [335.0, 138.0],
        Position::OpenGuard => [104.0, 178.0],
        Position::ClosedGuard => [176.0, 286.0],
        Position::HalfGuard => [112.0, 402.0],
        Position::LegEntanglement => [72.0, 500.0],
        Position::KneeOnBelly => [280.0, 236.0],
        Position::SideControl => [282.0, 356.0],
        Position::NorthSouth => [262.0, 484.0],
        Position::BackControl => [415.0, 246.0],
        Position::Mount => [410.0, 410.0],
    }
}

const fn narrow(position: Position) -> [f64; 2] {
    match position {
        Position::Standing | Position::Reset => [0.0, 62.0],
        Position::FrontHeadlock => [128.0, 112.0],
        Position::OpenGuard => [50.0, 160.0],
        Position::Turtle => [136.0, 208.0],
        Position::ClosedGuard => [52.0, 262.0],
        Position::BackControl => [134.0, 310.0],
        Position::HalfGuard => [50.0, 364.0],
        Position::Mount => [136.0, 420.0],
        Position::SideControl => [54.0, 470.0],
        Position::KneeOnBelly => [132.0, 528.0],
        Position::NorthSouth => [50.0, 574.0],
        Position::LegEntanglement => [128.0, 632.0],
    }
}
