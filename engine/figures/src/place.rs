//! Where an athlete is: a position with their role in it, and how bad that is.

use academy::{Athlete, EventKind, Position};

/// What an athlete has in a position.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Role {
    /// Nobody is on top.
    Neither,
    /// On top, behind, or attacking the leg.
    Top,
    /// Underneath, in front, or with the leg attacked.
    Bottom,
}

/// A position with an athlete's role in it.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Place {
    /// The position.
    pub position: Position,
    /// The athlete's role.
    pub role: Role,
}

/// The positions whose bottom is bad to be in, as a student's page lists them.
pub const BAD: [Position; 7] = [
    Position::SideControl,
    Position::Mount,
    Position::KneeOnBelly,
    Position::NorthSouth,
    Position::BackControl,
    Position::Turtle,
    Position::FrontHeadlock,
];

impl Place {
    /// The place of an athlete in a position where `top` is on top.
    #[must_use]
    pub fn of(position: Position, top: Option<Athlete>, athlete: Athlete) -> Self {
        let role = match top {
            None => Role::Neither,
            Some(top) if top == athlete => Role::Top,
            Some(_) => Role::Bottom,
        };
        Place { position, role }
    }

    /// The other athlete's place at the same moment.
    #[must_use]
    pub const fn across(self) -> Self {
        let role = match self.role {
            Role::Neither => Role::Neither,
            Role::Top => Role::Bottom,
            Role::Bottom => Role::Top,
        };
        Place { position: self.position, role }
    }

    /// Every place there is, in the order of positions, top before bottom; without the pause.
    pub fn all() -> impl Iterator<Item = Place> {
        Position::ALL.into_iter().filter(|position| *position != Position::Reset).flat_map(
            |position| {
                let roles: &[Role] =
                    if position.has_top() { &[Role::Top, Role::Bottom] } else { &[Role::Neither] };
                roles.iter().map(move |role| Place { position, role: *role })
            },
        )
    }

    /// How bad a place is, 0 to 5. `common practice`, in the order in which the published rule book
    /// pays the one on top (FACTS A1: mount and back 4, knee on belly 2 more than the pin before):
    ///
    /// | depth | places |
    /// |---|---|
    /// | 0 | standing, the pause, on top of anything |
    /// | 1 | under any guard: the legs are in play |
    /// | 2 | turtle, front headlock, leg entanglement, underneath |
    /// | 3 | under side control or north-south |
    /// | 4 | under knee on belly |
    /// | 5 | under mount, or with somebody on the back |
    #[must_use]
    pub const fn depth(self) -> u8 {
        match (self.role, self.position) {
            (Role::Neither | Role::Top, _) | (_, Position::Standing | Position::Reset) => 0,
            (_, Position::ClosedGuard | Position::OpenGuard | Position::HalfGuard) => 1,
            (_, Position::Turtle | Position::FrontHeadlock | Position::LegEntanglement) => 2,
            (_, Position::SideControl | Position::NorthSouth) => 3,
            (_, Position::KneeOnBelly) => 4,
            (_, Position::Mount | Position::BackControl) => 5,
        }
    }

    /// Whether anybody rolls there: everywhere but in the pause.
    #[must_use]
    pub const fn is_rolled(self) -> bool {
        !matches!(self.position, Position::Reset)
    }

    /// Whether the figures for getting out look at this place.
    #[must_use]
    pub fn is_bad(self) -> bool {
        self.role == Role::Bottom && BAD.contains(&self.position)
    }
}

/// How a change leaves a bad place.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Way {
    /// Out: to the feet, on top, to a guard.
    Escaped,
    /// From a pin, the knee, the mount or the back to the turtle: off the back or the chest of the
    /// other one, and often not for long.
    Turtled,
    /// To a place that is worse ([`Place::depth`]).
    Worse,
    /// To another place that is neither out nor worse, such as from mount to side control.
    Elsewhere,
}

