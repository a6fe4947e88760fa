//! What stays the same from decode to decode: states, arcs, durations.

use super::lines::Factors;
use super::scaled::Scaled;
use thiserror::Error;

/// An allowed change from a segment in one state to the next segment. Its id is its place in
/// [`Model::arcs`]. Parallel arcs and arcs from a state to itself are allowed.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Arc {
    /// State of the segment that ends.
    pub from: usize,
    /// State of the segment that begins.
    pub to: usize,
}

/// How the last segment is weighed, since nobody saw it end.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Ending {
    /// The last segment ends exactly with the last bin: weighed by [`Durations::exactly`].
    Exact,
    /// The last segment is cut off by the end: weighed by [`Durations::at_least`].
    CutOff,
}

/// Log weights of the durations of segments in one state, in bins.
#[derive(Clone, Copy, Debug)]
pub struct Durations<'a> {
    /// Entry `d - 1` is the weight of a segment of exactly `d` bins, for `d = 1 ..= D`.
    pub exactly: &'a [f64],
    /// Entry `d - 1` is the weight of a last segment that has lasted `d` bins when the end cuts it
    /// off: for probabilities, ln P(duration ≥ d). As long as `exactly` under [`Ending::CutOff`];
    /// not read under [`Ending::Exact`].
    pub at_least: &'a [f64],
    /// What every bin beyond `D` adds, to both weights: the weight of `D + n` bins is
    /// `exactly[D - 1] + n * tail`. Minus infinity: no segment is longer than `D`. For a geometric
    /// tail with chance `q` of going on, ln q; the matching last entries are ln p and
    /// ln(p / (1 - q)).
    pub tail: f64,
}

/// A semi-Markov model, borrowed; states are `0 .. initial.len()`.
#[derive(Clone, Copy, Debug)]
pub struct Model<'a> {
    /// Log weight of the first segment being in each state.
    pub initial: &'a [f64],
    /// The allowed transitions.
    pub arcs: &'a [Arc],
    /// Duration weights of each state.
    pub durations: &'a [Durations<'a>],
    /// How the last segment is weighed.
    pub ending: Ending,
}

/// Why a [`Model`] makes no sense.
#[derive(Clone, Copy, Debug, Error, PartialEq, Eq)]
pub enum ModelError {
    /// There is no state.
    #[error("the model has no state")]
    NoStates,
    /// There are more than 2³² - 2 states or arcs.
    #[error("the model has too many states or arcs")]
    TooLarge,
    /// One table of durations per state is needed.
    #[error("{durations} tables of durations for {states} states")]
    DurationTables {
        /// Number of states.
        states: usize,
        /// Number of tables.
        durations: usize,
    },
    /// A state allows no duration at all, or its two tables differ in length.
    #[error("state {state}: {exactly} weights of exact durations, {at_least} of cut-off ones")]
    DurationLengths {
        /// The state.
        state: usize,
        /// Length of the table of exact durations.
        exactly: usize,
        /// Length of the table of cut-off durations.
        at_least: usize,
    },
    /// An arc leaves or enters a state that does not exist.
    #[error("arc {arc} names a state that does not exist")]
    ArcState {
        /// The arc's id.
        arc: usize,
    },
    /// A weight is neither minus infinity nor of magnitude up to 10⁹.
    #[error("a weight of state {state} is neither minus infinity nor within 1e9 of zero")]
    Weight {
        /// The state.
        state: usize,
    },
}

/// Duration tables of one state, ready for the inner loops.
#[derive(Clone, Debug)]
pub(super) struct DurationTable {
    /// Log weights; entry `d - 1` for exactly `d` bins.
    pub(super) exactly: Vec<f64>,
    /// The same, longest first.
    pub(super) reversed: Vec<f64>,
    /// Log weights; entry `d - 1` for a last segment of `d` bins.
    pub(super) last: Vec<f64>,
    /// Added per bin beyond the tables.
    pub(super) tail: f64,
    /// The same four as weights.
    pub(super) factors: DurationFactors,
}

/// Duration weights out of log space.
#[derive(Clone, Debug)]
pub(super) struct DurationFactors {
    pub(super) exactly: Factors,
    pub(super) reversed: Factors,
    pub(super) last: Vec<Scaled>,
    pub(super) longest: Scaled,
    pub(super) tail: Scaled,
}

impl DurationFactors {
    /// Weight of a last segment of `d` bins, given that of one of `d - 1`.
    pub(super) fn last(&self, d: usize, one_less: Scaled) -> Scaled {
        self.last.get(d - 1).copied().unwrap_or_else(|| one_less.times(self.tail))
    }
}

impl DurationTable {
    /// Log weight of a last segment of `d` bins.
    pub(super) fn last(&self, d: usize) -> f64 {
        match self.last.get(d.wrapping_sub(1)) {
            Some(&weight) => weight,
            None => {
                let longest = self.last.len();
                self.last[longest - 1] + (d - longest) as f64 * self.tail
            }
        }
    }

    /// Number of tabulated durations.
    pub(super) fn len(&self) -> usize {
        self.exactly.len()
    }

    /// Log weight of a segment of exactly the longest tabulated duration.
    pub(super) fn longest(&self) -> f64 {
        self.reversed[0]
    }
}

/// One end of an arc.
#[derive(Clone, Copy, Debug, Default)]
pub(super) struct ArcEnd {
    pub(super) arc: u32,
    pub(super) state: u32,
}

