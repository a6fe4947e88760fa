//! An exact explicit-duration hidden semi-Markov decoder. Mathematics only: states are indices.
//!
//! Time is cut into `T` bins of equal length. A *segmentation* tiles the bins with segments, each
//! in one state; between two neighbouring segments an *arc* is taken at the *boundary* between
//! their bins (boundary `t` lies between bin `t - 1` and bin `t`). The log weight of a
//! segmentation is the sum of
//!
//! - the initial weight of its first state,
//! - the weight of every bin in the state of its segment (`emissions`),
//! - the weight of every arc taken at its boundary (weights may differ from boundary to boundary),
//! - the duration weight of every segment but the last, and of the last by [`Ending`].
//!
//! Weights need not be probabilities; minus infinity forbids. [`Lattice::posterior`] sums over all
//! segmentations, [`Lattice::best_path`] finds the heaviest; both are exact and take
//! `O(T · (S · D + A))` steps for `S` states, `D` tabulated durations and `A` arcs. Durations are
//! unbounded: past its table a state's weight changes by a constant per bin.
//!
//! Sources: the explicit-duration recursions are those of L. R. Rabiner, "A tutorial on hidden
//! Markov models and selected applications in speech recognition", Proc. IEEE 77 (1989), section
//! IV.D, and S.-Z. Yu, "Hidden semi-Markov models", Artificial Intelligence 174 (2010). The two
//! conventions for the last segment are discussed by Y. Guédon, "Estimating hidden semi-Markov
//! chains from discrete sequences", J. Comput. Graph. Stat. 12 (2003).
//!
//! Reading order: [`Model`] and [`Lattice`], [`Weights`], [`Posterior`], [`Path`], [`MarkovChain`].

mod arc_rows;
mod best_path;
mod forward_backward;
mod lanes;
mod lines;
mod markov_chain;
mod model;
mod prepared;
mod scaled;

pub use best_path::{ArcGain, Path, Segment};
pub use forward_backward::Posterior;
pub use markov_chain::MarkovChain;
pub use model::{Arc, Durations, Ending, Lattice, Model, ModelError};
pub use prepared::{DecodeError, Weights, Workspace};
