//! What was taught: how often a technique was used before a class and since.

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
    let wanted = technique.to_lowercase();
    let mut seconds = [Tally::default(); 2];
    let mut uses = [0.0; 2];
    let mut people = std::collections::BTreeSet::new();
    for round in rounds {
        let side = usize::from(round.date >= day);
        for seat in Athlete::BOTH.into_iter().filter(|seat| counts(round.who(*seat))) {
            people.insert(round.who(seat));
            let lived = Lived::new(round, seat);
            for stretch in lived.rolled() {
                seconds[side].add(stretch.expected(), stretch.confirmed);
            }
            uses[side] += (lived.happenings.iter())
                .filter(|happening| {
                    happening.own == Some(true)
                        && is_use(happening.kind)
                        && happening.technique.is_some_and(|name| name.to_lowercase() == wanted)
                })
                .map(|happening| happening.weight)
                .sum::<f64>();
        }
    }
    let count = |side: usize| Count::new(uses[side], seconds[side].all / 60.0).ok();
    let ratio = match (count(1), count(0)) {
        (Some(since), Some(before)) => rate_ratio(since, before, Level::NINETY_FIVE).ok(),
        _ => None,
    };
    let [before, since] = [0, 1].map(|side| per_minute(uses[side], seconds[side]));
    Use { before, since, ratio, people: people.len() }
}

/// A release, a tap or getting out of a submission bears the name of what somebody else used, or
/// of what was counted when it was tried.
const fn is_use(kind: EventKind) -> bool {
    !matches!(
        kind,
        EventKind::Release | EventKind::Tap | EventKind::SubmissionEscape | EventKind::Reset
    )
}
