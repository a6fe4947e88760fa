//! What changes from decode to decode: the weights of bins and boundaries, checked and summed up.

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
    /// A weight is not a number or plus infinity.
    #[error("a weight at bin {bin} is not a number or plus infinity")]
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
    /// State-major: weight of beginning a segment at a bin, less the prefix sum of the emissions.
    pub(super) begun: Vec<f64>,
    /// State-major: weight of what follows a segment that ends at a boundary, plus the prefix sum.
    pub(super) ended: Vec<f64>,
    /// Time-major: weight of all up to a boundary at which a segment ends.
    pub(super) up_to: Vec<f64>,
    /// One number per state.
    pub(super) row: Vec<f64>,
    /// One running tail per state.
    pub(super) tails: Vec<f64>,
    /// One bin per state.
    pub(super) free: Vec<usize>,
    /// Arc taken into each state at each boundary (best path).
    pub(super) arc_in: Vec<u32>,
    /// Begin of the best segment longer than the table, by state and boundary (best path).
    pub(super) tail_begin: Vec<u32>,
    /// Running begin of the best long segment per state (best path).
    pub(super) tail_begins: Vec<u32>,
}

impl Workspace {
    /// Empty; it grows with use.
    #[must_use]
    pub fn new() -> Self {
        Workspace::default()
    }
}

/// Prefix sums of the emissions, each bin relative to its heaviest state.
#[derive(Clone, Debug, Default)]
pub(super) struct Prepared {
    /// Number of bins.
    pub(super) bins: usize,
    /// Distance between states in state-major arrays of `bins + 1` entries.
    pub(super) stride: usize,
    /// State-major: `prefix[s * stride + t]` sums the bins before `t`, forbidden ones as 0.
    pub(super) prefix: Vec<f64>,
    /// State-major: first bin of the stretch without forbidden bins that ends before `t`.
    pub(super) free_from: Vec<u32>,
    /// Sum over bins of the weight of the heaviest state.
    pub(super) offset: f64,
}

impl Prepared {
    /// Checks the matrices and sums the emissions.
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
        if arcs > 0
            && let Some(place) = weights.arcs[arcs..].iter().position(|&w| !is_log_weight(w))
        {
            return Err(DecodeError::Weight { bin: place / arcs + 1 });
        }
        self.bins = bins;
        // An odd number of cache lines, so that the same bin of different states does not compete
        // for the same few places of the cache.
        self.stride = ((bins + 1).div_ceil(8) | 1) * 8;
        resize(&mut self.prefix, states * self.stride, 0.0);
        resize(&mut self.free_from, states * self.stride, 0);
        self.offset = 0.0;
        for (bin, row) in weights.emissions.chunks_exact(states).enumerate() {
            if !row.iter().all(|&weight| is_log_weight(weight)) {
                return Err(DecodeError::Weight { bin });
            }
            let heaviest = row.iter().copied().fold(f64::NEG_INFINITY, f64::max);
            if heaviest == f64::NEG_INFINITY {
                return Err(DecodeError::Impossible);
            }
            self.offset += heaviest;
            for (state, &weight) in row.iter().enumerate() {
                let at = state * self.stride + bin;
                if weight == f64::NEG_INFINITY {
                    self.prefix[at + 1] = self.prefix[at];
                    self.free_from[at + 1] = bin as u32 + 1;
                } else {
                    self.prefix[at + 1] = self.prefix[at] + (weight - heaviest);
                    self.free_from[at + 1] = self.free_from[at];
                }
            }
        }
        Ok(())
    }

    /// First bin from which a segment in `state` may reach boundary `t`; `t` if none may.
    pub(super) fn free_from(&self, state: usize, t: usize) -> usize {
        self.free_from[state * self.stride + t] as usize
    }

    /// Whether a bin is forbidden to a state.
    pub(super) fn forbids(&self, state: usize, bin: usize) -> bool {
        self.free_from(state, bin + 1) == bin + 1
    }
}

/// Sets the length and every entry without giving memory back.
pub(super) fn resize<T: Copy>(entries: &mut Vec<T>, length: usize, value: T) {
    entries.clear();
    entries.resize(length, value);
}
