//! All figures of a group: those who were in a class, or who wear a belt.

use std::collections::{BTreeMap, BTreeSet};

use super::academy::AcademyFigures;
use crate::discoveries::adjusted;
use crate::exact_rates::{Count, RateRatio, rate_ratio};
use crate::figure::{Figure, Tally};
use crate::flows::{Flow, flows};
use crate::getting_out::{GettingOut, getting_out};
use crate::habits::{ENOUGH_MOMENTS, GroupHabits, Habit, habits, is_good};
use crate::interval::Level;
use crate::known_round::AthleteId;
use crate::layers::{LayerHabit, Together, together};
use crate::place::{BAD, Place};
use crate::tallies::{Doing, Tallies};
use crate::train_next::Change;

/// Of the differences named, so large a share may be chance on average.
const CHANCE_AMONG_NAMED: f64 = 0.1;

/// What a group adds up to.
#[derive(Clone, Debug)]
pub struct GroupFigures {
    /// Its members who are in a round, in the order of their ids.
    pub members: Vec<AthleteId>,
    /// Rounds with at least one member that something is known of.
    pub rounds: usize,
    /// Expected seconds of known rolling by member, added up: a round of two members counts twice.
    pub rolled: Tally,
    /// Share of the group's time by place; limits take members as clusters.
    pub time: Vec<(Place, Figure)>,
    /// Habits by place, per minute in it, of all members together; likewise.
    pub habits: Vec<LayerHabit>,
    /// Getting out of every bad position anybody was in, all stays together.
    pub getting_out: Vec<GettingOut>,
    /// From where to where, thickest first.
    pub flows: Vec<Flow>,
    /// What would help its members most, most first.
    pub needs: Vec<Need>,
    /// Who differs from the group, and where.
    pub differs: Vec<Differs>,
}

/// A change of habit that would help members of a group.
#[derive(Clone, Debug, PartialEq)]
pub struct Need {
    /// The habit.
    pub doing: Doing,
    /// What a round gains when a member's habit moves to their belt's better quarter, on average
    /// over the group, those counting 0 who have nothing to gain: net submissions per round.
    pub gain: f64,
    /// For whom it is likelier best than anything else, in the order of their ids.
    pub best_for: Vec<AthleteId>,
    /// For how many members anything was known of it.
    pub members: usize,
}

/// A member who differs from the group in one habit.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Differs {
    /// Who.
    pub who: AthleteId,
    /// What they do, drawn towards the group.
    pub habit: Habit,
    /// Their rate divided by that of all others together, with its exact interval and test.
    pub ratio: RateRatio,
    /// The test's p-value adjusted for all members and habits that were looked at.
    pub adjusted: f64,
    /// Whether it is for the better.
    pub better: bool,
}

impl AcademyFigures {
    /// What a group adds up to; nothing where nobody of it is in a round.
    ///
    /// Who differs is told by the exact test of each member's rate against that of all others
    /// together, for every habit that is no matter of style; named are those whose p-value, adjusted
    /// for all of them ([`adjusted`]), is at most 10 %: so large a share of those named may be
    /// chance, on average. Takes some milliseconds per member.
    #[must_use]
    pub fn group(&self, people: &[AthleteId]) -> Option<GroupFigures> {
        let mut members: Vec<AthleteId> =
            people.iter().filter(|who| self.tallies.contains_key(who)).copied().collect();
        members.sort_unstable();
        members.dedup();
        let theirs: Vec<&Tallies> = members.iter().filter_map(|who| self.tallies(*who)).collect();
        if theirs.is_empty() {
            return None;
        }
        let mut sum = Tallies::default();
        theirs.iter().for_each(|one| sum.merge(one));
        let mut rolled = Tally::default();
        sum.seconds.values().for_each(|time| rolled = rolled.plus(*time));
        let rounds: BTreeSet<usize> =
            members.iter().filter_map(|who| self.rounds.get(who)).flatten().copied().collect();
        let Together { time, habits } = together(&theirs);
        let stays = self.stays_together(&members);
        Some(GroupFigures {
            rounds: rounds.len(),
            rolled,
            time,
            habits,
            getting_out: BAD.into_iter().filter_map(|bad| getting_out(&stays, bad)).collect(),
            flows: flows(&sum),
            needs: self.needs(&members),
            differs: self.differs(&members, &theirs, &sum),
            members,
        })
    }

    fn needs(&self, members: &[AthleteId]) -> Vec<Need> {
        let mut of: BTreeMap<Doing, Need> = BTreeMap::new();
        for who in members {
            let changes = self.changes_of_habit(*who);
            let best = changes.iter().max_by(|one, other| one.best.total_cmp(&other.best));
            let best = best.filter(|change| change.best > 0.0).map(|change| change.doing);
            for Change { doing, gain, .. } in changes {
                let need = of.entry(doing).or_insert_with(|| Need {
                    doing,
                    gain: 0.0,
                    best_for: Vec::new(),
                    members: 0,
                });
                need.gain += gain / members.len() as f64;
                need.members += 1;
                if best == Some(doing) {
                    need.best_for.push(*who);
                }
            }
        }
        let mut needs: Vec<Need> = of.into_values().collect();
        needs.sort_by(|one, other| {
            other.gain.total_cmp(&one.gain).then(one.doing.cmp(&other.doing))
        });
        needs
    }

    fn differs(&self, members: &[AthleteId], theirs: &[&Tallies], all: &Tallies) -> Vec<Differs> {
        let (group, none) = (GroupHabits::of(theirs), GroupHabits::default());
        let mut found: Vec<Differs> = Vec::new();
        for (who, own) in members.iter().zip(theirs) {
            let compared = habits(own, &group, &none).into_iter();
            found.extend(compared.filter_map(|habit| beside_the_rest(*who, habit, all)));
        }
        // Tests hand out nothing but p-values, give or take their rounding.
        let p_values: Vec<f64> =
            found.iter().map(|one| one.ratio.p_value.clamp(0.0, 1.0)).collect();
        let together = adjusted(&p_values).unwrap_or_default();
        for (one, adjusted) in found.iter_mut().zip(together) {
            one.adjusted = adjusted;
        }
        found.retain(|one| one.adjusted <= CHANCE_AMONG_NAMED);
        found.sort_by(|one, other| {
            let by_chance = one.ratio.p_value.total_cmp(&other.ratio.p_value);
            by_chance.then((one.who, one.habit.doing).cmp(&(other.who, other.habit.doing)))
        });
        found
    }
}

/// A member's habit beside that of all others together; nothing for matters of style, where either
/// was never in the place, and where fewer than [`ENOUGH_MOMENTS`] were seen or to be expected.
fn beside_the_rest(who: AthleteId, habit: Habit, all: &Tallies) -> Option<Differs> {
    let good = is_good(habit.doing)?;
    let own = Count::new(habit.seen.count, habit.minutes).ok()?;
    let minutes = all.minutes(habit.doing.place) - habit.minutes;
    // Sums in another order: what is left of everybody's must not fall below nothing.
    let rest = Count::new((all.count(habit.doing) - habit.seen.count).max(0.0), minutes).ok()?;
    // What neither was seen nor could be expected often enough is not looked at, so that it takes
    // nothing away from what can be told.
    if own.events().max(rest.rate() * own.exposure()) < ENOUGH_MOMENTS {
        return None;
    }
    let ratio = rate_ratio(own, rest, Level::NINETY_FIVE).ok()?;
    let better = (own.rate() > rest.rate()) == good;
    Some(Differs { who, habit, ratio, adjusted: 1.0, better })
}
