//! All figures of one student.

use academy::EventKind;
use jiff::civil::Date;

use super::academy::{AcademyFigures, Ground};
use super::weeks::{Weeks, weeks};
use crate::balance::{Balance, balances};
use crate::discoveries::adjusted;
use crate::figure::{Figure, Tally};
use crate::flows::{Flow, flows};
use crate::getting_out::{Comparison, Ending, GettingOut, Stay, compare, getting_out};
use crate::habits::{
    ENOUGH_MEMBERS, Habit, HowAttemptsEnd, SetsApart, Towards, habits, how_attempts_end, is_good,
    leaks, surest_ways,
};
use crate::known_round::{AthleteId, KnownRound};
use crate::moments::{Moment, moments, stays_in};
use crate::over_time::{WhatChanged, changed_since};
use crate::place::BAD;
use crate::round::{
    Holds, OfPlace, changes_per_minute, done_per_minute, give_and_take, holds, time_shares,
};
use crate::stretch::Lived;
use crate::train_next::{Change, train_next};
use crate::worth::{Worth, worth};

/// Sets of rates drawn for [`worth`] and [`train_next`]: chances come in steps of a quarter of a
/// percent, and their own error is at most 2.5 points.
const DRAWS: usize = 400;

/// Sets of rows drawn for [`balances`], of which only limits are shown.
const DRAWS_OF_BALANCE: usize = 200;

/// Where all drawing starts, so that the same rounds give the same figures. Any number would do.
const SEED: u64 = 11;

/// Things to train next are shown up to so many.
const MOST_SUGGESTED: usize = 3;

/// With fewer known rounds nothing is suggested. `common practice`.
pub const TOO_EARLY_ROUNDS: usize = 3;

/// With fewer known rounds it is early days: one thing to train next is guess enough.
/// `common practice`: in simulation a planted leak is then hardly ever the one named.
pub const EARLY_ROUNDS: usize = 5;

/// A thing to train next is shown if the chance that nothing else is worth more is at least this.
/// `common practice`: one in ten, still several times the chance of one picked blindly.
const WORTH_SAYING: f64 = 0.1;

/// All figures of one student. Everything is worked out from the rounds given, and read against the
/// belt, or the academy where the belt has too few.
#[derive(Clone, Debug)]
pub struct StudentFigures {
    /// Who.
    pub who: AthleteId,
    /// How many of the rounds given they are in that something is known of.
    pub rounds: usize,
    /// How many more they are in that nothing is known of, and that count nowhere.
    pub blank: usize,
    /// Expected seconds of known rolling; its share confirmed is the page's.
    pub rolled: Tally,
    /// Share of time by place ([`time_shares`]).
    pub time: Vec<OfPlace>,
    /// Changes per minute.
    pub pace: Option<Figure>,
    /// Holds by place.
    pub holds: Vec<Holds>,
    /// How evenly the top was shared, 0 to 1.
    pub give_and_take: Option<Figure>,
    /// Moments per minute of rolling.
    pub done: Vec<Done>,
    /// Getting out of every bad position they were in.
    pub getting_out: Vec<Out>,
    /// What they do and have done to them, by place.
    pub habits: Vec<Habit>,
    /// Their surest ways, likeliest first.
    pub surest: Vec<SetsApart>,
    /// Their leaks, likeliest first.
    pub leaks: Vec<SetsApart>,
    /// How their submission attempts end.
    pub attempts: Option<HowAttemptsEnd>,
    /// The balance of reward and risk of what was done by and to them, best first; only actions
    /// seen in their own rounds.
    pub balances: Vec<Balance>,
    /// From where to where, thickest first.
    pub flows: Vec<Flow>,
    /// What each place is worth to them.
    pub worth: Vec<Worth>,
    /// What to train next, likeliest best first, three at most; empty where nothing stands out.
    pub train_next: Vec<Suggestion>,
    /// What changed since a day, where one was given.
    pub changed: Option<Changes>,
    /// Week by week.
    pub weeks: Weeks,
    /// Against whom they are read.
    pub towards: Towards,
}

/// How often something was done.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Done {
    /// What.
    pub kind: EventKind,
    /// By the student, or by the other one.
    pub own: bool,
    /// Per minute of rolling.
    pub rate: Figure,
}

