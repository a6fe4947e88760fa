//! What changes from decode to decode: the weights of bins and boundaries, and their check.

use super::best_path::BestPathSpace;
use super::forward_backward::PosteriorSpace;
use super::model::{Lattice, is_log_weight};
use thiserror::Error;

/// Log weights of one decode, borrowed, row by row.
#[derive(Clone, Copy, Debug)]
pub struct Weights<'a> {
    /// `T × S`: entry `t * S + s` is the weight of bin `t` lying in a segment of state `s`.
    pub emissions: &'a [f64],
    /// `T × A`: entry `t * A + a` is the weight of taking arc `a` at boundary `t`, that is with its
    /// new segment beginning at bin `t`. Row 0 is not read.
    pub arcs: &'a [f64],
}

/// Why weights could not be decoded.
#[derive(Clone, Copy, Debug, Error, PartialEq, Eq)]
pub enum DecodeError {
    /// There is no bin.
    #[error("there is nothing to decode: no bins")]
    NoBins,
    /// A matrix is not a whole number of rows, or the two differ in their number of rows.
    #[error(
        "{emissions} emission and {arcs} arc weights do not fit {states} states, {model_arcs} arcs"
    )]
    Shape {
        /// Entries of the emission matrix.
        emissions: usize,
        /// Entries of the arc matrix.
        arcs: usize,
        /// States of the model.
        states: usize,
        /// Arcs of the model.
        model_arcs: usize,
    },
    /// A weight is neither minus infinity nor of magnitude up to 10⁹.
    #[error("a weight at bin {bin} is neither minus infinity nor within 1e9 of zero")]
    Weight {
        /// The bin, or the boundary before it.
        bin: usize,
    },
    /// Every segmentation has weight minus infinity.
    #[error("the weights forbid every segmentation")]
    Impossible,
}

/// Memory that decodes reuse: once it has grown to the largest problem, nothing is allocated.
#[derive(Clone, Debug, Default)]
pub struct Workspace {
    pub(super) prepared: Prepared,
    pub(super) best_path: BestPathSpace,
    pub(super) posterior: PosteriorSpace,
}

impl Workspace {
    /// Empty; it grows with use.
    #[must_use]
    pub fn new() -> Self {
        Workspace::default()
    }
}

/// Checked sizes, and where segments may not be.
#[derive(Clone, Debug, Default)]
pub(super) struct Prepared {
    /// Number of bins.
    pub(super) bins: usize,
    /// Number of states.
    states: usize,
    /// Distance between states in state-major arrays of one entry per bin.
    pub(super) stride: usize,
    /// Weight of the heaviest state of every bin. Emissions are taken relative to it, so that
    /// neither a constant nor a long talk costs accuracy.
    pub(super) heaviest: Vec<f64>,
    /// Boundaries with the same row of arc weights as the one before share its number, from 0 on
    /// at boundary 1.
    pub(super) arc_row: Vec<u32>,
    /// Heaviest arc weight of every such row.
    pub(super) heaviest_arc: Vec<f64>,
    /// Time-major: first bin of the stretch without forbidden bins that ends before a boundary.
    free_from: Vec<u32>,
}

impl Prepared {
    /// Checks the matrices.
    pub(super) fn fill(
        &mut self,
        lattice: &Lattice,
        weights: &Weights<'_>,
    ) -> Result<(), DecodeError> {
        let (states, arcs) = (lattice.states(), lattice.arcs.len());
        let bins = weights.emissions.len() / states;
        if weights.emissions.is_empty() {
            return Err(DecodeError::NoBins);
        }
        if weights.emissions.len() != bins * states
            || weights.arcs.len() != bins * arcs
            || bins >= u32::MAX as usize
        {
            return Err(DecodeError::Shape {
                emissions: weights.emissions.len(),
                arcs: weights.arcs.len(),
                states,
                model_arcs: arcs,
            });
        }
        self.arc_row.clear();
        self.arc_row.push(0);
        self.heaviest_arc.clear();
        for bin in 1..bins {
            let row = &weights.arcs[bin * arcs..][..arcs];
            // Most rows are the same as the one before, which was checked.
            if bin == 1 || !same(row, &weights.arcs[(bin - 1) * arcs..][..arcs]) {
                self.heaviest_arc.push(heaviest(row).ok_or(DecodeError::Weight { bin })?);
            }
            self.arc_row.push(self.heaviest_arc.len() as u32 - 1);
        }
        self.bins = bins;
        self.states = states;
        // An odd number of cache lines, so that the same bin of different states does not compete
        // for the same few places of the cache.
        self.stride = (bins.div_ceil(8) | 1) * 8;
        self.free_from.clear();
        self.free_from.resize(states, 0);
        self.heaviest.clear();
        for (bin, row) in weights.emissions.chunks_exact(states).enumerate() {
            let heaviest = heaviest(row).ok_or(DecodeError::Weight { bin })?;
            if heaviest == f64::NEG_INFINITY {
                return Err(DecodeError::Impossible);
            }
            self.heaviest.push(heaviest);
            for (state, &weight) in row.iter().enumerate() {
                self.free_from.push(match weight == f64::NEG_INFINITY {
                    true => bin as u32 + 1,
                    false => self.free_from[bin * states + state],
                });
            }
        }
        Ok(())
    }

    /// What the relative emissions lack: the sum of the heaviest weights.
    pub(super) fn offset(&self) -> f64 {
        self.heaviest.iter().sum()
    }

    /// First bin from which a segment in `state` may reach boundary `t`; `t` if none may.
    pub(super) fn free_from(&self, state: usize, t: usize) -> usize {
        self.free_from[t * self.states + state] as usize
    }

    /// Whether a bin is forbidden to a state.
    pub(super) fn forbids(&self, state: usize, bin: usize) -> bool {
        self.free_from(state, bin + 1) == bin + 1
    }
}

/// Whether two rows hold the same numbers.
fn same(x: &[f64], y: &[f64]) -> bool {
    const LANES: usize = 8;
    let (x, y) = (x.chunks_exact(LANES), y.chunks_exact(LANES));
    let mut rest = x.remainder().iter().zip(y.remainder());
    let mut differs = [false; LANES];
    for (x, y) in x.zip(y) {
        for i in 0..LANES {
            differs[i] |= x[i] != y[i];
        }
    }
    !differs.contains(&true) && rest.all(|(x, y)| x == y)
}

/// The largest of some log weights, minus infinity of none; nothing if one is no log weight.
fn heaviest(row: &[f64]) -> Option<f64> {
    const LANES: usize = 8;
    let mut largest = [f64::NEG_INFINITY; LANES];
    let mut wrong = [false; LANES];
    let chunks = row.chunks_exact(LANES);
    let rest = chunks.remainder();
    for chunk in chunks {
        for i in 0..LANES {
            largest[i] = if chunk[i] > largest[i] { chunk[i] } else { largest[i] };
            wrong[i] |= !is_log_weight(chunk[i]);
        }
    }
    if wrong.contains(&true) || !rest.iter().copied().all(is_log_weight) {
        return None;
    }
    Some(largest.iter().chain(rest).copied().fold(f64::NEG_INFINITY, f64::max))
}

/// Sets the length and every entry without giving memory back.
pub(super) fn resize<T: Copy>(entries: &mut Vec<T>, length: usize, value: T) {
    entries.clear();
    entries.resize(length, value);
}