impl ArcEnd {
    /// The entry of a row with one entry per arc.
    pub(super) fn of_arc<T: Copy>(self, row: &[T]) -> T {
        row[self.arc as usize]
    }

    /// The entry of a row with one entry per state.
    pub(super) fn of_state<T: Copy>(self, row: &[T]) -> T {
        row[self.state as usize]
    }
}

/// Arcs sorted by one of their ends.
#[derive(Clone, Debug)]
pub(super) struct ArcsByState {
    starts: Vec<usize>,
    arcs: Vec<ArcEnd>,
}

impl ArcsByState {
    fn new(states: usize, ends: impl Iterator<Item = (usize, usize)> + Clone) -> Self {
        let mut starts = vec![0; states + 1];
        for (key, _) in ends.clone() {
            starts[key + 1] += 1;
        }
        for state in 0..states {
            starts[state + 1] += starts[state];
        }
        let mut next = starts.clone();
        let mut arcs = vec![ArcEnd::default(); starts[states]];
        for (arc, (key, other)) in ends.enumerate() {
            arcs[next[key]] = ArcEnd { arc: arc as u32, state: other as u32 };
            next[key] += 1;
        }
        ArcsByState { starts, arcs }
    }

    /// The other ends of the arcs at this state, by arc id.
    pub(super) fn at(&self, state: usize) -> &[ArcEnd] {
        &self.arcs[self.starts[state]..self.starts[state + 1]]
    }
}

/// A checked [`Model`], compiled for decoding; made once, used for many decodes.
#[derive(Clone, Debug)]
pub struct Lattice {
    pub(super) initial: Vec<f64>,
    pub(super) arcs: Vec<Arc>,
    pub(super) into: ArcsByState,
    pub(super) out_of: ArcsByState,
    pub(super) durations: Vec<DurationTable>,
}

impl Lattice {
    /// Checks and compiles a model.
    ///
    /// # Errors
    /// [`ModelError`] when table sizes do not fit together, an arc names a missing state, or a
    /// weight is neither minus infinity nor of magnitude up to 10⁹.
    pub fn new(model: &Model<'_>) -> Result<Self, ModelError> {
        let states = model.initial.len();
        if states == 0 {
            return Err(ModelError::NoStates);
        }
        if states.max(model.arcs.len()) >= u32::MAX as usize {
            return Err(ModelError::TooLarge);
        }
        if model.durations.len() != states {
            return Err(ModelError::DurationTables { states, durations: model.durations.len() });
        }
        if let Some(state) = model.initial.iter().position(|&weight| !is_log_weight(weight)) {
            return Err(ModelError::Weight { state });
        }
        if let Some(arc) = model.arcs.iter().position(|arc| arc.from >= states || arc.to >= states)
        {
            return Err(ModelError::ArcState { arc });
        }
        let durations = model
            .durations
            .iter()
            .enumerate()
            .map(|(state, table)| compile_durations(state, table, model.ending))
            .collect::<Result<_, _>>()?;
        let ends = model.arcs.iter();
        Ok(Lattice {
            initial: model.initial.to_vec(),
            arcs: model.arcs.to_vec(),
            into: ArcsByState::new(states, ends.clone().map(|arc| (arc.to, arc.from))),
            out_of: ArcsByState::new(states, ends.map(|arc| (arc.from, arc.to))),
            durations,
        })
    }

    /// Number of states.
    #[must_use]
    pub fn states(&self) -> usize {
        self.initial.len()
    }

    /// The arcs, by id.
    #[must_use]
    pub fn arcs(&self) -> &[Arc] {
        &self.arcs
    }
}

/// Largest magnitude of a finite log weight. It bounds the exponents of [`Scaled`] far from
/// overflow, and no sum of weights so large would have a decimal place left.
const LARGEST: f64 = 1e9;

/// Whether a number can be a log weight: minus infinity, or of magnitude up to 10⁹.
pub(super) fn is_log_weight(weight: f64) -> bool {
    // Not short-circuited, so that checking a row is a few instructions per entry.
    (weight.abs() <= LARGEST) | (weight == f64::NEG_INFINITY)
}

fn compile_durations(
    state: usize,
    table: &Durations<'_>,
    ending: Ending,
) -> Result<DurationTable, ModelError> {
    let last = match ending {
        Ending::Exact => table.exactly,
        Ending::CutOff => table.at_least,
    };
    if table.exactly.is_empty() || last.len() != table.exactly.len() {
        return Err(ModelError::DurationLengths {
            state,
            exactly: table.exactly.len(),
            at_least: last.len(),
        });
    }
    let mut weights = table.exactly.iter().chain(last).chain([&table.tail]);
    if !weights.all(|&weight| is_log_weight(weight)) {
        return Err(ModelError::Weight { state });
    }
    let (exactly, reversed) = (table.exactly.iter(), table.exactly.iter().rev());
    let factors = DurationFactors {
        exactly: Factors::new(exactly.copied()),
        reversed: Factors::new(reversed.clone().copied()),
        last: last.iter().copied().map(Scaled::exp).collect(),
        longest: Scaled::exp(table.exactly[table.exactly.len() - 1]),
        tail: Scaled::exp(table.tail),
    };
    Ok(DurationTable {
        exactly: table.exactly.to_vec(),
        reversed: reversed.copied().collect(),
        last: last.to_vec(),
        tail: table.tail,
        factors,
    })
}
