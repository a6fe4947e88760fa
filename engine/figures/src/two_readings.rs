//! Two ledgers of the same round compared: coach against coach, or coach against what was
//! understood from the talk.

use std::collections::{BTreeMap, BTreeSet};

use academy::{Athlete, Ledger, Position, Span, Time};

use crate::agreement::{Agreement, AgreementTable};
use crate::distributions::student_quantile;
use crate::interval::{Estimate, Interval, Level};
use crate::ratio::{Cluster, ratio};
use crate::stretch::is_blank;

/// What a reader says about a moment.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Said {
    /// The position.
    pub position: Position,
    /// Who is on top; nobody where the position has no top.
    pub top: Option<Athlete>,
}

/// Seconds by what the first and the second reader said, as indices of categories.
type Seconds = BTreeMap<(usize, usize), f64>;

impl Said {
    /// A number of its own; without the top, that of the position.
    fn category(self, with_top: bool) -> usize {
        let top = self.top.filter(|_| with_top).map_or(0, |top| top.index() + 1);
        let all = Position::ALL.iter();
        let position = all.take_while(|position| **position != self.position).count();
        position * 3 + top
    }
}

/// How much two readers agree.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Agreed {
    /// Share of the seconds compared on which they say the same, 0 to 1.
    pub share: Estimate,
    /// Cohen's kappa ([`AgreementTable::kappa`]); nothing where both say one and the same thing all
    /// along.
    pub kappa: Option<Estimate>,
    /// Gwet's AC1 ([`AgreementTable::ac1`]) over the categories that either of them used.
    pub ac1: Estimate,
}

/// How well stretches are found again. The first reading is taken as the true one: a stretch of the
/// second is found where its overlap (seconds in both over seconds in either) with the true stretch
/// of the same position and top that it overlaps most is enough, and no stretch before had that
/// one (Lea, Flynn, Vidal, Reiter and Hager 2017, *CVPR*).
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Found {
    /// How much overlap is enough, 0 to 1.
    pub overlap: f64,
    /// Stretches of the second reading that are found.
    pub found: usize,
    /// Those that are not.
    pub extra: usize,
    /// Stretches of the first reading that none was found for.
    pub missed: usize,
}

impl Found {
    /// F1, 2 found / (2 found + extra + missed), 0 to 1; 1 where there is nothing at all.
    #[must_use]
    pub fn f1(self) -> f64 {
        let twice = 2 * self.found;
        let all = twice + self.extra + self.missed;
        if all == 0 { 1.0 } else { twice as f64 / all as f64 }
    }
}

/// The overlaps that are usually given.
pub const OVERLAPS: [f64; 3] = [0.1, 0.25, 0.5];

/// A stretch of time about which two readers say different things.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Disagreement {
    /// When.
    pub span: Span,
    /// What the first says.
    pub first: Said,
    /// What the second says.
    pub second: Said,
}

/// Two readings of one round.
#[derive(Clone, Debug, PartialEq)]
pub struct TwoReadings {
    /// Seconds compared: of the common part, what both know.
    pub compared: f64,
    /// Seconds of the common part left out since one of them is blank there ([`is_blank`]).
    pub left_out: f64,
    /// Seconds by which one reading is longer than the other; these are not compared either.
    pub beyond: f64,
    /// Whether they say the same position.
    pub position: Option<Agreed>,
    /// Whether they say the same position and the same one on top; nothing without time compared.
    pub position_and_top: Option<Agreed>,
    /// Stretches found again, at each of [`OVERLAPS`].
    pub stretches: [Found; 3],
    /// Where they disagree, longest first.
    pub disagreements: Vec<Disagreement>,
    by_position: Seconds,
    by_both: Seconds,
}

/// A stretch of time in which neither reading changes.
struct Piece {
    span: Span,
    said: [Said; 2],
}