/// How a change from a bad place counts. `common practice`, with the counting rules of FACTS B
/// (an escape leaves pin or back: guard recovered, turtle, or feet; on top it is a reversal, which
/// is out as well). The turtle is told apart: as a move it is called an escape, but a coach who
/// asks whether somebody got out does not mean it:
///
/// | from underneath | escaped | turtled | worse | elsewhere |
/// |---|---|---|---|---|
/// | side control, north-south | standing, any top, any guard | turtle | knee on belly, mount, back | each other, front headlock, legs attacked |
/// | knee on belly | the same | turtle | mount, back | side control, north-south, front headlock, legs attacked |
/// | mount, back | the same | turtle | none | each other, any other pin, front headlock, legs attacked |
/// | turtle, front headlock | the same | none | any pin, mount, back | each other, legs attacked |
#[must_use]
pub fn way_out(from: Place, to: Place) -> Way {
    if to.depth() <= 1 {
        Way::Escaped
    } else if to.position == Position::Turtle && from.depth() > 2 {
        Way::Turtled
    } else if to.depth() > from.depth() {
        Way::Worse
    } else {
        Way::Elsewhere
    }
}

/// What a change of place is called, and whether the athlete whose places they are did it.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Move {
    /// The kind of moment.
    pub kind: EventKind,
    /// Whether it was the athlete's own doing; else the other one's.
    pub own: bool,
}

/// The name of a change from one place to another, seen from one athlete; nothing where either is
/// the pause, or nothing changed.
///
/// By the counting rules of FACTS B and the definitions of [`EventKind`]. From standing to a guard
/// two things may have happened; it is the takedown of the one on top, unless the ledger tells of a
/// guard pull there ([`crate::stretch::Change`] knows). Winding into a leg entanglement is an
/// advance: the attacker of the leg counts as on top there, but nobody swept. Where one goes from the top of a place to
/// the bottom it is the other one's move, and the other way round.
#[must_use]
pub fn move_of(from: Place, to: Place) -> Option<Move> {
    if from == to || from.position == Position::Reset || to.position == Position::Reset {
        return None;
    }
    // Told from the one who was underneath, or was going to be where both stood.
    let below_before = match (from.role, to.role) {
        (Role::Bottom, _) | (Role::Neither, Role::Bottom) => true,
        (Role::Top, _) | (Role::Neither, Role::Top) => false,
        (Role::Neither, Role::Neither) => return None,
    };
    let (kind, by_below) = if below_before {
        named_from_below(from, to)
    } else {
        named_from_below(from.across(), to.across())
    };
    Some(Move { kind, own: by_below == below_before })
}

/// The move, and whether it was the one underneath who made it; `from` is theirs.
fn named_from_below(from: Place, to: Place) -> (EventKind, bool) {
    use Position::{BackControl, ClosedGuard, HalfGuard, LegEntanglement, OpenGuard, Turtle};
    if from.role == Role::Neither {
        let taken = to.position == BackControl;
        return (if taken { EventKind::BackTake } else { EventKind::Takedown }, false);
    }
    match to.role {
        Role::Neither => (EventKind::Escape, true),
        Role::Top => match (from.position, to.position) {
            (_, BackControl) => (EventKind::BackTake, true),
            // Winding the legs round the other's leg does not put anybody over them.
            (_, LegEntanglement) => (EventKind::Advance, true),
            (before, _) if before.is_guard() => (EventKind::Sweep, true),
            _ => (EventKind::Reversal, true),
        },
        Role::Bottom => match (from.position, to.position) {
            (_, BackControl) => (EventKind::BackTake, false),
            // The leg is free again, or the ankles lock: something better without coming up.
            (HalfGuard, OpenGuard | ClosedGuard) | (OpenGuard, ClosedGuard) => {
                (EventKind::Escape, true)
            }
            (before, LegEntanglement | Turtle | Position::FrontHeadlock) if before.is_guard() => {
                (EventKind::Advance, false)
            }
            // The one on top opens a guard, or gets a leg out of it.
            (before, after) if before.is_guard() && after.is_guard() => (EventKind::Advance, false),
            (before, _) if before.is_guard() => (EventKind::Pass, false),
            (_, after) if after.is_guard() => (EventKind::Escape, true),
            (_, Turtle) if from.depth() > 2 => (EventKind::Escape, true),
            // Every other way among places underneath: the one on top moves, or lets it happen.
            _ => (EventKind::Advance, false),
        },
    }
}