/// Getting out of one position.
#[derive(Clone, Debug)]
pub struct Out {
    /// The student's own stays.
    pub own: GettingOut,
    /// Everybody of the belt, or of the academy, together, the student among them; nothing where
    /// fewer than [`ENOUGH_MEMBERS`] others were ever there.
    pub everybody: Option<GettingOut>,
    /// The student's stays beside those of the others among them; nothing where either are few.
    pub beside: Option<Beside>,
}

/// A student's getting out beside the others'.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Beside {
    /// The test.
    pub comparison: Comparison,
    /// Its p-value adjusted across all positions looked at (Benjamini and Hochberg,
    /// [`adjusted`]).
    pub adjusted: f64,
}

/// One thing to train next, with the moments that show it.
#[derive(Clone, Debug, PartialEq)]
pub struct Suggestion {
    /// What would change and what it would be worth.
    pub change: Change,
    /// Moments in which the habit was seen, surest first, then latest.
    pub seen: Vec<Moment>,
    /// The student's stays in the place, longest first: where it could have been seen.
    pub stays: Vec<Moment>,
}

impl Suggestion {
    /// What to watch, best first: the moments in which the habit was seen, from a little before each
    /// ([`Moment::led_in`]); then, for what the student does themselves, the stays in which it could
    /// have been. What is done to them shows only where it was done.
    pub fn to_watch(&self) -> impl Iterator<Item = Moment> {
        let good = is_good(self.change.doing) == Some(true);
        let missed = if good { self.stays.as_slice() } else { &[] };
        self.seen.iter().map(|moment| moment.led_in()).chain(missed.iter().copied())
    }
}

/// What changed since a day.
#[derive(Clone, Debug, PartialEq)]
pub struct Changes {
    /// The day: rounds from it on are after.
    pub since: Date,
    /// Known rounds before it, and from it on.
    pub rounds: [usize; 2],
    /// The changes.
    pub what: WhatChanged,
}

/// Moments that are counted per minute on a student's page.
const COUNTED: [EventKind; 4] =
    [EventKind::SubmissionAttempt, EventKind::SubmissionEscape, EventKind::Release, EventKind::Tap];

