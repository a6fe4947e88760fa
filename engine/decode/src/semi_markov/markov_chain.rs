//! The plain first-order hidden Markov model as a special case.

use super::model::{Arc, Durations, Ending, Lattice, Model, ModelError};

/// A first-order chain written as a semi-Markov model: a stay of `d` bins weighs `d - 1` times
/// the weight of staying, so its durations are geometric.
#[derive(Clone, Debug)]
pub struct MarkovChain {
    lattice: Lattice,
    arc_row: Vec<f64>,
}

impl MarkovChain {
    /// From log weights: of starting in each state, and `S × S` of going from the state of the row
    /// to the state of the column in one bin.
    ///
    /// # Errors
    /// [`ModelError`] when the matrix is not square with one row per state
    /// ([`ModelError::DurationTables`]) or a weight is no log weight.
    pub fn new(initial: &[f64], transitions: &[f64]) -> Result<Self, ModelError> {
        let states = initial.len();
        if transitions.len() != states * states {
            return Err(ModelError::DurationTables { states, durations: transitions.len() });
        }
        let durations: Vec<_> = (0..states)
            .map(|s| Durations {
                exactly: &[0.0],
                at_least: &[0.0],
                tail: transitions[s * (states + 1)],
            })
            .collect();
        let mut arcs = Vec::new();
        let mut arc_row = Vec::new();
        for from in 0..states {
            for to in (0..states).filter(|&to| to != from) {
                arcs.push(Arc { from, to });
                arc_row.push(transitions[from * states + to]);
            }
        }
        let model = Model { initial, arcs: &arcs, durations: &durations, ending: Ending::CutOff };
        Ok(MarkovChain { lattice: Lattice::new(&model)?, arc_row })
    }

    /// The chain as a lattice; its arcs are the changes of state.
    #[must_use]
    pub fn lattice(&self) -> &Lattice {
        &self.lattice
    }

    /// The `T × A` matrix of arc weights for this many bins.
    #[must_use]
    pub fn arc_weights(&self, bins: usize) -> Vec<f64> {
        self.arc_row.repeat(bins)
    }
}
