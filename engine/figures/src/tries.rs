//! How many of a student's tries work: passes, sweeps, takedowns and ways out, and those of the
//! others against them. How submission attempts end is in [`crate::habits`].

use academy::EventKind;

use crate::figure::{Figure, Tally};
use crate::interval::Level;
use crate::place::{Place, Role};
use crate::proportions::wilson;
use crate::tallies::Tallies;

/// What can be tried and may fail: in the order in which they are listed.
pub const TRIED: [EventKind; 4] =
    [EventKind::Takedown, EventKind::Pass, EventKind::Sweep, EventKind::Escape];

/// Tries of one kind.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Tries {
    /// What was tried, one of [`TRIED`]; an escape stands for every way out, reversals too.
    pub kind: EventKind,
    /// Whether by the student; else by the other ones against them.
    pub own: bool,
    /// How many worked: an expected count, from the spells.
    pub worked: f64,
    /// How many are told to have failed: an expected count.
    pub failed: f64,
    /// Share that worked, 0 to 1. `count` is the number of tries; Wilson's limits. At most that
    /// many work: what worked is seen from the spells, told or not, while a try that fails counts
    /// only where somebody told it.
    pub share: Figure,
}

/// What somebody tried who is told to have tried something without success in a place of theirs;
/// nothing on top of a pin or of the turtle, where it may have been anything.
///
/// A ledger names no kind for it, only sometimes a technique, whose name the figures do not
/// understand. `common practice`: standing it was a takedown; on top of a guard a pass, under it a
/// sweep; underneath anything else a way out.
#[must_use]
pub const fn tried_in(place: Place) -> Option<EventKind> {
    match place.role {
        Role::Neither if place.is_rolled() => Some(EventKind::Takedown),
        Role::Top if place.position.is_guard() => Some(EventKind::Pass),
        Role::Bottom if place.position.is_guard() => Some(EventKind::Sweep),
        Role::Bottom => Some(EventKind::Escape),
        Role::Neither | Role::Top => None,
    }
}

/// Tries of every kind of which any is told to have failed; of the others no share can be told,
/// since nobody may have listened for them.
#[must_use]
pub fn tries(tallies: &Tallies) -> Vec<Tries> {
    let of = |kind: EventKind, own: bool| {
        let (mut worked, mut failed) = (Tally::default(), Tally::default());
        for (doing, tally) in &tallies.done {
            let place = if own { doing.place } else { doing.place.across() };
            if doing.own != own || tried_in(place) != Some(kind) {
                continue;
            }
            if doing.kind == EventKind::FailedTry {
                failed = failed.plus(*tally);
            } else if doing.kind == kind
                || (kind == EventKind::Escape && doing.kind == EventKind::Reversal)
            {
                worked = worked.plus(*tally);
            }
        }
        let all = worked.plus(failed);
        let share = wilson(worked.all, all.all, Level::NINETY_FIVE).ok()?;
        let (value, interval) = (share.value, share.interval);
        let share = Figure { value, count: all.all, interval, confirmed: all.confirmed() };
        let tries = Tries { kind, own, worked: worked.all, failed: failed.all, share };
        (failed.all > 0.0).then_some(tries)
    };
    let kinds = |own| TRIED.into_iter().filter_map(move |kind| of(kind, own));
    kinds(true).chain(kinds(false)).collect()
}