/// Compares two readings second by second, in exact times and not in samples of them. A guess counts
/// as what it says, however sure it is.
///
/// Limits take every second for a trial of its own. Seconds of one round hang together, so these
/// limits are too narrow; [`over_rounds`] has honest ones, from several rounds.
#[must_use]
pub fn two_readings(first: &Ledger, second: &Ledger) -> TwoReadings {
    let common = first.end().min(second.end());
    let pieces = pieces(first, second);
    let (mut by_position, mut by_both) = (Seconds::new(), Seconds::new());
    for piece in &pieces {
        for (seconds, with_top) in [(&mut by_position, false), (&mut by_both, true)] {
            let said = piece.said.map(|said| said.category(with_top));
            *seconds.entry((said[0], said[1])).or_default() += piece.span.seconds();
        }
    }
    let compared: u64 = pieces.iter().map(|piece| piece.span.millis()).sum();
    let runs = [0, 1].map(|reader| runs(&pieces, reader));
    TwoReadings {
        compared: Time::from_millis(compared).seconds(),
        left_out: Time::from_millis(common.millis() - compared).seconds(),
        beyond: Time::from_millis(first.end().distance(second.end())).seconds(),
        position: agreed(&by_position),
        position_and_top: agreed(&by_both),
        stretches: OVERLAPS.map(|overlap| found(&runs[0], &runs[1], overlap)),
        disagreements: disagreements(&pieces),
        by_position,
        by_both,
    }
}

fn pieces(first: &Ledger, second: &Ledger) -> Vec<Piece> {
    let spells = [first.spells(), second.spells()];
    let (mut at, mut start) = ([0, 0], Time::ZERO);
    let mut pieces = Vec::new();
    while let (Some(one), Some(other)) = (spells[0].get(at[0]), spells[1].get(at[1])) {
        let end = one.span.end().min(other.span.end());
        if !is_blank(one) && !is_blank(other) {
            let said = [one, other].map(|spell| Said { position: spell.position, top: spell.top });
            pieces.push(Piece { span: Span::between(start, end), said });
        }
        at[0] += usize::from(one.span.end() == end);
        at[1] += usize::from(other.span.end() == end);
        start = end;
    }
    pieces
}

/// Stretches of one reader within what is compared; what is left out parts them.
fn runs(pieces: &[Piece], reader: usize) -> Vec<(Span, Said)> {
    let mut runs: Vec<(Span, Said)> = Vec::new();
    for piece in pieces {
        let said = piece.said[reader];
        match runs.last_mut() {
            Some((span, last)) if *last == said && span.end() == piece.span.start() => {
                *span = Span::between(span.start(), piece.span.end());
            }
            _ => runs.push((piece.span, said)),
        }
    }
    runs
}

fn found(truth: &[(Span, Said)], guess: &[(Span, Said)], overlap: f64) -> Found {
    let mut taken = vec![false; truth.len()];
    let mut found = 0;
    for (span, said) in guess {
        let same = truth.iter().enumerate().filter(|(_, (_, true_said))| true_said == said);
        let overlaps = same.map(|(at, (true_span, _))| (at, shared(*span, *true_span)));
        // The first of equals, as the published code has it.
        let best = overlaps.fold(None, |best: Option<(usize, f64)>, one| match best {
            Some(best) if best.1 >= one.1 => Some(best),
            _ => Some(one),
        });
        if let Some((at, share)) = best
            && share >= overlap
            && !taken[at]
        {
            taken[at] = true;
            found += 1;
        }
    }
    Found { overlap, found, extra: guess.len() - found, missed: truth.len() - found }
}

/// Time in both over time in either.
fn shared(one: Span, other: Span) -> f64 {
    let (start, end) = (one.start().max(other.start()), one.end().min(other.end()));
    let both = Span::new(start, end).map_or(0, Span::millis);
    both as f64 / (one.millis() + other.millis() - both) as f64
}

fn disagreements(pieces: &[Piece]) -> Vec<Disagreement> {
    let mut found: Vec<Disagreement> = Vec::new();
    for Piece { span, said: [first, second] } in pieces {
        if first == second {
            continue;
        }
        match found.last_mut() {
            Some(last)
                if (last.first, last.second) == (*first, *second)
                    && last.span.end() == span.start() =>
            {
                last.span = Span::between(last.span.start(), span.end());
            }
            _ => found.push(Disagreement { span: *span, first: *first, second: *second }),
        }
    }
    found.sort_by_key(|one| (std::cmp::Reverse(one.span.millis()), one.span.start()));
    found
}

/// Seconds as a table over the categories that either used, two at least.
fn table(seconds: &Seconds) -> Option<AgreementTable> {
    let used: BTreeSet<usize> = seconds.keys().flat_map(|(one, other)| [*one, *other]).collect();
    let used: Vec<usize> = used.into_iter().collect();
    let size = used.len().max(2);
    let mut counts = vec![vec![0.0; size]; size];
    for ((one, other), seconds) in seconds {
        if let (Ok(row), Ok(column)) = (used.binary_search(one), used.binary_search(other)) {
            counts[row][column] = *seconds;
        }
    }
    AgreementTable::new(&counts).ok()
}

