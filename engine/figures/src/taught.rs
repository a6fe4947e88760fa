//! What was taught: how often a technique was used before a class and since.

use std::collections::BTreeSet;

use academy::{Athlete, EventKind};
use jiff::civil::Date;

use crate::exact_rates::{Count, RateRatio, rate_ratio};
use crate::figure::{Figure, Tally, per_minute};
use crate::interval::Level;
use crate::known_round::{AthleteId, KnownRound};
use crate::stretch::Lived;

/// A technique's use before and since a day.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Use {
    /// Per minute of rolling, before the day; nothing where no rolling is known.
    pub before: Option<Figure>,
    /// Per minute of rolling, from the day on: people roll after class.
    pub since: Option<Figure>,
    /// The rate since divided by the rate before, with its exact interval and test
    /// ([`rate_ratio`]); nothing where it was seen neither before nor since, or one side has no
    /// rolling.
    pub ratio: Option<RateRatio>,
    /// How many people that rests on.
    pub people: usize,
}

impl Use {
    /// Taught, and never seen since although people rolled.
    #[must_use]
    pub fn never_appeared(&self) -> bool {
        self.since.is_some_and(|since| since.count == 0.0)
    }
}

/// How often people used a technique before a day and since, all together. `counts` says who is
/// looked at: those who were in that class, those who weren't, those of one belt. `technique` is the
/// lexicon's name, letter case aside.
///
/// A use is any told moment of that technique by the person (tried, failed or worked), but a
/// release, which ends a use counted before. Only minutes of known rolling count; moments by an
/// unknown athlete do not. That people roll with others, later and better says as much as the
/// class may have done: compare with those who weren't there.
#[must_use]
pub fn used(
    rounds: &[KnownRound<'_>],
    technique: &str,
    day: Date,
    counts: impl Fn(AthleteId) -> bool,
) -> Use {
    let mut watched = Watched::new(1);
    for round in rounds {
        for seat in Athlete::BOTH.into_iter().filter(|seat| counts(round.who(*seat))) {
            watched.add(round, seat, &[technique.to_lowercase()], day);
        }
    }
    watched.used(0)
}

/// As [`used`] of several techniques, by those that `counts` says and by all others, in one pass
/// over the rounds.
#[must_use]
pub fn uses(
    rounds: &[KnownRound<'_>],
    techniques: &[String],
    day: Date,
    counts: impl Fn(AthleteId) -> bool,
) -> Vec<[Use; 2]> {
    let wanted: Vec<String> = techniques.iter().map(|name| name.to_lowercase()).collect();
    let mut watched = [Watched::new(wanted.len()), Watched::new(wanted.len())];
    for round in rounds {
        for seat in Athlete::BOTH {
            let group = usize::from(!counts(round.who(seat)));
            watched[group].add(round, seat, &wanted, day);
        }
    }
    (0..wanted.len()).map(|at| [watched[0].used(at), watched[1].used(at)]).collect()
}

/// What was seen of some people, before a day and since.
struct Watched {
    seconds: [Tally; 2],
    /// By technique.
    uses: Vec<[f64; 2]>,
    people: BTreeSet<AthleteId>,
}

impl Watched {
    fn new(techniques: usize) -> Watched {
        let uses = vec![[0.0; 2]; techniques];
        Watched { seconds: [Tally::default(); 2], uses, people: BTreeSet::new() }
    }

    /// `wanted` are names in lower case.
    fn add(&mut self, round: &KnownRound<'_>, seat: Athlete, wanted: &[String], day: Date) {
        let side = usize::from(round.date >= day);
        self.people.insert(round.who(seat));
        let lived = Lived::new(round, seat);
        for stretch in lived.rolled() {
            self.seconds[side].add(stretch.expected(), stretch.confirmed);
        }
        for happening in &lived.happenings {
            let own = happening.own == Some(true) && is_use(happening.kind);
            let Some(name) = happening.technique.filter(|_| own) else { continue };
            let name = name.to_lowercase();
            for (uses, _) in self.uses.iter_mut().zip(wanted).filter(|(_, of)| **of == name) {
                uses[side] += happening.weight;
            }
        }
    }

    fn used(&self, technique: usize) -> Use {
        let (uses, seconds) = (self.uses[technique], self.seconds);
        let count = |side: usize| Count::new(uses[side], seconds[side].all / 60.0).ok();
        let ratio = match (count(1), count(0)) {
            (Some(since), Some(before)) => rate_ratio(since, before, Level::NINETY_FIVE).ok(),
            _ => None,
        };
        let [before, since] = [0, 1].map(|side| per_minute(uses[side], seconds[side]));
        Use { before, since, ratio, people: self.people.len() }
    }
}

/// A release, a tap or getting out of a submission bears the name of what somebody else used, or
/// of what was counted when it was tried.
const fn is_use(kind: EventKind) -> bool {
    !matches!(
        kind,
        EventKind::Release | EventKind::Tap | EventKind::SubmissionEscape | EventKind::Reset
    )
}
