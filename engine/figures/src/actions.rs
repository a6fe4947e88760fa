//! What follows what: from one thing done to the next within a round, and where it ends. What
//! [`crate::balance`] computes with.

use std::collections::{BTreeMap, BTreeSet};

use academy::{Athlete, EventKind, Position};

use crate::figure::{Figure, Tally};
use crate::interval::Level;
use crate::known_round::{AthleteId, KnownRound};
use crate::proportions::wilson;
use crate::stretch::Lived;

/// Something done by either: a move, as the spells show it, or a told moment.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Action {
    /// What.
    pub kind: EventKind,
    /// Whether the student did it; else the other one.
    pub own: bool,
}

/// What comes after something done.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Next {
    /// The next thing done.
    Action(Action),
    /// The student has the submission: the other one taps, or the student lets go by choice.
    Submits,
    /// The other one has it: the student taps, or the other one lets go by choice.
    Submitted,
    /// Neither: the end of the round, a pause without a tap, a blank, or a moment that nobody knows
    /// who made.
    Clock,
}

/// The kinds that the abstract of the study behind [`crate::balance`] names. For comparing with it:
/// there, unlike in a ledger, a guard recovered between two passes is no action of its own. It
/// counts takedowns tried; here they are those that worked.
pub const NAMED_IN_STUDY: [EventKind; 5] = [
    EventKind::Takedown,
    EventKind::Sweep,
    EventKind::Pass,
    EventKind::BackTake,
    EventKind::SubmissionAttempt,
];

/// How often what followed what: expected counts.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Transitions {
    rows: BTreeMap<Action, BTreeMap<Next, Tally>>,
}

/// How often something was followed directly by something.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Followed {
    /// By what.
    pub by: Next,
    /// In what share of times, 0 to 1; Wilson's limits. `count` is how often the first was done.
    pub share: Figure,
}

/// One thing of a round in the order of time.
struct Step {
    time: f64,
    /// At the same time, what ends something comes before the move it ends in, and an attempt
    /// comes after the move it begins in.
    rank: u8,
    what: Next,
    weight: f64,
    confirmed: f64,
}

