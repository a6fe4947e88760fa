//! What a whole academy adds up to: the ground that its members' figures are read against.

use std::collections::BTreeMap;

use academy::{Athlete, Belt, Position};

use crate::actions::Transitions;
use crate::getting_out::{GettingOut, Stay, getting_out, stays_of_all};
use crate::habits::{ENOUGH_MEMBERS, GroupHabits, Towards};
use crate::known_round::{AthleteId, KnownRound};
use crate::layers::{Layer, layers};
use crate::place::{BAD, Place};
use crate::stretch::Lived;
use crate::tallies::{Tallies, tallies};
use crate::train_next::Targets;

/// What the members of a belt, or all, do.
#[derive(Clone, Debug, Default)]
pub(super) struct Ground {
    pub(super) members: Vec<AthleteId>,
    pub(super) together: Tallies,
    pub(super) habits: GroupHabits,
    pub(super) targets: Targets,
    /// All members together, by position.
    pub(super) getting_out: BTreeMap<Position, GettingOut>,
    /// How many members were ever in each bad position.
    people: BTreeMap<Position, usize>,
    /// What follows what in all members' rounds.
    pub(super) transitions: Transitions,
}

impl Ground {
    fn of(
        members: Vec<AthleteId>,
        tallies: &BTreeMap<AthleteId, Tallies>,
        stays: &BTreeMap<AthleteId, Vec<Stay>>,
        transitions: &BTreeMap<AthleteId, Transitions>,
    ) -> Ground {
        let theirs: Vec<&Tallies> = members.iter().filter_map(|who| tallies.get(who)).collect();
        let mut together = Tallies::default();
        theirs.iter().for_each(|one| together.merge(one));
        let (habits, targets) = (GroupHabits::of(&theirs), Targets::of(&theirs));
        let each = || members.iter().filter_map(|who| stays.get(who));
        let theirs: Vec<Stay> = each().flatten().copied().collect();
        let mut people: BTreeMap<Position, usize> = BTreeMap::new();
        for bad in BAD {
            let there = |stays: &&Vec<Stay>| stays.iter().any(|stay| stay.position == bad);
            people.insert(bad, each().filter(there).count());
        }
        let getting_out = BAD.into_iter().filter_map(|bad| Some((bad, getting_out(&theirs, bad)?)));
        let getting_out = getting_out.collect();
        let mut followed = Transitions::default();
        let each = members.iter().filter_map(|who| transitions.get(who));
        each.for_each(|one| followed.merge(one));
        Ground { members, together, habits, targets, getting_out, people, transitions: followed }
    }

    /// How many members were ever underneath in a bad position.
    pub(super) fn stayed_in(&self, position: Position) -> usize {
        self.people.get(&position).copied().unwrap_or(0)
    }
}

/// What everybody's rounds add up to, worked out once.
///
/// Memory grows with people and places, not with rounds, but for the stays in bad positions, of
/// which a round has a handful.
#[derive(Clone, Debug, Default)]
pub struct AcademyFigures {
    pub(super) belts: BTreeMap<AthleteId, Belt>,
    pub(super) tallies: BTreeMap<AthleteId, Tallies>,
    pub(super) stays: BTreeMap<AthleteId, Vec<Stay>>,
    pub(super) transitions: BTreeMap<AthleteId, Transitions>,
    /// Which of the rounds something is known of, by who is in them.
    pub(super) rounds: BTreeMap<AthleteId, Vec<usize>>,
    pub(super) by_belt: BTreeMap<Belt, Ground>,
    pub(super) all: Ground,
}

impl AcademyFigures {
    /// Adds up all rounds. People without a belt given count for the academy but for no belt.
    /// Linear in spells and events, plus some milliseconds for each belt.
    #[must_use]
    pub fn new(rounds: &[KnownRound<'_>], belts: BTreeMap<AthleteId, Belt>) -> AcademyFigures {
        let (tallies, stays) = (tallies(rounds), stays_of_all(rounds));
        let transitions = Transitions::of_all(rounds, |_| true);
        let mut members: BTreeMap<Belt, Vec<AthleteId>> = BTreeMap::new();
        for who in tallies.keys() {
            if let Some(belt) = belts.get(who) {
                members.entry(*belt).or_default().push(*who);
            }
        }
        let by_belt = (members.into_iter())
            .map(|(belt, members)| (belt, Ground::of(members, &tallies, &stays, &transitions)))
            .collect();
        let all = Ground::of(tallies.keys().copied().collect(), &tallies, &stays, &transitions);
        let mut known: BTreeMap<AthleteId, Vec<usize>> = BTreeMap::new();
        for (at, round) in rounds.iter().enumerate() {
            if Lived::new(round, Athlete::First).rolling() > 0.0 {
                round.athletes.iter().for_each(|who| known.entry(*who).or_default().push(at));
            }
        }
        AcademyFigures { belts, tallies, stays, transitions, rounds: known, by_belt, all }
    }

    /// Everybody who is in a round, in the order of their ids.
    pub fn people(&self) -> impl Iterator<Item = AthleteId> {
        self.tallies.keys().copied()
    }

    /// Somebody's belt, where it was given.
    #[must_use]
    pub fn belt(&self, who: AthleteId) -> Option<Belt> {
        self.belts.get(&who).copied()
    }

    /// What somebody's rounds add up to; nothing for people without rounds.
    #[must_use]
    pub fn tallies(&self, who: AthleteId) -> Option<&Tallies> {
        self.tallies.get(&who)
    }

    /// The belts that somebody wears who is in a round, lowest first, with those people.
    pub fn belts(&self) -> impl Iterator<Item = (Belt, &[AthleteId])> {
        self.by_belt.iter().map(|(belt, ground)| (*belt, ground.members.as_slice()))
    }

    /// One place at every belt that has enough members who were there: see [`layers`].
    #[must_use]
    pub fn layers(&self, place: Place) -> Vec<Layer> {
        let members: Vec<(Belt, &Tallies)> = (self.tallies.iter())
            .filter_map(|(who, tallies)| Some((*self.belts.get(who)?, tallies)))
            .collect();
        layers(&members, place)
    }

    /// Whom somebody is read against: their belt, where it has enough members besides them, else
    /// everybody.
    pub(super) fn ground(&self, who: AthleteId) -> (&Ground, Towards) {
        let belt = self.belts.get(&who).and_then(|belt| self.by_belt.get(belt));
        match belt.filter(|belt| belt.members.len() > ENOUGH_MEMBERS) {
            Some(belt) => (belt, Towards::Belt),
            None => (&self.all, Towards::Academy),
        }
    }

    /// What a belt's members do; nothing learned for a belt that nobody wears.
    pub(super) fn belt_habits(&self, who: AthleteId) -> GroupHabits {
        let belt = self.belts.get(&who).and_then(|belt| self.by_belt.get(belt));
        belt.map(|belt| belt.habits.clone()).unwrap_or_default()
    }

    /// Somebody's stays in bad positions.
    pub(super) fn stays(&self, who: AthleteId) -> &[Stay] {
        self.stays.get(&who).map_or(&[], Vec::as_slice)
    }

    /// The stays of some people together.
    pub(super) fn stays_together<'a>(
        &self,
        people: impl IntoIterator<Item = &'a AthleteId>,
    ) -> Vec<Stay> {
        people.into_iter().flat_map(|who| self.stays(*who)).copied().collect()
    }
}
