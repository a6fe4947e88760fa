//! A student week by week.

use crate::exact_rates::Count;
use crate::figure::{Figure, Tally};
use crate::getting_out::{Ending, Stay};
use crate::interval::Level;
use crate::known_round::{AthleteId, KnownRound};
use crate::over_time::{Week, by_week};
use crate::proportions::wilson;
use crate::round::{changes_per_minute, pinned_below_share};
use crate::stretch::Lived;
use crate::trend::{RateTrend, rate_trend};

/// What a week's rounds add up to.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct InWeek {
    /// Expected seconds of rolling.
    pub rolled: Tally,
    /// Changes per minute ([`changes_per_minute`]).
    pub pace: Option<Figure>,
    /// Share of the time pinned underneath, 0 to 1 ([`pinned_below_share`]).
    pub pinned_below: Option<Figure>,
    /// Share of the stays in bad positions that the student got out of, 0 to 1, all positions
    /// together, of those with a known ending; Wilson's limits.
    pub got_out: Option<Figure>,
}

/// A student week by week, with the trend of the pace.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Weeks {
    /// Weeks with rounds, in order.
    pub weeks: Vec<Week<InWeek>>,
    /// By what factor changes per minute grow in a week ([`rate_trend`]); nothing with fewer than
    /// three weeks, or where it cannot be told.
    pub pace: Option<RateTrend>,
}

/// A student's rounds by week.
pub(super) fn weeks(rounds: &[KnownRound<'_>], who: AthleteId, stays: &[Stay]) -> Weeks {
    let mut weeks = by_week(rounds, who, |lived| InWeek {
        rolled: rolled(lived),
        pace: changes_per_minute(lived),
        pinned_below: pinned_below_share(lived),
        got_out: None,
    });
    for week in &mut weeks {
        let of_week = |stay: &&Stay| {
            rounds
                .get(stay.round)
                .is_some_and(|round| crate::over_time::monday(round.date) == week.monday)
        };
        week.figure.got_out = got_out(stays.iter().filter(of_week));
    }
    Weeks { pace: trend(&weeks), weeks }
}

fn rolled(lived: &[Lived<'_>]) -> Tally {
    let mut rolled = Tally::default();
    for stretch in lived.iter().flat_map(Lived::rolled) {
        rolled.add(stretch.expected(), stretch.confirmed);
    }
    rolled
}

fn got_out<'a>(stays: impl Iterator<Item = &'a Stay>) -> Option<Figure> {
    let (mut ended, mut out) = (Tally::default(), 0.0);
    for stay in stays {
        let Some(ending) = stay.ending else { continue };
        ended.add(stay.weight, stay.confirmed);
        out += if ending == Ending::Escaped { stay.weight } else { 0.0 };
    }
    let share = wilson(out.min(ended.all), ended.all, Level::NINETY_FIVE).ok()?;
    let (value, interval) = (share.value, share.interval);
    Some(Figure { value, count: ended.all, interval, confirmed: ended.confirmed() })
}

fn trend(weeks: &[Week<InWeek>]) -> Option<RateTrend> {
    const ENOUGH_WEEKS: usize = 3;
    let first = weeks.first()?.monday;
    let points: Vec<(f64, Count)> = (weeks.iter())
        .filter_map(|week| {
            let pace = week.figure.pace?;
            let since = crate::over_time::weeks_between(first, week.monday);
            Some((since, Count::new(pace.count, week.figure.rolled.all / 60.0).ok()?))
        })
        .collect();
    (points.len() >= ENOUGH_WEEKS).then(|| rate_trend(&points, Level::NINETY_FIVE).ok()).flatten()
}
