//! What changes from decode to decode: the weights of bins and boundaries, and their check.

use super::best_path::BestPathSpace;
use super::forward_backward::{Posterior, PosteriorSpace};
use super::lanes::heaviest;
use super::model::Lattice;
use thiserror::Error;

/// Log weights of one decode, borrowed, row by row.
#[derive(Clone, Copy, Debug)]
pub struct Weights<'a> {
    /// `T × S`: entry `t * S + s` is the weight of bin `t` lying in a segment of state `s`.
    pub emissions: &'a [f64],
    /// `T × A`: entry `t * A + a` is the weight of taking arc `a` at boundary `t`, that is with its
    /// new segment beginning at bin `t`. Row 0 is not read.
    pub arcs: &'a [f64],
    /// What every one of these weights is multiplied by, more than 0: one over a temperature.
    pub scale: f64,
}

impl<'a> Weights<'a> {
    /// Weights that count as they are.
    #[must_use]
    pub fn new(emissions: &'a [f64], arcs: &'a [f64]) -> Self {
        Weights { emissions, arcs, scale: 1.0 }
    }
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
    /// The scale is not more than 0 and at most 1000.
    #[error("the scale of the weights is not more than 0 and at most 1000")]
    Scale,
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
    spare: Option<Posterior>,
}

impl Workspace {
    /// Empty; it grows with use.
    #[must_use]
    pub fn new() -> Self {
        Workspace::default()
    }

    /// A posterior to be filled: the one kept last, if any.
    #[must_use]
    pub fn spare_posterior(&mut self) -> Posterior {
        self.spare.take().unwrap_or_default()
    }

    /// Keeps a posterior that is needed no more, for its memory.
    pub fn keep(&mut self, posterior: Posterior) {
        self.spare = Some(posterior);
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
    /// Heaviest arc weight of every boundary.
    pub(super) heaviest_arc: Vec<f64>,
    /// What the relative emissions lack: the sum of the heaviest weights, scaled.
    pub(super) offset: f64,
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
        let bins = bins(lattice, weights.emissions.len(), weights.arcs.len())?;
        if !(weights.scale > 0.0 && weights.scale <= LARGEST_SCALE) {
            return Err(DecodeError::Scale);
        }
        let arcs = lattice.arcs.len();
        self.heaviest_arc.clear();
        self.heaviest_arc.push(f64::NEG_INFINITY);
        for bin in 1..bins {
            let heaviest = heaviest(&weights.arcs[bin * arcs..][..arcs]);
            self.heaviest_arc.push(heaviest.ok_or(DecodeError::Weight { bin })?);
        }
        self.fill_emissions(lattice, weights.emissions, weights.scale)
    }

    /// Checks emissions that have the right size.
    pub(super) fn fill_emissions(
        &mut self,
        lattice: &Lattice,
        emissions: &[f64],
        scale: f64,
    ) -> Result<(), DecodeError> {
        self.states = lattice.states();
        self.bins = emissions.len() / self.states;
        // An odd number of cache lines, so that the same bin of different states does not compete
        // for the same few places of the cache.
        self.stride = (self.bins.div_ceil(8) | 1) * 8;
        self.free_from.clear();
        self.free_from.resize(self.states, 0);
        self.heaviest.clear();
        for (bin, row) in emissions.chunks_exact(self.states).enumerate() {
            let heaviest = heaviest(row).ok_or(DecodeError::Weight { bin })?;
            if heaviest == f64::NEG_INFINITY {
                return Err(DecodeError::Impossible);
            }
            self.heaviest.push(heaviest);
            for (state, &weight) in row.iter().enumerate() {
                self.free_from.push(match weight == f64::NEG_INFINITY {
                    true => bin as u32 + 1,
                    false => self.free_from[bin * self.states + state],
                });
            }
        }
        self.offset = self.heaviest.iter().sum::<f64>() * scale;
        Ok(())
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

/// The number of bins of matrices with so many entries.
fn bins(lattice: &Lattice, emissions: usize, arcs: usize) -> Result<usize, DecodeError> {
    let (states, model_arcs) = (lattice.states(), lattice.arcs.len());
    let bins = emissions / states;
    if emissions == 0 {
        return Err(DecodeError::NoBins);
    }
    if emissions != bins * states || arcs != bins * model_arcs || bins >= u32::MAX as usize {
        return Err(DecodeError::Shape { emissions, arcs, states, model_arcs });
    }
    Ok(bins)
}

/// Scales beyond this are a mistake, and bound the exponents of [`Scaled`](super::scaled::Scaled).
const LARGEST_SCALE: f64 = 1000.0;

/// Sets the length and every entry without giving memory back.
pub(super) fn resize<T: Copy>(entries: &mut Vec<T>, length: usize, value: T) {
    entries.clear();
    entries.resize(length, value);
}
