//! What one round adds up to, and whether it was what it was meant to be.
//!
//! The same functions take all rounds of a student: a slice of [`Lived`] rounds, each as that
//! student lived it.

use std::collections::BTreeMap;

use academy::{EventKind, Position};

use crate::figure::{Figure, Tally, per_minute};
use crate::interval::{Interval, Level};
use crate::place::{Place, Role};
use crate::ratio::{Cluster, ratio};
use crate::stretch::{Change, Happening, Lived, Stretch};

/// A place with a figure about it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct OfPlace {
    /// Position and role.
    pub place: Place,
    /// The figure.
    pub figure: Figure,
}

/// Share of known time by position and role, 0 to 1, for places with any time; the shares sum to 1.
///
/// Expected seconds in the place over all expected seconds but pauses. `count` is the expected
/// number of stretches there. Limits: over two or more rounds those of a ratio with rounds as
/// clusters ([`ratio`]), cut to 0 and 1; in one round those of the doubt of its guesses alone, so
/// that a confirmed round has no width: this is what happened. The doubt of a round takes each
/// stretch to be right or wrong by its weight, apart from the others, by the delta method.
#[must_use]
pub fn time_shares(lived: &[Lived<'_>]) -> Vec<OfPlace> {
    let all: f64 = lived.iter().map(Lived::rolling).sum();
    if all <= 0.0 {
        return Vec::new();
    }
    let mut of_place: BTreeMap<Place, (Tally, f64)> = BTreeMap::new();
    for stretch in lived.iter().flat_map(Lived::rolled) {
        let Some(place) = stretch.place else { continue };
        let (seconds, stretches) = of_place.entry(place).or_default();
        seconds.add(stretch.expected(), stretch.confirmed);
        *stretches += stretch.weight;
    }
    (of_place.into_iter())
        .filter(|(_, (seconds, _))| seconds.all > 0.0)
        .map(|(place, (seconds, count))| {
            let interval = share_interval(lived, |stretch| stretch.place == Some(place));
            let value = seconds.all / all;
            OfPlace {
                place,
                figure: Figure { value, count, interval, confirmed: seconds.confirmed() },
            }
        })
        .collect()
}

/// Limits of the share of rolled time that `counts` picks.
fn share_interval(lived: &[Lived<'_>], counts: impl Fn(&Stretch) -> bool) -> Interval {
    let clusters: Vec<Cluster> = (lived.iter())
        .map(|round| Cluster {
            upper: round.rolled().filter(|stretch| counts(stretch)).map(Stretch::expected).sum(),
            lower: round.rolling(),
        })
        .filter(|cluster| cluster.lower > 0.0)
        .collect();
    if let Some(estimate) = ratio(&clusters, Level::NINETY_FIVE) {
        let cut = |limit: f64| limit.clamp(0.0, 1.0);
        return Interval::between(cut(estimate.interval.low()), cut(estimate.interval.high()));
    }
    let upper: f64 = clusters.iter().map(|cluster| cluster.upper).sum();
    let lower: f64 = clusters.iter().map(|cluster| cluster.lower).sum();
    let value = upper / lower;
    let variance = |stretch: &Stretch| {
        let share = if counts(stretch) { 1.0 - value } else { value };
        (stretch.seconds() * share).powi(2) * stretch.weight * (1.0 - stretch.weight)
    };
    let squares: f64 = lived.iter().flat_map(Lived::rolled).map(variance).sum();
    let half = Level::NINETY_FIVE.deviations() * squares.max(0.0).sqrt() / lower;
    Interval::between((value - half).clamp(0.0, 1.0), (value + half).clamp(0.0, 1.0))
}

/// How many moments of one kind there were, per minute of rolling, with Garwood's limits
/// ([`per_minute`]); nothing where no time is known.
fn moments_per_minute(
    lived: &[Lived<'_>],
    counts: impl Fn(&Happening<'_>) -> bool,
) -> Option<Figure> {
    let all = lived.iter().flat_map(|round| &round.happenings);
    let count = all.filter(|happening| counts(happening)).map(|happening| happening.weight).sum();
    per_minute(count, rolled_seconds(lived))
}

fn rolled_seconds(lived: &[Lived<'_>]) -> Tally {
    let mut seconds = Tally::default();
    for stretch in lived.iter().flat_map(Lived::rolled) {
        seconds.add(stretch.expected(), stretch.confirmed);
    }
    seconds
}

/// Changes of position or of who is on top, per minute of rolling; restarts do not count.
#[must_use]
pub fn changes_per_minute(lived: &[Lived<'_>]) -> Option<Figure> {
    let changes = lived.iter().flat_map(Lived::changes).filter(rolling_change);
    per_minute(changes.map(|change| change.weight).sum(), rolled_seconds(lived))
}

fn rolling_change(change: &Change) -> bool {
    change.from.position != Position::Reset && change.to.position != Position::Reset
}

/// How often the athlete, or with `own` false the other one, did something, per minute of rolling.
/// Moments by an unknown athlete count for neither.
#[must_use]
pub fn done_per_minute(lived: &[Lived<'_>], kind: EventKind, own: bool) -> Option<Figure> {
    moments_per_minute(lived, |happening| happening.kind == kind && happening.own == Some(own))
}

/// How often something happened, whoever did it, per minute of rolling.
#[must_use]
pub fn happened_per_minute(lived: &[Lived<'_>], kind: EventKind) -> Option<Figure> {
    moments_per_minute(lived, |happening| happening.kind == kind)
}

/// How often something happened, per minute **in the place** where the athlete then was; one figure
/// per place with any known time. `own` as in [`done_per_minute`].
#[must_use]
pub fn done_per_minute_in(lived: &[Lived<'_>], kind: EventKind, own: bool) -> Vec<OfPlace> {
    let mut of_place: BTreeMap<Place, (Tally, f64)> = BTreeMap::new();
    for round in lived {
        for stretch in round.rolled() {
            let Some(place) = stretch.place else { continue };
            of_place.entry(place).or_default().0.add(stretch.expected(), stretch.confirmed);
        }
        for happening in &round.happenings {
            if happening.kind == kind
                && happening.own == Some(own)
                && let Some(place) = happening.place
            {
                of_place.entry(place).or_default().1 += happening.weight;
            }
        }
    }
    (of_place.into_iter())
        .filter_map(|(place, (seconds, count))| {
            Some(OfPlace { place, figure: per_minute(count, seconds)? })
        })
        .collect()
}

/// Holds of one position and role: stretches without a change.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Holds {
    /// Position and role.
    pub place: Place,
    /// The middle length, in seconds: half of the holds, by weight, are no longer than this. Holds
    /// that the clock, a pause or a blank cut count with what was seen of them.
    ///
    /// Limits are the order statistics between which the median of a sample of this size lies with
    /// 95 % chance, or the shortest and longest hold where no two do (fewer than six; Conover 1999,
    /// *Practical Nonparametric Statistics*, section 3.2).
    pub median: Figure,
    /// The longest, in seconds, of those at least as likely as not.
    pub longest: f64,
    /// How many of them the clock, a pause or a blank cut: an expected count.
    pub cut: f64,
}

/// Every kind of hold that was seen, by place.
#[must_use]
pub fn holds(lived: &[Lived<'_>]) -> Vec<Holds> {
    let mut of_place: BTreeMap<Place, Vec<(f64, f64, f64, bool)>> = BTreeMap::new();
    for round in lived {
        for (index, stretch) in round.stretches.iter().enumerate() {
            let Some(place) = stretch.place else { continue };
            if place.position == Position::Reset || stretch.weight <= 0.0 {
                continue;
            }
            let next = round.stretches.get(index + 1).and_then(|next| next.place);
            let cut = next.is_none_or(|next| next.position == Position::Reset);
            let hold = (stretch.seconds(), stretch.weight, stretch.confirmed, cut);
            of_place.entry(place).or_default().push(hold);
        }
    }
    (of_place.into_iter())
        .map(|(place, mut holds)| {
            holds.sort_by(|one, other| one.0.total_cmp(&other.0));
            let mut tally = Tally::default();
            for hold in &holds {
                tally.add(hold.1, hold.2);
            }
            let count = tally.all;
            let at = |share: f64| length_at(&holds, share * count);
            let (low, high) = middle_ranks(count);
            let interval = Interval::between(at(low), at(high));
            let likely = holds.iter().rev().find(|hold| hold.1 >= 0.5);
            Holds {
                place,
                median: Figure { value: at(0.5), count, interval, confirmed: tally.confirmed() },
                longest: likely.or(holds.last()).map_or(0.0, |hold| hold.0),
                cut: holds.iter().filter(|hold| hold.3).map(|hold| hold.1).sum(),
            }
        })
        .collect()
}

/// The first length by which so much weight is reached.
fn length_at(holds: &[(f64, f64, f64, bool)], weight: f64) -> f64 {
    let mut sum = 0.0;
    for hold in holds {
        sum += hold.1;
        // Sums of weights carry rounding; half of two holds is the first of them.
        if sum >= weight - 1e-9 {
            return hold.0;
        }
    }
    holds.last().map_or(0.0, |hold| hold.0)
}

/// The shares of a sorted sample between which its median lies with 95 % chance.
fn middle_ranks(count: f64) -> (f64, f64) {
    let whole = count.round().max(1.0);
    if whole > 200.0 {
        // The normal approximation, exact to a rank here; two to the minus count vanishes later on.
        let rank = (whole / 2.0 - Level::NINETY_FIVE.deviations() / 2.0 * whole.sqrt()).floor();
        return (rank / whole, (whole - rank + 1.0) / whole);
    }
    // P(B <= k) for B binomial with chance a half: the largest k with at most 2.5 % below.
    let mut below = 0.5_f64.powf(whole);
    let mut term = below;
    let mut rank = 0.0;
    while below <= Level::NINETY_FIVE.tail() {
        term *= (whole - rank) / (rank + 1.0);
        rank += 1.0;
        below += term;
    }
    // The rank-th shortest and the rank-th longest; none of few.
    let low = if rank > 0.0 { rank / whole } else { 0.0 };
    let high = if rank > 0.0 { (whole - rank + 1.0) / whole } else { 1.0 };
    (low, high)
}

/// How evenly the top was shared, 0 to 1: 1 − |t₁ − t₂| / (t₁ + t₂), where t are the expected
/// seconds that either athlete was on top of anything; with share p of it by one that is
/// 1 − |2p − 1| (FACTS G3). 1 is half and half, 0 is one athlete all along. Nothing where nobody
/// was known to be on top.
///
/// `count` is the number of stretches with somebody on top. Limits are the least and the most that
/// the limits of p allow (see [`time_shares`]). On top is a description and not a merit: one who
/// wins from below has a low share of it (FACTS C6).
#[must_use]
pub fn give_and_take(lived: &[Lived<'_>]) -> Option<Figure> {
    let with_top: Vec<Lived<'_>> = (lived.iter())
        .map(|round| Lived {
            stretches: (round.rolled())
                .filter(|stretch| stretch.place.is_some_and(|place| place.role != Role::Neither))
                .copied()
                .collect(),
            happenings: Vec::new(),
        })
        .collect();
    let time = rolled_seconds(&with_top);
    if time.all <= 0.0 {
        return None;
    }
    let top = |stretch: &Stretch| stretch.place.is_some_and(|place| place.role == Role::Top);
    let stretches = || with_top.iter().flat_map(|round| &round.stretches);
    let mine: f64 = stretches().filter(|stretch| top(stretch)).map(Stretch::expected).sum();
    let even = |share: f64| 1.0 - (2.0 * share - 1.0).abs();
    let limits = share_interval(&with_top, top);
    let (low, high) = (limits.low(), limits.high());
    let most = if limits.contains(0.5) { 1.0 } else { even(low).max(even(high)) };
    Some(Figure {
        value: even(mine / time.all),
        count: stretches().map(|stretch| stretch.weight).sum(),
        interval: Interval::between(even(low).min(even(high)), most),
        confirmed: time.confirmed(),
    })
}

/// Share of known time that either athlete was pinned, 0 to 1: side control, north-south, knee on
/// belly, mount or back control, whoever was on top. Limits as in [`time_shares`].
#[must_use]
pub fn pinned_share(lived: &[Lived<'_>]) -> Option<Figure> {
    share_of_time(lived, |stretch| {
        stretch.place.is_some_and(|place| place.depth().max(place.across().depth()) >= 3)
    })
}

/// Share of known time that the athlete was pinned, 0 to 1: underneath in any of the places of
/// [`pinned_share`]. Limits as in [`time_shares`].
#[must_use]
pub fn pinned_below_share(lived: &[Lived<'_>]) -> Option<Figure> {
    share_of_time(lived, |stretch| stretch.place.is_some_and(|place| place.depth() >= 3))
}

fn share_of_time(lived: &[Lived<'_>], counts: impl Fn(&Stretch) -> bool) -> Option<Figure> {
    let time = rolled_seconds(lived);
    let mut tally = Tally::default();
    let mut count = 0.0;
    for stretch in lived.iter().flat_map(Lived::rolled).filter(|stretch| counts(stretch)) {
        tally.add(stretch.expected(), stretch.confirmed);
        count += stretch.weight;
    }
    (time.all > 0.0).then(|| Figure {
        value: (tally.all / time.all).clamp(0.0, 1.0),
        count,
        interval: share_interval(lived, &counts),
        confirmed: time.confirmed(),
    })
}
