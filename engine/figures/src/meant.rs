//! Whether a round was of the kind it was meant to be, with the evidence.
//!
//! No published norm exists for the pace of training rounds or the length of their holds (FACTS
//! C12), so a round is held against the academy's own rounds of the same kind, where there are
//! enough, and against nothing else. The one thing said without a comparison is what a word means:
//! mostly is more than half.

use std::collections::HashMap;

use academy::{Athlete, EventKind, Position, RoundKind};

use crate::known_round::KnownRound;
use crate::place::Role;
use crate::stretch::Lived;

/// With fewer other rounds of its kind a round is compared with none. `common practice`: quartiles
/// of fewer than eight say little.
pub const ENOUGH_ROUNDS: usize = 8;

/// A round is unlike its kind where [`Meant::chance`] is at most this: it cannot be beside fewer
/// than 19 other rounds.
pub const UNLIKE: f64 = 0.05;

/// A flow roll with less give and take is one-sided: one was on top for nine tenths of the time.
/// `common practice`: to flow is to give as well as to take.
pub const ONE_SIDED: f64 = 0.2;

/// What is looked at, with its unit.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Measure {
    /// Changes per minute.
    Changes,
    /// Share of the time in pins, 0 to 1.
    Pinned,
    /// Longest pin at least as likely as not, seconds.
    LongestPin,
    /// Give and take, 0 to 1.
    GiveAndTake,
    /// Submission attempts per minute, by either.
    Attempts,
    /// Submissions let go per minute, by either.
    Releases,
    /// Taps per minute, by either.
    Taps,
}

/// One value per measure of [`Measure::ALL`]; nothing where it cannot be told.
type Values = [Option<f64>; Measure::ALL.len()];

impl Measure {
    /// All of them.
    pub const ALL: [Measure; 7] = [
        Measure::Changes,
        Measure::Pinned,
        Measure::LongestPin,
        Measure::GiveAndTake,
        Measure::Attempts,
        Measure::Releases,
        Measure::Taps,
    ];

    /// The measure of a round, the same for both athletes; nothing where it cannot be told. The
    /// definitions are those of [`crate::round`], without limits.
    #[must_use]
    pub fn of(self, round: &KnownRound<'_>) -> Option<f64> {
        values(round)[self as usize]
    }
}

/// Every measure of a round in one pass over it.
fn values(round: &KnownRound<'_>) -> Values {
    let lived = Lived::new(round, Athlete::First);
    let (mut all, mut pinned, mut longest) = (0.0, 0.0, 0.0_f64);
    let (mut above, mut below) = (0.0, 0.0);
    for stretch in lived.rolled() {
        let Some(place) = stretch.place else { continue };
        all += stretch.expected();
        match place.role {
            Role::Neither => {}
            Role::Top => above += stretch.expected(),
            Role::Bottom => below += stretch.expected(),
        }
        if place.depth().max(place.across().depth()) >= 3 {
            pinned += stretch.expected();
            if stretch.weight >= 0.5 {
                longest = longest.max(stretch.seconds());
            }
        }
    }
    if all <= 0.0 {
        return Values::default();
    }
    let minutes = all / 60.0;
    let rolled = |place: crate::Place| place.position != Position::Reset;
    let changes = lived.changes().filter(|change| rolled(change.from) && rolled(change.to));
    let changes = changes.fold(0.0, |sum, change| sum + change.weight);
    let with_top: f64 = above + below;
    let even = (with_top > 0.0).then(|| 1.0 - (above - below).abs() / with_top);
    let told = |kind: EventKind| {
        let of_kind = lived.happenings.iter().filter(|happening| happening.kind == kind);
        // Folded, since the sum of nothing would be a negative zero.
        Some(of_kind.fold(0.0, |sum, happening| sum + happening.weight) / minutes)
    };
    [
        Some(changes / minutes),
        Some((pinned / all).clamp(0.0, 1.0)),
        Some(longest),
        even,
        told(EventKind::SubmissionAttempt),
        told(EventKind::Release),
        told(EventKind::Tap),
    ]
}

/// The academy's other rounds of the kind, by one measure.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Others {
    /// How many rounds.
    pub rounds: usize,
    /// Lower quartile, median and upper quartile, in the measure's unit (type 7 of Hyndman and Fan
    /// 1996, *American Statistician* 50:361).
    pub quartiles: [f64; 3],
    /// Share of them below this round's value, a tie counting half.
    pub below: f64,
}

/// One measure of a round.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Evidence {
    /// Which.
    pub measure: Measure,
    /// Its value, in the measure's unit.
    pub value: f64,
    /// What it is compared with; nothing where there are too few rounds.
    pub others: Option<Others>,
}

