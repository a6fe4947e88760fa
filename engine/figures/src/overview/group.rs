//! All figures of a group: those who were in a class, or who wear a belt.

use std::collections::BTreeMap;

use super::academy::AcademyFigures;
use crate::figure::{Figure, Tally};
use crate::flows::{Flow, flows};
use crate::getting_out::{GettingOut, getting_out};
use crate::habits::{GroupHabits, SetsApart, habits, leaks, surest_ways};
use crate::known_round::AthleteId;
use crate::layers::{LayerHabit, Together, together};
use crate::place::{BAD, Place};
use crate::tallies::{Doing, Tallies};
use crate::train_next::Change;

/// Of the people said to differ, so large a share may be chance on average.
const CHANCE_AMONG_NAMED: f64 = 0.1;

/// What a group adds up to.
#[derive(Clone, Debug)]
pub struct GroupFigures {
    /// Its members who are in a round, in the order of their ids.
    pub members: Vec<AthleteId>,
    /// Rounds by member, added up: a round of two members counts twice.
    pub rounds: usize,
    /// Expected seconds of known rolling, likewise.
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
    /// Where and how; drawn towards the group.
    pub apart: SetsApart,
    /// Whether it is for the better.
    pub better: bool,
}

impl AcademyFigures {
    /// What a group adds up to; nothing where nobody of it is in a round.
    ///
    /// Who differs is told from each member's habits drawn towards the group (all but the habits
    /// that are a matter of style): named are the likeliest ones, as many as leave the mean chance
    /// of being wrong among them at 10 % (the Bayesian false discovery rate; Newton, Noueiry,
    /// Sarkar and Ahlquist 2004, *Biostatistics* 5:155). Takes some milliseconds per member.
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
        let Together { time, habits } = together(&theirs);
        let stays = self.stays_together(&members);
        Some(GroupFigures {
            rounds: sum.rounds,
            rolled,
            time,
            habits,
            getting_out: BAD.into_iter().filter_map(|bad| getting_out(&stays, bad)).collect(),
            flows: flows(&sum),
            needs: self.needs(&members),
            differs: self.differs(&members, &theirs),
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

    fn differs(&self, members: &[AthleteId], theirs: &[&Tallies]) -> Vec<Differs> {
        let group = GroupHabits::of(theirs);
        let none = GroupHabits::default();
        let mut found: Vec<Differs> = Vec::new();
        for (who, own) in members.iter().zip(theirs) {
            let habits = habits(own, &group, &none);
            for (better, apart) in [(true, surest_ways(&habits)), (false, leaks(&habits))] {
                found.extend(apart.into_iter().map(|apart| Differs { who: *who, apart, better }));
            }
        }
        found.sort_by(|one, other| {
            let by_chance = other.apart.chance.total_cmp(&one.apart.chance);
            by_chance
                .then((one.who, one.apart.habit.doing).cmp(&(other.who, other.apart.habit.doing)))
        });
        let mut wrong = 0.0;
        let named = (found.iter().enumerate())
            .take_while(|(before, one)| {
                wrong += 1.0 - one.apart.chance;
                wrong <= CHANCE_AMONG_NAMED * (*before as f64 + 1.0)
            })
            .count();
        found.truncate(named);
        found
    }
}
