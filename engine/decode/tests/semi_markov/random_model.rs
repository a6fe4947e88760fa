//! Random models and weights, with forbidden entries.

use decode::semi_markov::{Arc, Durations, Ending, Lattice, Model, Weights};
use proptest::prelude::*;

/// A model with its weights, owned.
#[derive(Clone, Debug)]
pub(crate) struct Problem {
    pub(crate) bins: usize,
    pub(crate) initial: Vec<f64>,
    pub(crate) arcs: Vec<Arc>,
    /// Exact and cut-off weights and the tail of each state.
    pub(crate) durations: Vec<(Vec<f64>, Vec<f64>, f64)>,
    pub(crate) ending: Ending,
    pub(crate) emissions: Vec<f64>,
    pub(crate) arc_weights: Vec<f64>,
}

impl Problem {
    pub(crate) fn states(&self) -> usize {
        self.initial.len()
    }

    pub(crate) fn lattice(&self) -> Lattice {
        let durations: Vec<Durations> = self
            .durations
            .iter()
            .map(|(exactly, at_least, tail)| Durations { exactly, at_least, tail: *tail })
            .collect();
        Lattice::new(&Model {
            initial: &self.initial,
            arcs: &self.arcs,
            durations: &durations,
            ending: self.ending,
        })
        .unwrap()
    }

    pub(crate) fn weights(&self) -> Weights<'_> {
        Weights::new(&self.emissions, &self.arc_weights)
    }

    /// Weight of a segment of exactly `d` bins.
    pub(crate) fn exactly(&self, state: usize, d: usize) -> f64 {
        let (exactly, _, tail) = &self.durations[state];
        extended(exactly, *tail, d)
    }

    /// Weight of a last segment of `d` bins.
    pub(crate) fn last(&self, state: usize, d: usize) -> f64 {
        let (exactly, at_least, tail) = &self.durations[state];
        match self.ending {
            Ending::Exact => extended(exactly, *tail, d),
            Ending::CutOff => extended(at_least, *tail, d),
        }
    }
}

/// A table continued by its tail, bin by bin.
fn extended(table: &[f64], tail: f64, d: usize) -> f64 {
    let within = d.min(table.len());
    (within..d).fold(table[within - 1], |weight, _| weight + tail)
}

/// How large a problem is drawn, and how wild its weights are.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Size {
    pub(crate) bins: usize,
    pub(crate) states: usize,
    pub(crate) arcs: usize,
    pub(crate) longest: usize,
    /// Weights lie between minus this and this.
    pub(crate) spread: f64,
    /// Share of forbidden entries, in percent.
    pub(crate) forbidden: u32,
}

/// Problems of at most this size.
pub(crate) fn problem(size: Size) -> impl Strategy<Value = Problem> {
    (1..=size.bins, 1..=size.states, 0..=size.arcs, any::<bool>()).prop_flat_map(
        move |(bins, states, arcs, exact)| {
            let weights = move |count: usize| prop::collection::vec(weight(size), count);
            let arc = (0..states, 0..states).prop_map(|(from, to)| Arc { from, to });
            let table = (1..=size.longest)
                .prop_flat_map(move |longest| (weights(longest), weights(longest), weight(size)));
            (
                weights(states),
                prop::collection::vec(arc, arcs),
                prop::collection::vec(table, states),
                weights(bins * states),
                weights(bins * arcs),
            )
                .prop_map(move |(initial, arcs, durations, emissions, arc_weights)| {
                    Problem {
                        bins,
                        initial,
                        arcs,
                        durations,
                        ending: if exact { Ending::Exact } else { Ending::CutOff },
                        emissions,
                        arc_weights,
                    }
                })
        },
    )
}

fn weight(size: Size) -> impl Strategy<Value = f64> + Clone {
    prop_oneof![
        size.forbidden => Just(f64::NEG_INFINITY),
        100 - size.forbidden => -size.spread..size.spread,
    ]
}