impl Transitions {
    /// What followed what in rounds as the student lived them, among actions of the kinds that
    /// count; all others are passed over as if they had not been. Submissions and the clock always
    /// count.
    ///
    /// A transition counts for the probability of what was done first. After a submission that was let
    /// go something new begins.
    #[must_use]
    pub fn of(lived: &[Lived<'_>], counts: impl Fn(EventKind) -> bool) -> Transitions {
        let mut transitions = Transitions::default();
        lived.iter().for_each(|round| transitions.add(round, &counts));
        transitions
    }

    /// Everybody's transitions from all rounds, in one pass.
    #[must_use]
    pub fn of_all(
        rounds: &[KnownRound<'_>],
        counts: impl Fn(EventKind) -> bool,
    ) -> BTreeMap<AthleteId, Transitions> {
        let mut all: BTreeMap<AthleteId, Transitions> = BTreeMap::new();
        for round in rounds {
            for seat in Athlete::BOTH {
                let lived = Lived::new(round, seat);
                all.entry(round.who(seat)).or_default().add(&lived, &counts);
            }
        }
        all
    }

    /// Adds what somebody else's rounds show.
    pub fn merge(&mut self, other: &Transitions) {
        for (action, theirs) in &other.rows {
            let row = self.rows.entry(*action).or_default();
            for (next, tally) in theirs {
                let sum = row.entry(*next).or_default();
                *sum = sum.plus(*tally);
            }
        }
    }

    /// Adds a round.
    fn add(&mut self, lived: &Lived<'_>, counts: &impl Fn(EventKind) -> bool) {
        let mut before: Option<(Action, f64, f64)> = None;
        for step in steps(lived) {
            if matches!(step.what, Next::Action(action) if !counts(action.kind)) {
                continue;
            }
            if let Some((action, weight, confirmed)) = before {
                let tally = self.rows.entry(action).or_default().entry(step.what).or_default();
                tally.add(weight, confirmed.min(step.confirmed));
            }
            before = match step.what {
                Next::Action(action) => Some((action, step.weight, step.confirmed)),
                _ => None,
            };
        }
    }

    /// All actions that are known, as done or as following.
    pub(crate) fn actions(&self) -> BTreeSet<Action> {
        let followed = self.rows.values().flat_map(BTreeMap::keys);
        let following = followed.filter_map(|next| match next {
            Next::Action(action) => Some(*action),
            _ => None,
        });
        self.rows.keys().copied().chain(following).collect()
    }

    /// How often the first was followed directly by the second: an expected count.
    #[must_use]
    pub fn count(&self, action: Action, next: Next) -> f64 {
        let tally = self.rows.get(&action).and_then(|row| row.get(&next));
        tally.map_or(0.0, |tally| tally.all)
    }

    /// How often something was done and it is known what came next.
    #[must_use]
    pub fn done(&self, action: Action) -> Tally {
        let row = self.rows.get(&action);
        row.map_or_else(Tally::default, |row| {
            row.values().fold(Tally::default(), |sum, one| sum.plus(*one))
        })
    }

    /// What followed directly on something done, likeliest first; nothing where it was never done.
    #[must_use]
    pub fn followed(&self, action: Action) -> Vec<Followed> {
        let all = self.done(action);
        let Some(row) = self.rows.get(&action) else { return Vec::new() };
        let mut followed: Vec<Followed> = (row.iter())
            .filter_map(|(by, tally)| {
                // A sum in another order may exceed the whole by rounding.
                let share = wilson(tally.all.min(all.all), all.all, Level::NINETY_FIVE).ok()?;
                let (value, interval) = (share.value, share.interval);
                let confirmed = all.confirmed();
                Some(Followed {
                    by: *by,
                    share: Figure { value, count: all.all, interval, confirmed },
                })
            })
            .collect();
        followed.sort_by(|one, other| {
            other.share.value.total_cmp(&one.share.value).then(one.by.cmp(&other.by))
        });
        followed
    }
}

/// A round in the order of time, the clock last.
fn steps(lived: &Lived<'_>) -> Vec<Step> {
    let mut steps: Vec<Step> = Vec::new();
    for pair in lived.stretches.windows(2) {
        let after = &pair[1];
        let (time, rank) = (after.start, 1);
        if after.place.is_none_or(|place| place.position == Position::Reset) {
            // Nothing follows a blank or a pause, however doubtful it is.
            steps.push(Step { time, rank, what: Next::Clock, weight: 1.0, confirmed: 1.0 });
        } else if let Some(change) = lived.change(&pair[0], after)
            && let Some(what) = change.what
        {
            let what = Next::Action(Action { kind: what.kind, own: what.own });
            steps.push(Step {
                time,
                rank,
                what,
                weight: change.weight,
                confirmed: change.confirmed,
            });
        }
    }
    for happening in &lived.happenings {
        let kind = happening.kind;
        let what = match (kind, happening.own) {
            (EventKind::Reset, _) => Next::Clock,
            (kind, _) if !crate::tallies::is_told(kind) => continue,
            (_, None) => Next::Clock,
            (EventKind::Tap, Some(own)) => {
                if own {
                    Next::Submitted
                } else {
                    Next::Submits
                }
            }
            (EventKind::Release, Some(own)) => {
                if own {
                    Next::Submits
                } else {
                    Next::Submitted
                }
            }
            (kind, Some(own)) => Next::Action(Action { kind, own }),
        };
        let rank = if kind == EventKind::SubmissionAttempt { 2 } else { 0 };
        let confirmed = f64::from(u8::from(happening.confirmed));
        steps.push(Step { time: happening.time, rank, what, weight: happening.weight, confirmed });
    }
    // What has no chance at all did not happen.
    steps.retain(|step| step.weight > 0.0);
    steps.sort_by(|one, other| one.time.total_cmp(&other.time).then(one.rank.cmp(&other.rank)));
    let end = lived.stretches.last().map_or(0.0, |last| last.end);
    steps.push(Step { time: end, rank: 3, what: Next::Clock, weight: 1.0, confirmed: 1.0 });
    steps
}
