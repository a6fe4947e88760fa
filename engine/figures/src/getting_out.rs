//! Getting out: how long a student stays in each bad position, and how the stays end.

use std::collections::BTreeMap;

use academy::{Athlete, EventKind, Position};

use crate::competing_risks::{IncidenceCurves, cumulative_incidence};
use crate::figure::Tally;
use crate::incidence_test::gray;
use crate::interval::Level;
use crate::known_round::{AthleteId, KnownRound};
use crate::observations::Observation;
use crate::place::{Way, way_out};
use crate::stretch::{Lived, Stretch};
use crate::survival::log_rank;

/// A tap at most so many seconds after a stay has ended in a pause is what ended it.
/// `common practice`: borders and moments are set by ear.
const TAP_SECONDS: f64 = 1.0;

/// How a stay in a bad position ended.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Ending {
    /// Out, by the table of [`way_out`]; also where the one on top tapped.
    Escaped,
    /// To the turtle.
    Turtled,
    /// To a worse position.
    Worse,
    /// Tapped.
    Tapped,
    /// To another bad position that is no worse.
    Elsewhere,
}

impl Ending {
    /// All endings, in the order of the outcomes of [`GettingOut::curves`].
    pub const ALL: [Ending; 5] =
        [Ending::Escaped, Ending::Turtled, Ending::Worse, Ending::Tapped, Ending::Elsewhere];

    /// Its place in [`Ending::ALL`].
    #[must_use]
    pub const fn index(self) -> usize {
        match self {
            Ending::Escaped => 0,
            Ending::Turtled => 1,
            Ending::Worse => 2,
            Ending::Tapped => 3,
            Ending::Elsewhere => 4,
        }
    }
}

/// One stay underneath in a bad position.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Stay {
    /// Which round of those given, counted from 0.
    pub round: usize,
    /// The position.
    pub position: Position,
    /// When it began, in seconds of its round.
    pub start: f64,
    /// How long it was, in seconds.
    pub seconds: f64,
    /// How it ended; nothing where the clock ran out, both paused without a tap, or nothing is
    /// known of what came next: then it lasted at least so long.
    pub ending: Option<Ending>,
    /// How probable it is, 0 to 1, whatever ended it.
    pub weight: f64,
    /// Share of it that a person told or confirmed, 0 to 1.
    pub confirmed: f64,
}