/// How a round looks beside its kind.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Reading {
    /// More than half of a flow roll was pins.
    MostlyPins,
    /// One was on top for more than nine tenths of the time of a flow roll that anybody was.
    OneSided,
    /// Few rounds of the kind are as odd as this one ([`UNLIKE`]).
    Unlike,
    /// Others are as odd.
    Alike,
    /// There are too few others to say.
    NothingToCompare,
}

/// A round beside its kind, with the evidence, oddest measures first.
#[derive(Clone, Debug, PartialEq)]
pub struct Meant {
    /// What it was meant to be.
    pub kind: RoundKind,
    /// How it looks.
    pub reading: Reading,
    /// The chance that a round which is like the others is at least as odd among them as this one,
    /// 0 to 1: a conformal p-value, (1 + other rounds as odd or odder) / (others + 1) (Vovk,
    /// Gammerman and Shafer 2005, *Algorithmic Learning in a Random World*). Where all rounds of
    /// the kind are alike (exchangeable), a chance of c or less comes up in at most a share c of
    /// them, whatever their distribution and however the measures hang together. Nothing where
    /// there are too few others for it to be as small as [`UNLIKE`].
    pub chance: Option<f64>,
    /// By measure.
    pub evidence: Vec<Evidence>,
    /// Share of the round's time that a person told or confirmed, 0 to 1.
    pub confirmed: f64,
}

/// One measure of all rounds of a kind.
#[derive(Clone, Debug, Default)]
struct Column {
    /// Sorted.
    values: Vec<f64>,
    median: f64,
    /// Twice the sum of distances from the median over all rounds, of those below and above it.
    usual: [f64; 2],
}

impl Column {
    fn of(mut values: Vec<f64>) -> Column {
        values.sort_by(f64::total_cmp);
        if values.is_empty() {
            return Column::default();
        }
        let median = quantile(&values, 0.5);
        let distances = |side: f64| values.iter().map(move |value| side * (value - median));
        let sum = |side: f64| distances(side).filter(|distance| *distance > 0.0).sum::<f64>();
        let usual = [-1.0, 1.0].map(|side| 2.0 * sum(side) / values.len() as f64);
        Column { values, median, usual }
    }

    /// How many others there are below a value that is among these itself, ties counting half.
    fn below(&self, value: f64) -> f64 {
        let less = self.values.partition_point(|one| *one < value);
        let up_to = self.values.partition_point(|one| *one <= value);
        less as f64 + up_to.saturating_sub(less + 1) as f64 / 2.0
    }

    /// How many times further than usual a value that is among these lies from their median, on
    /// its side of it; 0 where there are too few. Where half of them lie on either side, usual is
    /// the mean distance of those on that side; where hardly any do, even one is far out.
    ///
    /// Ranks would not do: with seven measures there are fourteen ends, so that fourteen rounds of
    /// any number would be as odd as can be.
    fn oddness(&self, value: f64) -> f64 {
        let usual = self.usual[usize::from(value > self.median)];
        let enough = self.values.len() > ENOUGH_ROUNDS && usual > 0.0;
        if enough { (value - self.median).abs() / usual } else { 0.0 }
    }

    /// The others of a value that is among these itself.
    fn others(&self, value: f64) -> Option<Others> {
        let rounds = self.values.len().saturating_sub(1);
        if rounds < ENOUGH_ROUNDS {
            return None;
        }
        let own = self.values.partition_point(|one| *one < value);
        let at = |rank: usize| self.values[rank + usize::from(rank >= own)];
        Some(Others {
            rounds,
            quartiles: [0.25, 0.5, 0.75].map(|share| quantile_of(rounds, at, share)),
            below: self.below(value) / rounds as f64,
        })
    }
}

/// All rounds of one kind.
#[derive(Clone, Debug, Default)]
struct Kind {
    rounds: Vec<Values>,
    columns: [Column; Measure::ALL.len()],
    /// Of every round that anything is known about, sorted.
    oddness: Vec<f64>,
}

impl Kind {
    fn of(rounds: Vec<Values>) -> Kind {
        let columns = std::array::from_fn(|measure| {
            Column::of(rounds.iter().filter_map(|values| values[measure]).collect())
        });
        let mut kind = Kind { rounds, columns, oddness: Vec::new() };
        let known = kind.rounds.iter().filter(|values| values.iter().any(Option::is_some));
        kind.oddness = known.map(|values| kind.oddness_of(values)).collect();
        kind.oddness.sort_by(f64::total_cmp);
        kind
    }

    /// Of a round among these, by its oddest measure.
    fn oddness_of(&self, values: &Values) -> f64 {
        let measured = self.columns.iter().zip(values);
        let each = measured.filter_map(|(column, value)| Some(column.oddness((*value)?)));
        each.fold(0.0, f64::max)
    }

