//! Over time: any figure by week, and what changed since a day, with false discoveries held down.

use std::collections::{BTreeMap, BTreeSet};

use jiff::civil::Date;

use crate::discoveries::adjusted;
use crate::exact_rates::{Count, RateRatio, rate_ratio};
use crate::figure::{Figure, per_minute};
use crate::getting_out::{Comparison, Ending, compare, stays};
use crate::habits::is_good;
use crate::interval::Level;
use crate::known_round::{AthleteId, KnownRound};
use crate::place::BAD;
use crate::stretch::Lived;
use crate::tallies::{Doing, Tallies};
use crate::trend::{RateTrend, rate_trend};

/// A week of a student's rounds.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Week<T> {
    /// Its Monday.
    pub monday: Date,
    /// How many rounds.
    pub rounds: usize,
    /// The figure; nothing where the week's rounds have none.
    pub figure: T,
}

/// The Monday of a day's week; the day itself where the calendar begins later.
#[must_use]
pub fn monday(day: Date) -> Date {
    let since = i64::from(day.weekday().to_monday_zero_offset());
    day.checked_sub(jiff::Span::new().days(since)).unwrap_or(day)
}

/// A figure of a student by week, for weeks with rounds, in order. `of` makes the figure of a
/// week's rounds, such as [`crate::round::changes_per_minute`].
pub fn by_week<'a, T>(
    rounds: &[KnownRound<'a>],
    who: AthleteId,
    of: impl Fn(&[Lived<'a>]) -> T,
) -> Vec<Week<T>> {
    let mut weeks: BTreeMap<Date, Vec<Lived<'a>>> = BTreeMap::new();
    for round in rounds {
        if let Some(seat) = round.seat(who) {
            weeks.entry(monday(round.date)).or_default().push(Lived::new(round, seat));
        }
    }
    (weeks.into_iter())
        .map(|(monday, lived)| Week { monday, rounds: lived.len(), figure: of(&lived) })
        .collect()
}

/// The trend of a habit over weeks: by what factor its rate per minute in the place changes per
/// week, by a log-linear model of the counts ([`rate_trend`]); nothing where it cannot be told.
#[must_use]
pub fn habit_trend(rounds: &[KnownRound<'_>], who: AthleteId, doing: Doing) -> Option<RateTrend> {
    let weeks = by_week(rounds, who, |lived| {
        let tallies = add_up(lived);
        Count::new(tallies.count(doing), tallies.minutes(doing.place)).ok()
    });
    let first = weeks.first()?.monday;
    let points: Vec<(f64, Count)> = (weeks.into_iter())
        .filter_map(|week| Some((weeks_between(first, week.monday), week.figure?)))
        .collect();
    rate_trend(&points, Level::NINETY_FIVE).ok()
}

pub(crate) fn weeks_between(first: Date, later: Date) -> f64 {
    let days = first.until(later).map_or(0, |span| span.get_days());
    f64::from(days) / 7.0
}

fn add_up(lived: &[Lived<'_>]) -> Tallies {
    let mut tallies = Tallies::default();
    lived.iter().for_each(|lived| tallies.add(lived));
    tallies
}

/// A habit before a day and since.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Changed {
    /// The habit.
    pub doing: Doing,
    /// Per minute in the place, before the day.
    pub before: Figure,
    /// Per minute in the place, from the day on.
    pub since: Figure,
    /// The rate since divided by the rate before, with its exact interval and test.
    pub ratio: RateRatio,
    /// The test's p-value adjusted for everything that was looked at: keeping those of at most q
    /// makes at most a share q of what is kept false, on average ([`adjusted`]).
    pub adjusted: f64,
    /// Whether the change is for the better; nothing for matters of style ([`is_good`]).
    pub better: Option<bool>,
}

/// Getting out of a position before a day and since.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ChangedOut {
    /// Stays since the day beside those before it, by escapes; an excess above 0 is for the better.
    pub comparison: Comparison,
    /// Its p-value adjusted as in [`Changed::adjusted`].
    pub adjusted: f64,
}

/// What changed since a day.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct WhatChanged {
    /// Habits, the least likely to be chance first.
    pub habits: Vec<Changed>,
    /// Getting out of bad positions, likewise.
    pub getting_out: Vec<ChangedOut>,
}

/// What changed in a student's rounds since a day, such as the last talk with them: every habit
/// seen on either side in a place that both sides have, and every bad position that both sides got
/// stuck in often enough ([`crate::getting_out::ENOUGH_STAYS`]). The p-values are adjusted across
/// all of them together.
///
/// Both sides of one student: rounds with other partners, or of other kinds, differ as well. Exact
/// for told rounds; see [`rate_ratio`] for expected counts.
#[must_use]
pub fn changed_since(rounds: &[KnownRound<'_>], who: AthleteId, day: Date) -> WhatChanged {
    let part = |since: bool| -> Vec<KnownRound<'_>> {
        rounds.iter().filter(|round| (round.date >= day) == since).copied().collect()
    };
    let (earlier, later) = (part(false), part(true));
    let mut changed =
        WhatChanged { habits: changed_habits(&earlier, &later, who), getting_out: Vec::new() };
    let (before, since) = (stays(&earlier, who), stays(&later, who));
    let compared = |position| {
        let comparison = compare(&since, &before, position, Ending::Escaped)?;
        (!comparison.is_of_few()).then_some(comparison)
    };
    changed.getting_out = (BAD.into_iter())
        .filter_map(|position| Some(ChangedOut { comparison: compared(position)?, adjusted: 1.0 }))
        .collect();
    let habits = changed.habits.iter().map(|one| one.ratio.p_value);
    let outs = changed.getting_out.iter().map(|one| one.comparison.p_value);
    // Tests hand out nothing but p-values, give or take their rounding.
    let p_values: Vec<f64> = habits.chain(outs).map(|p| p.clamp(0.0, 1.0)).collect();
    let together = adjusted(&p_values).unwrap_or_default();
    let habits = changed.habits.iter_mut().map(|one| &mut one.adjusted);
    let outs = changed.getting_out.iter_mut().map(|one| &mut one.adjusted);
    for (one, adjusted) in habits.chain(outs).zip(together) {
        *one = adjusted;
    }
    changed.habits.sort_by(|one, other| {
        let by_chance = one.ratio.p_value.total_cmp(&other.ratio.p_value);
        by_chance.then(one.doing.cmp(&other.doing))
    });
    let p_value = |one: &ChangedOut| one.comparison.p_value;
    changed.getting_out.sort_by(|one, other| p_value(one).total_cmp(&p_value(other)));
    changed
}

fn changed_habits(
    earlier: &[KnownRound<'_>],
    later: &[KnownRound<'_>],
    who: AthleteId,
) -> Vec<Changed> {
    let [before, since] =
        [earlier, later].map(|rounds| add_up(&Lived::of_student(rounds, who).collect::<Vec<_>>()));
    let doings: BTreeSet<Doing> = before.done.keys().chain(since.done.keys()).copied().collect();
    let count =
        |of: &Tallies, doing: Doing| Count::new(of.count(doing), of.minutes(doing.place)).ok();
    let figure =
        |of: &Tallies, doing: Doing| per_minute(of.count(doing), *of.seconds.get(&doing.place)?);
    (doings.into_iter())
        .filter_map(|doing| {
            let (earlier, later) = (count(&before, doing)?, count(&since, doing)?);
            let ratio = rate_ratio(later, earlier, Level::NINETY_FIVE).ok()?;
            let better = is_good(doing).map(|good| (later.rate() > earlier.rate()) == good);
            let (before, since) = (figure(&before, doing)?, figure(&since, doing)?);
            Some(Changed { doing, before, since, ratio, adjusted: 1.0, better })
        })
        .collect()
}
