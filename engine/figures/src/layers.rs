//! Layers: the same place belt by belt, from the academy's own rounds.

use std::collections::{BTreeMap, BTreeSet};

use academy::Belt;

use crate::figure::{Figure, Tally};
use crate::habits::ENOUGH_MEMBERS;
use crate::interval::{Interval, Level};
use crate::place::Place;
use crate::ratio::{Cluster, ratio};
use crate::tallies::{Doing, Tallies};

/// What the members of one belt do in one place.
#[derive(Clone, Debug, PartialEq)]
pub struct Layer {
    /// The belt.
    pub belt: Belt,
    /// How many members were ever in the place.
    pub members: usize,
    /// Share of their rolling that was spent there, 0 to 1; `count` is the minutes there.
    pub share: Figure,
    /// What they do and have done to them there, per minute in the place, most often first.
    pub habits: Vec<LayerHabit>,
}

/// One habit of a belt.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct LayerHabit {
    /// What, where, by whom.
    pub doing: Doing,
    /// Per minute in the place, all members' minutes together; `count` is how often.
    pub rate: Figure,
}

/// One place at every belt that has at least [`ENOUGH_MEMBERS`] members who were there, lowest
/// first.
///
/// Shares and rates are ratios of sums with members as clusters ([`ratio`], Cochran 1977), so that
/// the limits hold the differences between people; they are cut at 0, shares at 1 as well. Belts
/// differ in age, size and partners too: a layer describes the academy and sets no norm.
#[must_use]
pub fn layers(members: &[(Belt, &Tallies)], place: Place) -> Vec<Layer> {
    let mut belts: BTreeMap<Belt, Vec<&Tallies>> = BTreeMap::new();
    for (belt, member) in members.iter().filter(|(_, member)| member.minutes(place) > 0.0) {
        belts.entry(*belt).or_default().push(member);
    }
    belts.retain(|_, members| members.len() >= ENOUGH_MEMBERS);
    belts.into_iter().filter_map(|(belt, members)| layer(belt, &members, place)).collect()
}

fn layer(belt: Belt, members: &[&Tallies], place: Place) -> Option<Layer> {
    let share = share_of(members, place)?;
    let mut habits = habits_in(members, place);
    habits.sort_by(|one, other| {
        let by_rate = other.rate.value.total_cmp(&one.rate.value);
        by_rate.then(one.doing.cmp(&other.doing))
    });
    Some(Layer { belt, members: members.len(), share, habits })
}

/// What people do together, in every place that any of them was in.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Together {
    /// Share of their rolling spent in each place, 0 to 1; `count` is the minutes there.
    pub time: Vec<(Place, Figure)>,
    /// What they do and have done to them, per minute in the place, by place.
    pub habits: Vec<LayerHabit>,
}

/// What a group of people does in every place, as in [`layers`]: ratios of sums with members as
/// clusters.
#[must_use]
pub fn together(members: &[&Tallies]) -> Together {
    let places: BTreeSet<Place> =
        members.iter().flat_map(|member| member.seconds.keys().copied()).collect();
    let mut all = Together::default();
    for place in places {
        let there: Vec<&Tallies> =
            members.iter().filter(|member| member.minutes(place) > 0.0).copied().collect();
        all.time.extend(share_of(members, place).map(|share| (place, share)));
        all.habits.extend(habits_in(&there, place));
    }
    all
}

fn share_of(members: &[&Tallies], place: Place) -> Option<Figure> {
    let time = sum(members.iter().filter_map(|member| member.seconds.get(&place)));
    let rolled =
        |member: &Tallies| member.seconds.values().map(|time| time.all).sum::<f64>() / 60.0;
    figure(members, 1.0, time.confirmed(), |member| Cluster {
        upper: member.minutes(place),
        lower: rolled(member),
    })
}

/// What members do in a place, in the order of [`Doing`].
fn habits_in(members: &[&Tallies], place: Place) -> Vec<LayerHabit> {
    let time = sum(members.iter().filter_map(|member| member.seconds.get(&place)));
    let doings: BTreeSet<Doing> = (members.iter())
        .flat_map(|member| member.done.keys().copied())
        .filter(|doing| doing.place == place)
        .collect();
    (doings.into_iter())
        .filter_map(|doing| {
            let rate = figure(members, f64::INFINITY, time.confirmed(), |member| Cluster {
                upper: member.count(doing),
                lower: member.minutes(place),
            })?;
            Some(LayerHabit { doing, rate })
        })
        .collect()
}

fn sum<'a>(tallies: impl Iterator<Item = &'a Tally>) -> Tally {
    tallies.fold(Tally::default(), |sum, tally| sum.plus(*tally))
}

/// A ratio over members, cut to between 0 and `most`.
fn figure(
    members: &[&Tallies],
    most: f64,
    confirmed: f64,
    of: impl Fn(&Tallies) -> Cluster,
) -> Option<Figure> {
    let clusters: Vec<Cluster> = members.iter().map(|member| of(member)).collect();
    let estimate = ratio(&clusters, Level::NINETY_FIVE)?;
    let cut = |limit: f64| limit.clamp(0.0, most);
    let (low, high) = (cut(estimate.interval.low()), cut(estimate.interval.high()));
    Some(Figure {
        value: estimate.value,
        count: clusters.iter().map(|cluster| cluster.upper).sum(),
        interval: Interval::between(low, high),
        confirmed,
    })
}