    fn meant(&self, round: &KnownRound<'_>, values: &Values) -> Meant {
        let (own, rounds) = (self.oddness_of(values), self.oddness.len());
        let as_odd = rounds - self.oddness.partition_point(|one| *one < own);
        let enough = 1.0 / rounds as f64 <= UNLIKE && values.iter().any(Option::is_some);
        let chance = enough.then(|| as_odd as f64 / rounds as f64);
        let mut evidence: Vec<(f64, Evidence)> = (Measure::ALL.into_iter().zip(&self.columns))
            .zip(values)
            .filter_map(|((measure, column), value)| {
                let value = (*value)?;
                let evidence = Evidence { measure, value, others: column.others(value) };
                Some((column.oddness(value), evidence))
            })
            .collect();
        evidence.sort_by(|one, other| other.0.total_cmp(&one.0));
        let pinned = values[Measure::Pinned as usize];
        let even = values[Measure::GiveAndTake as usize];
        let reading = match chance {
            _ if round.kind == RoundKind::Flow && pinned.is_some_and(|share| share > 0.5) => {
                Reading::MostlyPins
            }
            _ if round.kind == RoundKind::Flow && even.is_some_and(|even| even < ONE_SIDED) => {
                Reading::OneSided
            }
            None => Reading::NothingToCompare,
            Some(chance) if chance <= UNLIKE => Reading::Unlike,
            Some(_) => Reading::Alike,
        };
        Meant {
            kind: round.kind,
            reading,
            chance,
            evidence: evidence.into_iter().map(|(_, evidence)| evidence).collect(),
            confirmed: confirmed(round),
        }
    }
}

/// What an academy's rounds of each kind are like.
#[derive(Clone, Debug, Default)]
pub struct KindNorms {
    kinds: HashMap<RoundKind, Kind>,
    /// Of every round, which one of its kind it is.
    among: Vec<(RoundKind, usize)>,
}

impl KindNorms {
    /// Measures all rounds of an academy once: every round of it is then read in a moment. Linear
    /// in spells and events, and n log n in rounds.
    #[must_use]
    pub fn of(rounds: &[KnownRound<'_>]) -> KindNorms {
        let mut measured: HashMap<RoundKind, Vec<Values>> = HashMap::new();
        let mut among = Vec::with_capacity(rounds.len());
        for round in rounds {
            let of_kind = measured.entry(round.kind).or_default();
            among.push((round.kind, of_kind.len()));
            of_kind.push(values(round));
        }
        let kinds = measured.into_iter().map(|(kind, rounds)| (kind, Kind::of(rounds))).collect();
        KindNorms { kinds, among }
    }

    /// Reads one of these rounds beside the others of its kind; `at` is where it stood among those
    /// that the norms are made of. Another round is read by [`meant`].
    #[must_use]
    pub fn meant(&self, at: usize, round: &KnownRound<'_>) -> Meant {
        let of_kind = self.among.get(at).filter(|(kind, _)| *kind == round.kind);
        let found = of_kind.and_then(|(kind, at)| Some((self.kinds.get(kind)?, *at)));
        match found {
            Some((kind, at)) => kind.meant(round, &kind.rounds[at]),
            None => meant(round, self),
        }
    }
}

/// Reads a round beside the rounds of its kind that the norms are made of, which must not be among
/// them ([`KindNorms::meant`] is for those). Takes as long as to make the norms of its kind anew.
///
/// `Unlike` comes up in at most one of twenty rounds where all are alike, and is a reason to look,
/// no verdict.
#[must_use]
pub fn meant(round: &KnownRound<'_>, norms: &KindNorms) -> Meant {
    let own = values(round);
    let kind = norms.kinds.get(&round.kind);
    let mut rounds = kind.map_or_else(Vec::new, |kind| kind.rounds.clone());
    rounds.push(own);
    Kind::of(rounds).meant(round, &own)
}

/// Share of a round's expected time that a person told or confirmed, 0 to 1.
fn confirmed(round: &KnownRound<'_>) -> f64 {
    let mut time = crate::figure::Tally::default();
    for stretch in Lived::new(round, Athlete::First).rolled() {
        time.add(stretch.expected(), stretch.confirmed);
    }
    time.confirmed()
}

/// Quantile of sorted values, by linear interpolation between ranks (type 7); values must not be
/// empty.
pub(crate) fn quantile(sorted: &[f64], share: f64) -> f64 {
    quantile_of(sorted.len(), |rank| sorted[rank], share)
}

fn quantile_of(count: usize, at: impl Fn(usize) -> f64, share: f64) -> f64 {
    let rank = share * (count - 1) as f64;
    let below = rank.floor() as usize;
    let above = (below + 1).min(count - 1);
    at(below) + (rank - below as f64) * (at(above) - at(below))
}