fn agreed(seconds: &Seconds) -> Option<Agreed> {
    let table = table(seconds)?;
    let estimate = |one: Agreement| Estimate { value: one.value, interval: one.interval };
    Some(Agreed {
        share: table.share(Level::NINETY_FIVE),
        kappa: table.kappa(Level::NINETY_FIVE).ok().map(estimate),
        ac1: estimate(table.ac1(Level::NINETY_FIVE)),
    })
}

/// Two readers over several rounds.
#[derive(Clone, Debug, PartialEq)]
pub struct OverRounds {
    /// How many rounds had anything to compare.
    pub rounds: usize,
    /// Seconds compared.
    pub compared: f64,
    /// Whether they say the same position.
    pub position: Agreed,
    /// Whether they say the same position and the same one on top.
    pub position_and_top: Agreed,
    /// Stretches found again in all rounds together, at each of [`OVERLAPS`].
    pub stretches: [Found; 3],
}

/// Two readers over several rounds, all seconds together, with limits that take rounds and not
/// seconds as what is drawn: those of the share are of a ratio with rounds as clusters ([`ratio`]),
/// those of kappa and AC1 of the jackknife (Tukey 1958, *Ann. Math. Stat.* 29:614), which leaves out
/// one round after the other, with Student's quantile. Nothing for fewer than two rounds.
#[must_use]
pub fn over_rounds(readings: &[TwoReadings]) -> Option<OverRounds> {
    let known: Vec<&TwoReadings> =
        readings.iter().filter(|reading| reading.compared > 0.0).collect();
    let seconds = |of: fn(&TwoReadings) -> &Seconds| known.iter().map(|one| of(one)).collect();
    let mut stretches = OVERLAPS.map(|overlap| Found { overlap, ..Found::default() });
    for (sum, one) in known.iter().flat_map(|one| one.stretches).enumerate() {
        let sum = &mut stretches[sum % OVERLAPS.len()];
        sum.found += one.found;
        sum.extra += one.extra;
        sum.missed += one.missed;
    }
    Some(OverRounds {
        rounds: known.len(),
        compared: known.iter().map(|one| one.compared).sum(),
        position: agreed_over(seconds(|one| &one.by_position))?,
        position_and_top: agreed_over(seconds(|one| &one.by_both))?,
        stretches,
    })
}

fn agreed_over(rounds: Vec<&Seconds>) -> Option<Agreed> {
    let clusters: Vec<Cluster> = (rounds.iter())
        .map(|round| Cluster {
            upper: round.iter().filter(|((one, other), _)| one == other).map(|one| one.1).sum(),
            lower: round.values().sum(),
        })
        .collect();
    let share = ratio(&clusters, Level::NINETY_FIVE)?;
    let without = |left_out: Option<usize>| {
        let mut sum = Seconds::new();
        for (at, round) in rounds.iter().enumerate() {
            if Some(at) != left_out {
                round.iter().for_each(|(said, time)| *sum.entry(*said).or_default() += time);
            }
        }
        agreed(&sum)
    };
    let all = without(None)?;
    let less: Vec<Agreed> = (0..rounds.len()).map(|at| without(Some(at))).collect::<Option<_>>()?;
    let kappas: Option<Vec<f64>> =
        less.iter().map(|one| one.kappa.map(|kappa| kappa.value)).collect();
    let ac1s: Vec<f64> = less.iter().map(|one| one.ac1.value).collect();
    let cut = |limit: f64| limit.clamp(0.0, 1.0);
    let interval = Interval::between(cut(share.interval.low()), cut(share.interval.high()));
    Some(Agreed {
        share: Estimate { interval, ..share },
        kappa: all.kappa.zip(kappas).map(|(kappa, less)| jackknife(kappa.value, &less)),
        ac1: jackknife(all.ac1.value, &ac1s),
    })
}

/// A value with limits from what it is without each of the clusters.
fn jackknife(value: f64, less: &[f64]) -> Estimate {
    let n = less.len() as f64;
    let mean = less.iter().sum::<f64>() / n;
    let squares: f64 = less.iter().map(|one| (one - mean).powi(2)).sum();
    let error = ((n - 1.0) / n * squares).sqrt();
    let half = student_quantile(1.0 - Level::NINETY_FIVE.tail(), n - 1.0) * error;
    let interval = Interval::between((value - half).max(-1.0), (value + half).min(1.0));
    Estimate { value, interval }
}
