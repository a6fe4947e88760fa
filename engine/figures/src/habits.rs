//! Habits: what a student does from each place, and what is done to them, beside their belt.

use std::collections::{BTreeMap, BTreeSet};

use academy::EventKind;

use crate::distributions::{beta_lower, gamma_upper};
use crate::exact_rates::Count;
use crate::figure::{Figure, per_minute};
use crate::interval::{Interval, Level};
use crate::place::Place;
use crate::pooling::{BetaPrior, GammaPrior, Group, Shrunk, pool_rates, pool_shares};
use crate::proportions::wilson;
use crate::tallies::{Attempts, Doing, Tallies};

/// A belt with fewer members seen in a place is not pooled towards; the academy is.
/// `common practice`: the spread of fewer than five people is anybody's guess.
pub const ENOUGH_MEMBERS: usize = 5;

/// What a group's members do, and how much they differ.
#[derive(Clone, Debug, Default)]
pub struct GroupHabits {
    rates: BTreeMap<Doing, Group<GammaPrior>>,
    caught: Option<Group<BetaPrior>>,
}

impl GroupHabits {
    /// Learns from the members of a belt or of the whole academy. Rates that fewer than
    /// [`ENOUGH_MEMBERS`] could have shown, or that nobody did, are left out.
    #[must_use]
    pub fn of(members: &[&Tallies]) -> GroupHabits {
        let doings: BTreeSet<Doing> =
            members.iter().flat_map(|member| member.done.keys().copied()).collect();
        let pooled = |doing: Doing| {
            let counts: Vec<Count> = (members.iter())
                .filter_map(|one| Count::new(one.count(doing), one.minutes(doing.place)).ok())
                .collect();
            let enough = counts.len() >= ENOUGH_MEMBERS;
            enough.then(|| pool_rates(&counts).ok()).flatten().map(|group| (doing, group))
        };
        let rates = doings.into_iter().filter_map(pooled).collect();
        let shares: Vec<(f64, f64)> = members
            .iter()
            .map(|one| caught(&all_attempts(one)))
            .filter(|one| one.1 > 0.0)
            .collect();
        let enough = shares.len() >= ENOUGH_MEMBERS;
        let caught = enough.then(|| pool_shares(&shares).ok()).flatten();
        GroupHabits { rates, caught }
    }

    /// How often members do something, per minute in the place, on average over members.
    #[must_use]
    pub fn mean(&self, doing: Doing) -> Option<f64> {
        self.rates.get(&doing).map(Group::<GammaPrior>::mean)
    }

    /// Everything that members were seen doing, often enough to learn from.
    pub fn doings(&self) -> impl Iterator<Item = Doing> {
        self.rates.keys().copied()
    }
}

/// Whom a small sample was drawn towards.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Towards {
    /// The members of the belt.
    Belt,
    /// Everybody, since the belt has too few.
    Academy,
}

/// A number after partial pooling.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Pooled {
    /// The posterior mean, in the units of the raw figure.
    pub value: f64,
    /// The middle 95 % of the posterior.
    pub interval: Interval,
    /// How much the student's own data count in it, 0 to 1.
    pub own_weight: f64,
    /// Towards whom.
    pub towards: Towards,
    /// The mean of those.
    pub group: f64,
    /// The chance that the student's true number is above that mean, 0 to 1.
    pub above: f64,
}

impl Pooled {
    fn of(shrunk: Shrunk, towards: Towards, group: f64, above: f64) -> Pooled {
        let Shrunk { value, interval, own_weight, .. } = shrunk;
        Pooled { value, interval, own_weight, towards, group, above }
    }
}

/// What a student does, or has done to them, from one place.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Habit {
    /// What, where and by whom.
    pub doing: Doing,
    /// Minutes in the place: expected.
    pub minutes: f64,
    /// Per minute in the place, as it was seen; Garwood's limits.
    pub seen: Figure,
    /// The same drawn towards the belt or the academy (gamma-Poisson, [`pool_rates`]); nothing
    /// where neither has enough to draw towards.
    pub pooled: Option<Pooled>,
}

/// A student's habits in every place they were in, by [`Doing`]: what they were seen doing, and
/// what their belt does there and they were never seen doing.
#[must_use]
pub fn habits(own: &Tallies, belt: &GroupHabits, academy: &GroupHabits) -> Vec<Habit> {
    let seen = own.done.keys().copied();
    let doings: BTreeSet<Doing> = seen.chain(belt.doings()).chain(academy.doings()).collect();
    (doings.into_iter())
        .filter_map(|doing| {
            let seconds = own.seconds.get(&doing.place)?;
            let seen = per_minute(own.count(doing), *seconds)?;
            let minutes = own.minutes(doing.place);
            let pooled = pooled(doing, own, belt, academy);
            Some(Habit { doing, minutes, seen, pooled })
        })
        .collect()
}

fn pooled(
    doing: Doing,
    own: &Tallies,
    belt: &GroupHabits,
    academy: &GroupHabits,
) -> Option<Pooled> {
    let (group, towards) = drawn_towards(belt.rates.get(&doing), academy.rates.get(&doing))?;
    let count = Count::new(own.count(doing), own.minutes(doing.place)).ok()?;
    let after = group.after(count);
    let above = gamma_upper(after.shape(), group.mean() * after.rate());
    Some(Pooled::of(group.shrink(count, Level::NINETY_FIVE), towards, group.mean(), above))
}