/// The stays of a student in bad positions, in the order of the rounds given.
///
/// A stay begins where the student gets into the position, or where the round or a restart begins
/// in it. One that begins after a blank is left out, since nobody knows for how long it had lasted;
/// so is what follows a tap within one stretch.
#[must_use]
pub fn stays(rounds: &[KnownRound<'_>], who: AthleteId) -> Vec<Stay> {
    let mut found = Vec::new();
    for (index, round) in rounds.iter().enumerate() {
        let Some(seat) = round.seat(who) else { continue };
        found.extend(stays_of(round, seat).map(|stay| Stay { round: index, ..stay }));
    }
    found
}

/// Everybody's stays, in one pass: linear in spells and events.
#[must_use]
pub fn stays_of_all(rounds: &[KnownRound<'_>]) -> BTreeMap<AthleteId, Vec<Stay>> {
    let mut all: BTreeMap<AthleteId, Vec<Stay>> = BTreeMap::new();
    for (index, round) in rounds.iter().enumerate() {
        for seat in Athlete::BOTH {
            let found = stays_of(round, seat).map(|stay| Stay { round: index, ..stay });
            all.entry(round.who(seat)).or_default().extend(found);
        }
    }
    all
}

fn stays_of(round: &KnownRound<'_>, seat: Athlete) -> impl Iterator<Item = Stay> {
    let lived = Lived::new(round, seat);
    (0..lived.stretches.len()).filter_map(move |at| stay(&lived, at))
}

fn stay(lived: &Lived<'_>, at: usize) -> Option<Stay> {
    let stretch = lived.stretches[at];
    let place = stretch.place.filter(|place| place.is_bad())?;
    let after_blank = at > 0 && lived.stretches[at - 1].place.is_none();
    if after_blank || stretch.weight <= 0.0 {
        return None;
    }
    let next = lived.stretches.get(at + 1);
    let stay = |end: f64, ending, weight: f64, confirmed: f64| Stay {
        round: 0,
        position: place.position,
        start: stretch.start,
        seconds: end - stretch.start,
        ending,
        weight,
        confirmed,
    };
    if let Some((time, own, weight)) = tap(lived, &stretch, next) {
        let ending = if own { Ending::Tapped } else { Ending::Escaped };
        let told = if weight < 1.0 { 0.0 } else { stretch.confirmed };
        let end = time.min(stretch.end);
        return Some(stay(end, Some(ending), stretch.weight, told));
    }
    let Some(to) = next.and_then(|next| next.place) else {
        return Some(stay(stretch.end, None, stretch.weight, stretch.confirmed));
    };
    if to.position == Position::Reset {
        return Some(stay(stretch.end, None, stretch.weight, stretch.confirmed));
    }
    let ending = match way_out(place, to) {
        Way::Escaped => Ending::Escaped,
        Way::Turtled => Ending::Turtled,
        Way::Worse => Ending::Worse,
        Way::Elsewhere => Ending::Elsewhere,
    };
    let next = next.unwrap_or(&stretch);
    Some(stay(stretch.end, Some(ending), stretch.weight, stretch.confirmed.min(next.confirmed)))
}

/// The first tap that ends a stretch: when, whether by the athlete, how probable. Of taps less
/// likely than not none does.
fn tap(lived: &Lived<'_>, stretch: &Stretch, next: Option<&Stretch>) -> Option<(f64, bool, f64)> {
    let paused =
        next.is_none_or(|next| next.place.is_none_or(|place| place.position == Position::Reset));
    let last = if paused { stretch.end + TAP_SECONDS } else { stretch.end };
    let from = lived.happenings.partition_point(|happening| happening.time <= stretch.start);
    (lived.happenings[from..].iter())
        .take_while(|happening| happening.time <= last)
        .filter(|happening| happening.kind == EventKind::Tap && happening.weight >= 0.5)
        .find_map(|happening| Some((happening.time, happening.own?, happening.weight)))
}

/// How a student gets out of one position.
#[derive(Clone, Debug)]
pub struct GettingOut {
    /// From underneath in this position.
    pub position: Position,
    /// Share of stays that have ended in each way by a time in seconds; outcomes in the order of
    /// [`Ending::ALL`]. Aalen and Johansen's estimate with 95 % limits
    /// ([`cumulative_incidence`]); stays that nothing is known to have ended are taken to have
    /// gone on like the others.
    pub curves: IncidenceCurves,
    /// Stays: an expected count.
    pub stays: f64,
    /// How many of them ended in each way: expected counts, in the order of [`Ending::ALL`].
    pub ended: [f64; 5],
    /// Share of them that a person told or confirmed, 0 to 1.
    pub confirmed: f64,
}

/// How the stays in one position end; nothing without any stay.
///
/// Stays of one student are taken as apart from each other; where a round has several like ones
/// the limits are somewhat too narrow. Weights: see [`cumulative_incidence`].
#[must_use]
pub fn getting_out(stays: &[Stay], position: Position) -> Option<GettingOut> {
    let here = || stays.iter().filter(|stay| stay.position == position);
    let observations = observations(here());
    let curves = cumulative_incidence(&observations, Ending::ALL.len(), Level::NINETY_FIVE).ok()?;
    let (mut tally, mut ended) = (Tally::default(), [0.0; 5]);
    for stay in here() {
        tally.add(stay.weight, stay.confirmed);
        if let Some(ending) = stay.ending {
            ended[ending.index()] += stay.weight;
        }
    }
    Some(GettingOut { position, curves, stays: tally.all, ended, confirmed: tally.confirmed() })
}

fn observations<'a>(stays: impl Iterator<Item = &'a Stay>) -> Vec<Observation> {
    stays
        .map(|stay| Observation {
            time: stay.seconds,
            outcome: stay.ending.map(Ending::index),
            weight: stay.weight.clamp(0.0, 1.0),
        })
        .collect()
}

/// With fewer stays on either side, expected counts, the two are not compared where figures are
/// shown. `common practice`: the tests are rough below five endings each.
pub const ENOUGH_STAYS: f64 = 5.0;

/// Two groups of stays in one position beside each other, such as a student's and their belt's.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Comparison {
    /// From underneath in this position.
    pub position: Position,
    /// Which way of ending is compared.
    pub ending: Ending,
    /// The chance of so much difference or more where there is none: by Gray's test of equal
    /// cumulative incidence, or by the log-rank test where no stay ended in any other way.
    pub p_value: f64,
    /// How many more of the first group's stays ended so than if they ended like everybody's: above
    /// 0 means more or sooner. A difference of expected counts.
    pub excess: f64,
    /// Stays of the first group and of the second, expected counts.
    pub stays: [f64; 2],
}

impl Comparison {
    /// Whether either side has too few stays for the test to be worth showing ([`ENOUGH_STAYS`]).
    #[must_use]
    pub fn is_of_few(&self) -> bool {
        self.stays.iter().any(|stays| *stays < ENOUGH_STAYS)
    }
}

/// Compares a student's stays in a position with those of others, such as their belt's or their own
/// of another time, by one way of ending. Nothing where one side has no stay or nobody's ended so.
///
/// Rough where either side has fewer than five such endings ([`gray`]); the stays of one person
/// count as apart from each other.
#[must_use]
pub fn compare(
    own: &[Stay],
    others: &[Stay],
    position: Position,
    ending: Ending,
) -> Option<Comparison> {
    let here = |stay: &&Stay| stay.position == position;
    let groups = [own, others].map(|stays| observations(stays.iter().filter(here)));
    let sides: [&[Observation]; 2] = [&groups[0], &groups[1]];
    let mut endings = groups.iter().flatten().filter_map(|one| one.outcome);
    let test = if endings.all(|outcome| outcome == ending.index()) {
        log_rank(&sides)
    } else {
        gray(&sides, ending.index(), Ending::ALL.len())
    };
    let test = test.ok()?;
    let count = |group: &[Observation]| group.iter().map(|one| one.weight).sum();
    Some(Comparison {
        position,
        ending,
        p_value: test.p_value,
        excess: *test.excess.first()?,
        stays: [count(&groups[0]), count(&groups[1])],
    })
}
