//! A round read under a published rule set: points, the control behind each, and what didn't count.
//!
//! The rules are data ([`RuleSet`]), tied to an edition; this folder reads the ledger by them. A place
//! held for less than the hold is something the athletes passed through: a takedown, sweep or pass
//! starts from the last place that *was* held (or where the round, or a restart, began), so a moment's
//! guess between two long places changes nothing. A leg entanglement counts as no place at all, since
//! rule books and ledgers mean different things by being on top in one (common practice).
//!
//! What a ledger can't tell is left out: stalling, the edge of the mat, how close a submission came,
//! how much of a back was on the mat, and whether a takedown began from the knees.
//!
//! **Confidence.** An award rests on several entries: the place it started from, the places until the
//! hold was complete, and for a takedown or a guard pull the event that tells them apart. Its
//! confidence is the *least* of theirs. Neighbouring entries of one reading stand and fall together,
//! so their product would be too small; the least is the most that the award's chance can be.

mod arrival;
mod places;
mod positions;
mod reading;
mod reasons;
mod rule_set;
mod tally;

use academy::{Athlete, Ledger, Round, Time};

pub use rule_set::{Repeats, RuleError, RuleSet};

/// What a rule book gives points for, or says it gives none for.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Action {
    /// From standing to the top.
    Takedown,
    /// From a guard underneath to the top.
    Sweep,
    /// From under a pin, the back or the turtle to the top.
    Reversal,
    /// Past the legs into a pin.
    Pass,
    /// Knee on belly reached.
    KneeOnBelly,
    /// Mount reached.
    Mount,
    /// Behind with both hooks or a body triangle.
    BackControl,
    /// From standing to the bottom by choice.
    GuardPull,
    /// From under a pin or the back to a guard underneath.
    GuardRecovery,
}

impl Action {
    /// The id used in files.
    #[must_use]
    pub const fn id(self) -> &'static str {
        match self {
            Action::Takedown => "takedown",
            Action::Sweep => "sweep",
            Action::Reversal => "reversal",
            Action::Pass => "pass",
            Action::KneeOnBelly => "knee_on_belly",
            Action::Mount => "mount",
            Action::BackControl => "back_control",
            Action::GuardPull => "guard_pull",
            Action::GuardRecovery => "guard_recovery",
        }
    }

    /// The name shown to people, in lower case.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Action::Takedown => "takedown",
            Action::Sweep => "sweep",
            Action::Reversal => "reversal",
            Action::Pass => "guard pass",
            Action::KneeOnBelly => "knee on belly",
            Action::Mount => "mount",
            Action::BackControl => "back control",
            Action::GuardPull => "guard pull",
            Action::GuardRecovery => "guard recovery",
        }
    }
}

/// Points given, or taken where they are negative.
#[derive(Clone, Debug, PartialEq)]
pub struct Award {
    /// When the hold was complete.
    pub time: Time,
    /// When the position was reached, or got free of a submission.
    pub since: Time,
    /// Who gets the points.
    pub athlete: Athlete,
    /// What for.
    pub action: Action,
    /// Whether a takedown, sweep or reversal ended past the guard.
    pub clean: bool,
    /// How many; negative for a penalty.
    pub points: i32,
    /// Seconds of control without a break and free of submissions; 0 for a penalty.
    pub held_seconds: f64,
    /// Probability, 0 to 1, that it is right: the least of the entries it rests on.
    pub confidence: f64,
    /// Whether a person entered or confirmed everything it rests on.
    pub confirmed: bool,
    /// Why, in plain words, without the athlete's name.
    pub reason: String,
}

/// Why something that looks like an action gives no points.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Why {
    /// Not held long enough.
    TooShort,
    /// Held, but caught in a submission.
    Caught,
    /// The rule set gives nothing for it.
    NoPoints,
    /// The same position again, without the control having been lost.
    Again,
    /// A position worth less than one held before, by choice.
    MovingDown,
    /// Reached in the same movement as a takedown, sweep or pass that counts.
    Straight,
    /// There was no guard in play to pass.
    NoGuard,
    /// Behind the opponent with one hook only.
    OneHook,
    /// Reached in the part of the round without points.
    BeforePoints,
    /// Nothing tells a takedown from a guard pull.
    NotTold,
    /// The round, or a restart, began in this position.
    StartedThere,
    /// After the submission.
    AfterSubmission,
}

/// Something that gives no points, and why.
#[derive(Clone, Debug, PartialEq)]
pub struct NotCounted {
    /// When it was reached.
    pub time: Time,
    /// Who did it; `None` for all that comes after a submission.
    pub athlete: Option<Athlete>,
    /// What it would have been.
    pub action: Option<Action>,
    /// Why it gives none.
    pub why: Why,
    /// The same in plain words.
    pub reason: String,
    /// Probability, 0 to 1, of the entries it rests on: the least of them.
    pub confidence: f64,
}

/// A scoring position that was reached and not held, where the rule set gives an advantage for that.
///
/// Submissions that came close earn advantages too, but a ledger can't tell how close they came.
#[derive(Clone, Debug, PartialEq)]
pub struct Advantage {
    /// When the position was reached.
    pub time: Time,
    /// Who gets it.
    pub athlete: Athlete,
    /// For what.
    pub action: Action,
    /// Why, in plain words.
    pub reason: String,
    /// Probability, 0 to 1, of the entries it rests on: the least of them.
    pub confidence: f64,
}

/// The tap that ends a match.
#[derive(Clone, Debug, PartialEq)]
pub struct Submission {
    /// When.
    pub time: Time,
    /// Who won by it, where that is known.
    pub winner: Option<Athlete>,
    /// The technique's name, where known.
    pub technique: Option<String>,
    /// Probability, 0 to 1, that it happened.
    pub confidence: f64,
}

/// A round read under a rule set.
#[derive(Clone, Debug, PartialEq)]
pub struct Scored {
    /// Id of the rule set.
    pub rules: String,
    /// Edition of the rule set: rules change, so it's kept with the points.
    pub edition: String,
    /// Points of the first and the second athlete.
    pub points: [i32; 2],
    /// Where they come from, in order of time.
    pub awards: Vec<Award>,
    /// Advantages, in order of time; empty where the rule set has none.
    pub advantages: Vec<Advantage>,
    /// What gives no points, in order of time.
    pub not_counted: Vec<NotCounted>,
    /// The submission that ended it.
    pub ended: Option<Submission>,
    /// Share, 0 to 1, of the points given and taken that rest on something nobody has confirmed; 0
    /// where there are no points.
    pub uncertain: f64,
}

/// Reads a round under a rule set.
///
/// Time and space grow with the number of spells and attempts: O(spells × attempts) at worst.
#[must_use]
pub fn score(ledger: &Ledger, round: &Round, rules: &RuleSet) -> Scored {
    reading::read(ledger, round.length(), rules)
}