/// What is known of the belt, or else of the academy.
fn drawn_towards<T>(belt: Option<T>, academy: Option<T>) -> Option<(T, Towards)> {
    let of_belt = belt.map(|known| (known, Towards::Belt));
    of_belt.or_else(|| academy.map(|known| (known, Towards::Academy)))
}

/// How a student's submission attempts ended, all places together or from one.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct HowAttemptsEnd {
    /// The counts.
    pub attempts: Attempts,
    /// Share of attempts with a told ending that were there: finished or let go by choice, 0 to 1.
    /// `count` is the number with a told ending; Wilson's limits.
    pub caught: Figure,
    /// The same drawn towards the belt or the academy (beta-binomial, [`pool_shares`]).
    pub pooled: Option<Pooled>,
}

/// All attempts of a student, whatever the place.
#[must_use]
pub fn all_attempts(own: &Tallies) -> Attempts {
    own.attempts.values().fold(Attempts::default(), |sum, one| Attempts {
        finished: sum.finished.plus(one.finished),
        released: sum.released.plus(one.released),
        escaped: sum.escaped.plus(one.escaped),
        open: sum.open.plus(one.open),
    })
}

/// Caught, and with a told ending.
fn caught(attempts: &Attempts) -> (f64, f64) {
    let caught = attempts.finished.all + attempts.released.all;
    (caught, caught + attempts.escaped.all)
}

/// How a student's attempts end; nothing without any whose ending is told.
#[must_use]
pub fn how_attempts_end(
    own: &Tallies,
    belt: &GroupHabits,
    academy: &GroupHabits,
) -> Option<HowAttemptsEnd> {
    let attempts = all_attempts(own);
    let (there, ended) = caught(&attempts);
    let share = wilson(there, ended, Level::NINETY_FIVE).ok()?;
    let told = attempts.finished.plus(attempts.released).plus(attempts.escaped);
    let group = drawn_towards(belt.caught.as_ref(), academy.caught.as_ref());
    let pooled = group.and_then(|(group, towards)| {
        let shrunk = group.shrink(there, ended, Level::NINETY_FIVE).ok()?;
        let after = group.after(there, ended).ok()?;
        let above = 1.0 - beta_lower(after.a(), after.b(), group.mean());
        Some(Pooled::of(shrunk, towards, group.mean(), above))
    });
    let confirmed = told.confirmed();
    let caught = Figure { value: share.value, count: ended, interval: share.interval, confirmed };
    Some(HowAttemptsEnd { attempts, caught, pooled })
}

/// A habit that sets a student apart from their group.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SetsApart {
    /// The habit.
    pub habit: Habit,
    /// The chance that the student is on this side of the group's mean, 0.5 to 1.
    pub chance: f64,
}

/// A habit is named as sure or as a leak from this chance on. `common practice`: five in six or
/// so; what is named is looked at by a coach, not decided by it.
pub const LIKELY: f64 = 0.85;

/// A habit must rest on so many seen or expected moments to be named. `common practice`.
pub const ENOUGH_MOMENTS: f64 = 3.0;

/// Whether more of it is good for the student; nothing for what is a matter of style (which
/// submissions are tried, pulling guard, moving on among pins, letting go) or of safety (getting out
/// of a submission late instead of tapping early).
#[must_use]
pub const fn is_good(doing: Doing) -> Option<bool> {
    match doing.kind {
        EventKind::Takedown
        | EventKind::Pass
        | EventKind::Sweep
        | EventKind::Reversal
        | EventKind::Escape
        | EventKind::BackTake => Some(doing.own),
        EventKind::Tap => Some(!doing.own),
        // Hanging on in a submission is nothing to be praised for, and tapping nothing to be
        // blamed for; to lose one's own attempts is worth a look.
        EventKind::SubmissionEscape if !doing.own => Some(false),
        EventKind::GuardPull
        | EventKind::Advance
        | EventKind::SubmissionAttempt
        | EventKind::SubmissionEscape
        | EventKind::Release
        | EventKind::FailedTry
        | EventKind::Reset => None,
    }
}

/// A student's surest ways: habits that are good for them and likely ([`LIKELY`]) better than the
/// mean of those they were drawn towards, likeliest first, then by how often. Better is more often
/// per minute in the place for what is good, less often for what is done to them.
#[must_use]
pub fn surest_ways(habits: &[Habit]) -> Vec<SetsApart> {
    set_apart(habits, true)
}

/// A student's leaks: the same on the other side.
#[must_use]
pub fn leaks(habits: &[Habit]) -> Vec<SetsApart> {
    set_apart(habits, false)
}

fn set_apart(habits: &[Habit], better: bool) -> Vec<SetsApart> {
    let mut found: Vec<SetsApart> = (habits.iter())
        .filter_map(|habit| {
            let pooled = habit.pooled?;
            // Never doing what the group does three times in that time is something to see as well.
            let moments = habit.seen.count.max(pooled.group * habit.minutes);
            let up = is_good(habit.doing)? == better;
            let chance = if up { pooled.above } else { 1.0 - pooled.above };
            let named = chance >= LIKELY && moments >= ENOUGH_MOMENTS;
            named.then_some(SetsApart { habit: *habit, chance })
        })
        .collect();
    found.sort_by(|one, other| {
        let by_chance = other.chance.total_cmp(&one.chance);
        by_chance.then(other.habit.seen.count.total_cmp(&one.habit.seen.count))
    });
    found
}

/// Where a student's habits are, for going through them place by place.
#[must_use]
pub fn places(habits: &[Habit]) -> Vec<Place> {
    let places: BTreeSet<Place> = habits.iter().map(|habit| habit.doing.place).collect();
    places.into_iter().collect()
}
