//! Flows between places, for the position map.

use std::collections::BTreeMap;

use crate::figure::Figure;
use crate::interval::Level;
use crate::place::Place;
use crate::proportions::wilson;
use crate::tallies::Tallies;

/// How often a student went from one place to another.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Flow {
    /// From where.
    pub from: Place,
    /// Where to.
    pub to: Place,
    /// How often: an expected count.
    pub count: f64,
    /// Share of all changes out of `from` that went there, 0 to 1. `count` is the number of changes
    /// out of it; Wilson's limits.
    pub share: Figure,
}

/// Every flow that was seen, thickest first; pauses and blanks are not part of it.
#[must_use]
pub fn flows(own: &Tallies) -> Vec<Flow> {
    let mut out: BTreeMap<Place, f64> = BTreeMap::new();
    for ((from, _), tally) in &own.moves {
        *out.entry(*from).or_default() += tally.all;
    }
    let mut flows: Vec<Flow> = (own.moves.iter())
        .filter_map(|((from, to), tally)| {
            let all = *out.get(from)?;
            // Sums in another order: rounding must not push a share past 1.
            let share = wilson(tally.all.min(all), all, Level::NINETY_FIVE).ok()?;
            let (value, interval) = (share.value, share.interval);
            let share = Figure { value, count: all, interval, confirmed: tally.confirmed() };
            Some(Flow { from: *from, to: *to, count: tally.all, share })
        })
        .collect();
    flows.sort_by(|one, other| {
        let places = (one.from, one.to).cmp(&(other.from, other.to));
        other.count.total_cmp(&one.count).then(places)
    });
    flows
}
