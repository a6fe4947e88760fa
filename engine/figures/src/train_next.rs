//! Train next: which change of habit would be worth most to a student.

use std::collections::{BTreeMap, BTreeSet};

use crate::exact_rates::Count;
use crate::game::{Game, caught_doing, habit_count};
use crate::habits::{ENOUGH_MEMBERS, is_good};
use crate::interval::{Interval, Level};
use crate::meant::quantile;
use crate::place::Place;
use crate::pooling::{pool_rates, pool_shares};
use crate::sampling::Draws;
use crate::tallies::{Doing, Tallies};

/// Where a belt's better quarter begins, by habit, per minute in the place.
#[derive(Clone, Debug, Default)]
pub struct Targets {
    better_quarter: BTreeMap<Doing, f64>,
    /// Of attempts from a place, the share that is there.
    finishing: BTreeMap<Place, f64>,
}

/// With fewer attempts from a place whose ending is told, finishing more of them is nothing to say
/// yet. `common practice`.
const ENOUGH_ATTEMPTS: f64 = 3.0;

impl Targets {
    /// Learns from the members of a belt. The quarter is that of the members' true rates as the
    /// gamma-Poisson model has them ([`pool_rates`]), not of what they happened to show: the upper
    /// quartile for what is good for the student, the lower one for what is done to them. Habits
    /// that fewer than [`ENOUGH_MEMBERS`] could have shown, or nobody did, have none.
    #[must_use]
    pub fn of(belt: &[&Tallies]) -> Targets {
        let mut doings: BTreeSet<Doing> = (belt.iter())
            .flat_map(|member| member.done.keys().copied())
            .filter(|doing| is_good(*doing).is_some())
            .collect();
        for place in Place::all() {
            doings.extend([caught_doing(place, true), caught_doing(place, false)]);
        }
        let better = |doing: Doing| {
            let counts: Vec<Count> = (belt.iter())
                .filter_map(|one| {
                    Count::new(habit_count(one, doing), one.minutes(doing.place)).ok()
                })
                .collect();
            if counts.len() < ENOUGH_MEMBERS {
                return None;
            }
            let prior = pool_rates(&counts).ok()?.unseen();
            let share = if is_good(doing)? { 0.75 } else { 0.25 };
            Some((doing, prior.quantile(share)))
        };
        let finishing = Place::all().filter_map(|place| Some((place, finishing(belt, place)?)));
        let finishing = finishing.collect();
        Targets { better_quarter: doings.into_iter().filter_map(better).collect(), finishing }
    }

    /// What a student would do with a habit in the better quarter, per minute in the place. To
    /// catch more submissions is no habit but what comes of two: there it is their own attempts
    /// with the better quarter's share of them; nothing with fewer than [`ENOUGH_ATTEMPTS`] of them.
    fn for_student(&self, doing: Doing, own: &Tallies) -> Option<f64> {
        if doing != caught_doing(doing.place, true) {
            return self.of_habit(doing);
        }
        let (_, ended) = ended(own, doing.place);
        let minutes = own.minutes(doing.place);
        let share = self.finishing.get(&doing.place)?;
        (ended >= ENOUGH_ATTEMPTS && minutes > 0.0).then(|| ended / minutes * share)
    }

    /// Where the better quarter begins for a habit, per minute in the place.
    #[must_use]
    pub fn of_habit(&self, doing: Doing) -> Option<f64> {
        self.better_quarter.get(&doing).copied()
    }
}

/// Attempts from a place that were there, and all with a told ending: expected counts.
fn ended(of: &Tallies, place: Place) -> (f64, f64) {
    let attempts = of.attempts.get(&place).copied().unwrap_or_default();
    let there = attempts.finished.all + attempts.released.all;
    (there, there + attempts.escaped.all)
}

/// Where the better quarter of a belt begins in finishing what they try from a place, a share.
fn finishing(belt: &[&Tallies], place: Place) -> Option<f64> {
    let shares: Vec<(f64, f64)> =
        belt.iter().map(|one| ended(one, place)).filter(|(_, ended)| *ended > 0.0).collect();
    if shares.len() < ENOUGH_MEMBERS {
        return None;
    }
    Some(pool_shares(&shares).ok()?.after(0.0, 0.0).ok()?.quantile(0.75))
}

