//! Positions and kinds of events, with the ids that files and lexicon use.
//!
//! The definitions follow the trade's common meaning, aligned with the published rule book where
//! that defines a word (guard, half guard, pass, sweep, takedown).

/// Where two athletes are relative to each other.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Position {
    /// Both on their feet; nobody is on top.
    Standing,
    /// The legs of the one underneath are locked round the trunk.
    ClosedGuard,
    /// Any guard whose ankles are not locked round the trunk.
    OpenGuard,
    /// The one underneath traps one leg of the one on top.
    HalfGuard,
    /// Pin from the side, legs cleared.
    SideControl,
    /// Pin with heads pointing to opposite ends.
    NorthSouth,
    /// Knee or shin across the belly, the other foot on the mat.
    KneeOnBelly,
    /// Sitting astride the trunk, facing the head.
    Mount,
    /// Behind the opponent with hooks or a body triangle; the one behind counts as on top.
    BackControl,
    /// One on knees and elbows; the one above or behind counts as on top.
    Turtle,
    /// The one on top faces the opponent and controls the head under the chest.
    FrontHeadlock,
    /// Legs wound round a leg of the opponent; the attacker of the leg counts as on top.
    LegEntanglement,
    /// The pause after a tap or at the edge, until both start again.
    Reset,
}

impl Position {
    /// Every position, in the order of their ids in files.
    pub const ALL: [Position; 13] = [
        Position::Standing,
        Position::ClosedGuard,
        Position::OpenGuard,
        Position::HalfGuard,
        Position::SideControl,
        Position::NorthSouth,
        Position::KneeOnBelly,
        Position::Mount,
        Position::BackControl,
        Position::Turtle,
        Position::FrontHeadlock,
        Position::LegEntanglement,
        Position::Reset,
    ];

    /// The id used in files.
    #[must_use]
    pub const fn id(self) -> &'static str {
        match self {
            Position::Standing => "standing",
            Position::ClosedGuard => "closed_guard",
            Position::OpenGuard => "open_guard",
            Position::HalfGuard => "half_guard",
            Position::SideControl => "side_control",
            Position::NorthSouth => "north_south",
            Position::KneeOnBelly => "knee_on_belly",
            Position::Mount => "mount",
            Position::BackControl => "back_control",
            Position::Turtle => "turtle",
            Position::FrontHeadlock => "front_headlock",
            Position::LegEntanglement => "leg_entanglement",
            Position::Reset => "reset",
        }
    }

    /// The name shown to people, in lower case.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Position::Standing => "standing",
            Position::ClosedGuard => "closed guard",
            Position::OpenGuard => "open guard",
            Position::HalfGuard => "half guard",
            Position::SideControl => "side control",
            Position::NorthSouth => "north-south",
            Position::KneeOnBelly => "knee on belly",
            Position::Mount => "mount",
            Position::BackControl => "back control",
            Position::Turtle => "turtle",
            Position::FrontHeadlock => "front headlock",
            Position::LegEntanglement => "leg entanglement",
            Position::Reset => "pause",
        }
    }

    /// The position with this id.
    #[must_use]
    pub fn from_id(id: &str) -> Option<Self> {
        Position::ALL.into_iter().find(|position| position.id() == id)
    }

    /// Whether somebody is on top in this position.
    #[must_use]
    pub const fn has_top(self) -> bool {
        !matches!(self, Position::Standing | Position::Reset)
    }

    /// Whether the one underneath has the legs in play: closed, open or half guard.
    #[must_use]
    pub const fn is_guard(self) -> bool {
        matches!(self, Position::ClosedGuard | Position::OpenGuard | Position::HalfGuard)
    }
}

/// What kind of moment an event is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum EventKind {
    /// From standing, one puts the other down and stays on top.
    Takedown,
    /// From standing, one goes to the bottom by choice.
    GuardPull,
    /// The one on top clears the legs of a guard.
    Pass,
    /// From a guard, the one underneath comes to the top.
    Sweep,
    /// From under a pin, the back or the turtle, the one underneath comes to the top.
    Reversal,
    /// The one underneath leaves for something better without coming to the top.
    Escape,
    /// Somebody gets behind the other with hooks or a body triangle.
    BackTake,
    /// The one on top moves on without passing a guard.
    Advance,
    /// A limb or the neck is isolated and the other must defend.
    SubmissionAttempt,
    /// The one attacked gets out of a submission.
    SubmissionEscape,
    /// The attacker lets a submission go by choice.
    Release,
    /// The one attacked gives up.
    Tap,
    /// Something was tried and did not work.
    FailedTry,
    /// Both start again.
    Reset,
}

impl EventKind {
    /// Every kind of event.
    pub const ALL: [EventKind; 14] = [
        EventKind::Takedown,
        EventKind::GuardPull,
        EventKind::Pass,
        EventKind::Sweep,
        EventKind::Reversal,
        EventKind::Escape,
        EventKind::BackTake,
        EventKind::Advance,
        EventKind::SubmissionAttempt,
        EventKind::SubmissionEscape,
        EventKind::Release,
        EventKind::Tap,
        EventKind::FailedTry,
        EventKind::Reset,
    ];

    /// The id used in files.
    #[must_use]
    pub const fn id(self) -> &'static str {
        match self {
            EventKind::Takedown => "takedown",
            EventKind::GuardPull => "guard_pull",
            EventKind::Pass => "pass",
            EventKind::Sweep => "sweep",
            EventKind::Reversal => "reversal",
            EventKind::Escape => "escape",
            EventKind::BackTake => "back_take",
            EventKind::Advance => "advance",
            EventKind::SubmissionAttempt => "submission_attempt",
            EventKind::SubmissionEscape => "submission_escape",
            EventKind::Release => "release",
            EventKind::Tap => "tap",
            EventKind::FailedTry => "failed_try",
            EventKind::Reset => "reset",
        }
    }

    /// The name shown to people, in lower case.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            EventKind::Takedown => "takedown",
            EventKind::GuardPull => "guard pull",
            EventKind::Pass => "pass",
            EventKind::Sweep => "sweep",
            EventKind::Reversal => "reversal",
            EventKind::Escape => "escape",
            EventKind::BackTake => "back take",
            EventKind::Advance => "advance",
            EventKind::SubmissionAttempt => "submission attempt",
            EventKind::SubmissionEscape => "submission escape",
            EventKind::Release => "release",
            EventKind::Tap => "tap",
            EventKind::FailedTry => "try",
            EventKind::Reset => "restart",
        }
    }

    /// The kind with this id.
    #[must_use]
    pub fn from_id(id: &str) -> Option<Self> {
        EventKind::ALL.into_iter().find(|kind| kind.id() == id)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn ids_lead_back_to_what_they_name() {
        for position in Position::ALL {
            assert_eq!(Position::from_id(position.id()), Some(position));
        }
        for kind in EventKind::ALL {
            assert_eq!(EventKind::from_id(kind.id()), Some(kind));
        }
        assert_eq!(Position::from_id("guard"), None);
    }
}