impl AcademyFigures {
    /// All figures of a student; nothing for somebody without rounds. `rounds` are those this was
    /// made of, or all of the student's among them; `since` is the day to compare before and after,
    /// such as the last talk with the student.
    #[must_use]
    pub fn student(
        &self,
        rounds: &[KnownRound<'_>],
        who: AthleteId,
        since: Option<Date>,
    ) -> Option<StudentFigures> {
        let tallies = self.tallies(who)?;
        let theirs: Vec<KnownRound<'_>> =
            rounds.iter().filter(|round| round.seat(who).is_some()).copied().collect();
        let lived: Vec<Lived<'_>> = Lived::of_student(&theirs, who).collect();
        let known = lived.iter().filter(|round| round.rolling() > 0.0).count();
        let (ground, towards) = self.ground(who);
        let belt = self.belt_habits(who);
        let habits = habits(tallies, &belt, &self.all.habits);
        let stays = crate::getting_out::stays(&theirs, who);
        let mut rolled = Tally::default();
        tallies.seconds.values().for_each(|time| rolled = rolled.plus(*time));
        let done = COUNTED.into_iter().flat_map(|kind| [true, false].map(|own| (kind, own)));
        Some(StudentFigures {
            who,
            rounds: known,
            blank: lived.len() - known,
            rolled,
            time: time_shares(&lived),
            pace: changes_per_minute(&lived),
            holds: holds(&lived),
            give_and_take: give_and_take(&lived),
            done: done
                .filter_map(|(kind, own)| {
                    Some(Done { kind, own, rate: done_per_minute(&lived, kind, own)? })
                })
                .collect(),
            getting_out: self.out(who, &stays),
            surest: surest_ways(&habits),
            leaks: leaks(&habits),
            habits,
            attempts: how_attempts_end(tallies, &belt, &self.all.habits),
            balances: self.balances(who, ground),
            flows: flows(tallies),
            worth: worth(tallies, &ground.together, DRAWS, SEED),
            train_next: self.suggestions(rounds, who, known),
            changed: since.map(|since| changes(&theirs, who, since)),
            weeks: weeks(&theirs, who, &stays),
            towards,
        })
    }

    /// Every change of habit of a student that can be named, with what it would be worth, most
    /// first: see [`train_next`]. Left out is what rests on nothing of their own; empty for somebody
    /// with fewer than [`TOO_EARLY_ROUNDS`] known rounds.
    #[must_use]
    pub fn changes_of_habit(&self, who: AthleteId) -> Vec<Change> {
        let Some(tallies) = self.tallies(who).filter(|own| own.rounds >= TOO_EARLY_ROUNDS) else {
            return Vec::new();
        };
        let (ground, _) = self.ground(who);
        let mut changes = train_next(tallies, &ground.together, &ground.targets, DRAWS, SEED);
        changes.retain(is_seen);
        changes
    }

    fn balances(&self, who: AthleteId, ground: &Ground) -> Vec<Balance> {
        let Some(own) = self.transitions.get(&who) else { return Vec::new() };
        let mut balances = balances(own, &ground.transitions, DRAWS_OF_BALANCE, SEED);
        balances.retain(|balance| balance.count > 0.0);
        balances
    }

    fn suggestions(
        &self,
        rounds: &[KnownRound<'_>],
        who: AthleteId,
        known: usize,
    ) -> Vec<Suggestion> {
        let mut changes = self.changes_of_habit(who);
        changes.retain(|change| change.best >= WORTH_SAYING);
        changes.sort_by(|one, other| {
            other.best.total_cmp(&one.best).then(other.gain.total_cmp(&one.gain))
        });
        changes.truncate(if known < EARLY_ROUNDS { 1 } else { MOST_SUGGESTED });
        (changes.into_iter())
            .map(|change| Suggestion {
                seen: moments(rounds, who, change.doing),
                stays: stays_in(rounds, who, change.doing.place),
                change,
            })
            .collect()
    }

    fn out(&self, who: AthleteId, stays: &[Stay]) -> Vec<Out> {
        let (ground, _) = self.ground(who);
        let others = self.stays_together(ground.members.iter().filter(|other| **other != who));
        let mut out: Vec<Out> = (BAD.into_iter())
            .filter_map(|position| {
                let own = getting_out(stays, position)?;
                // Few others, or one, would be people whom everybody here knows.
                let people = ground.stayed_in(position).saturating_sub(1);
                let enough = people >= ENOUGH_MEMBERS;
                let comparison = compare(stays, &others, position, Ending::Escaped)
                    .filter(|comparison| enough && !comparison.is_of_few());
                Some(Out {
                    own,
                    everybody: ground.getting_out.get(&position).filter(|_| enough).cloned(),
                    beside: comparison.map(|comparison| Beside { comparison, adjusted: 1.0 }),
                })
            })
            .collect();
        let p_values: Vec<f64> = (out.iter())
            .filter_map(|one| Some(one.beside?.comparison.p_value.clamp(0.0, 1.0)))
            .collect();
        let together = adjusted(&p_values).unwrap_or_default();
        let besides = out.iter_mut().filter_map(|one| one.beside.as_mut());
        for (beside, adjusted) in besides.zip(together) {
            beside.adjusted = adjusted;
        }
        out
    }
}

/// Whether a change rests on anything of the student's own: a minute in the place, and for what is
/// done to them that it was done. Nobody is told to mend what never went wrong.
fn is_seen(change: &Change) -> bool {
    const LEAST_MINUTES: f64 = 1.0;
    const LEAST_COUNT: f64 = 0.95;
    let done_to = is_good(change.doing) == Some(false);
    change.minutes >= LEAST_MINUTES && (!done_to || change.count >= LEAST_COUNT)
}

fn changes(rounds: &[KnownRound<'_>], who: AthleteId, since: Date) -> Changes {
    let known = |round: &&KnownRound<'_>| {
        round.seat(who).is_some_and(|seat| Lived::new(round, seat).rolling() > 0.0)
    };
    let side =
        |later| rounds.iter().filter(|round| (round.date >= since) == later).filter(known).count();
    Changes { since, rounds: [side(false), side(true)], what: changed_since(rounds, who, since) }
}