/// One change of habit and what it would be worth.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Change {
    /// The habit: what, where, by whom. A tap stands for a submission caught, tapped to or let go.
    pub doing: Doing,
    /// How often now, per minute in the place: the mean of what is known, the group behind it.
    pub now: f64,
    /// Where the belt's better quarter begins, per minute in the place.
    pub target: f64,
    /// What a round gains when the habit gets there and all else stays: net submissions per round,
    /// the mean of the draws; draws in which the student is there already count as nothing gained.
    pub gain: f64,
    /// The middle 95 % of the draws of it.
    pub interval: Interval,
    /// The chance that no other change gains more, 0 to 1.
    pub best: f64,
    /// How often the habit was seen: an expected count.
    pub count: f64,
    /// The student's own expected minutes in the place.
    pub minutes: f64,
    /// Share of them that a person told or confirmed, 0 to 1.
    pub confirmed: f64,
}

/// Every change of habit with what it would be worth, most first.
///
/// Rates are drawn from what is known of each ([`Game::new`]; posterior sampling after Thompson
/// 1933, *Biometrika* 25:285); in each draw every habit is moved to its target by itself, and the
/// one that gains most is noted. Only places the student was in are looked at. The same seed gives
/// the same answer. `common practice` caution: a gain is what the model of places says, and the
/// coach knows what it leaves out.
#[must_use]
pub fn train_next(
    own: &Tallies,
    group: &Tallies,
    targets: &Targets,
    draws: usize,
    seed: u64,
) -> Vec<Change> {
    let Some(game) = Game::new(own, group) else { return Vec::new() };
    let mean = game.mean();
    let options: Vec<(Doing, f64)> = (targets.better_quarter.keys())
        .filter(|doing| own.minutes(doing.place) > 0.0)
        .filter(|doing| game.rate_of(**doing, &mean).is_some())
        .filter_map(|doing| Some((*doing, targets.for_student(*doing, own)?)))
        .collect();
    let mut gains: Vec<Vec<f64>> = vec![Vec::with_capacity(draws); options.len()];
    let mut wins = vec![0.0; options.len()];
    let mut chance = Draws::from_seed(seed);
    let mut counted = 0.0;
    for _ in 0..draws.max(1) {
        let rates = game.draw(&mut chance);
        let Ok(process) = game.process(&rates) else { continue };
        counted += 1.0;
        let mut most: Option<(usize, f64)> = None;
        // Options come place by place.
        let mut here: Option<(Place, Vec<f64>)> = None;
        for (at, (doing, target)) in options.iter().enumerate() {
            if here.as_ref().is_none_or(|(place, _)| *place != doing.place) {
                here = game.visits(&process, doing.place).map(|visits| (doing.place, visits));
            }
            let Some((_, visits)) = &here else {
                gains[at].push(0.0);
                continue;
            };
            let now = game.rate_of(*doing, &rates).unwrap_or(*target);
            let wanted = match is_good(*doing) {
                Some(false) => target.min(now),
                _ => target.max(now),
            };
            let gain = game.gain(&process, visits, &rates, *doing, wanted).unwrap_or(0.0);
            gains[at].push(gain);
            if gain > most.map_or(0.0, |(_, gain)| gain) {
                most = Some((at, gain));
            }
        }
        if let Some((at, _)) = most {
            wins[at] += 1.0;
        }
    }
    let mut changes: Vec<Change> = (options.iter().zip(gains).zip(wins))
        .filter(|((_, gains), _)| !gains.is_empty())
        .map(|(((doing, target), mut gains), wins)| {
            gains.sort_by(f64::total_cmp);
            let tail = Level::NINETY_FIVE.tail();
            let limits = [tail, 1.0 - tail].map(|share| quantile(&gains, share));
            Change {
                doing: *doing,
                now: game.rate_of(*doing, &mean).unwrap_or(0.0),
                target: *target,
                gain: gains.iter().sum::<f64>() / gains.len() as f64,
                interval: Interval::between(limits[0], limits[1]),
                best: wins / counted,
                count: habit_count(own, *doing),
                minutes: own.minutes(doing.place),
                confirmed: own.seconds.get(&doing.place).map_or(0.0, |time| time.confirmed()),
            }
        })
        .collect();
    changes.sort_by(|one, other| other.gain.total_cmp(&one.gain).then(one.doing.cmp(&other.doing)));
    changes
}
