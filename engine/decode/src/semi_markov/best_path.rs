//! The heaviest segmentation.

use super::model::Lattice;
use super::prepared::{DecodeError, Prepared, Weights, Workspace, resize};

/// A stretch of bins in one state.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Segment {
    /// Its state.
    pub state: usize,
    /// First bin.
    pub start: usize,
    /// One past the last bin.
    pub end: usize,
    /// The arc by which it was entered; none for the first.
    pub arc_in: Option<usize>,
}

/// A segmentation and its weight.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Path {
    /// The segments in order; they tile the bins.
    pub segments: Vec<Segment>,
    /// Its log weight.
    pub log_weight: f64,
}

/// Memory of [`Lattice::best_path`].
#[derive(Clone, Debug, Default)]
pub(super) struct BestPathSpace {
    /// Time-major: sum of the emissions of all bins before a boundary, forbidden ones as 0.
    prefix: Vec<f64>,
    /// State-major: best weight of all up to a segment's beginning at a bin, less the prefix there.
    begun: Vec<f64>,
    /// Time-major: best weight of all up to a boundary at which a segment ends.
    up_to: Vec<f64>,
    /// Best weight of a segment longer than the table, and where it begins, per state.
    tails: Vec<(f64, u32)>,
    /// Time-major: where the best segment longer than the table begins.
    tail_begin: Vec<u32>,
}

impl Lattice {
    /// The heaviest segmentation, by the Viterbi recursion. Weights need not be normalised: the
    /// path of greatest expected reward is found by passing rewards (for example marginals) as
    /// emissions and penalties as arc weights.
    ///
    /// Ties are settled from the end backwards: lowest last state, then always the shortest
    /// segment, then the lowest arc id.
    ///
    /// # Errors
    /// [`DecodeError`]: wrong sizes, a weight that is no log weight, or every segmentation
    /// forbidden. On an error the contents of `path` are unspecified.
    pub fn best_path(
        &self,
        weights: &Weights<'_>,
        workspace: &mut Workspace,
        path: &mut Path,
    ) -> Result<(), DecodeError> {
        let Workspace { prepared, best_path: space, .. } = workspace;
        prepared.fill(self, weights)?;
        space.add_emissions(self, weights, prepared);
        space.forward(self, weights, prepared);
        space.trace_back(self, weights, prepared, path)
    }
}

impl BestPathSpace {
    fn add_emissions(&mut self, lattice: &Lattice, weights: &Weights<'_>, shape: &Prepared) {
        let states = lattice.states();
        self.prefix.clear();
        self.prefix.resize(states, 0.0);
        let rows = weights.emissions.chunks_exact(states).zip(&shape.heaviest);
        for (bin, (row, heaviest)) in rows.enumerate() {
            for (state, weight) in row.iter().enumerate() {
                let before = self.prefix[bin * states + state];
                self.prefix.push(match *weight == f64::NEG_INFINITY {
                    true => before,
                    false => before + (weight - heaviest),
                });
            }
        }
    }

    fn forward(&mut self, lattice: &Lattice, weights: &Weights<'_>, shape: &Prepared) {
        let (states, arcs) = (lattice.states(), lattice.arcs.len());
        let (bins, stride) = (shape.bins, shape.stride);
        self.begun.resize(states * stride, f64::NEG_INFINITY);
        self.up_to.resize(states * bins, f64::NEG_INFINITY);
        resize(&mut self.tails, states, (f64::NEG_INFINITY, 0));
        self.tail_begin.resize(states * bins, 0);
        for (state, &weight) in lattice.initial.iter().enumerate() {
            self.begun[state * stride] = weight;
        }
        for t in 1..bins {
            for (state, table) in lattice.durations.iter().enumerate() {
                let first = shape.free_from(state, t);
                let longest = table.len();
                let line = &self.begun[state * stride..][..t];
                let from = first.max(t.saturating_sub(longest));
                let mut best = max_sum(&line[from..], &table.reversed[longest - (t - from)..]);
                let tail = &mut self.tails[state];
                if t - first > longest {
                    let grown = line[t - longest - 1] + table.longest();
                    // Not-less: of equal long segments the shortest.
                    if grown >= tail.0 {
                        *tail = (grown, (t - longest - 1) as u32);
                    }
                    tail.0 += table.tail;
                    best = best.max(tail.0);
                } else {
                    tail.0 = f64::NEG_INFINITY;
                }
                self.tail_begin[t * states + state] = tail.1;
                self.up_to[t * states + state] = best + self.prefix[t * states + state];
            }
            let arc_weights = &weights.arcs[t * arcs..][..arcs];
            let up_to = &self.up_to[t * states..][..states];
            for state in 0..states {
                let into = lattice.into.at(state).iter();
                let best = into.map(|from| from.of_state(up_to) + from.of_arc(arc_weights));
                let best = best.fold(f64::NEG_INFINITY, larger);
                self.begun[state * stride + t] = best - self.prefix[t * states + state];
            }
        }
    }

    fn trace_back(
        &self,
        lattice: &Lattice,
        weights: &Weights<'_>,
        shape: &Prepared,
        path: &mut Path,
    ) -> Result<(), DecodeError> {
        let (states, bins, stride) = (lattice.states(), shape.bins, shape.stride);
        let mut best = f64::NEG_INFINITY;
        let mut last = (0, 0);
        for (state, table) in lattice.durations.iter().enumerate() {
            let line = &self.begun[state * stride..];
            let prefix = self.prefix[bins * states + state];
            for start in (shape.free_from(state, bins)..bins).rev() {
                let weight = line[start] + table.last(bins - start) + prefix;
                if weight > best {
                    best = weight;
                    last = (state, start);
                }
            }
        }
        if best == f64::NEG_INFINITY {
            return Err(DecodeError::Impossible);
        }
        path.log_weight = best + shape.offset();
        path.segments.clear();
        let (mut state, mut start) = last;
        let mut end = bins;
        while start > 0 {
            let arc = self.best_arc(lattice, weights, state, start);
            path.segments.push(Segment { state, start, end, arc_in: Some(arc) });
            end = start;
            state = lattice.arcs[arc].from;
            start = self.best_start(lattice, shape, state, end);
        }
        path.segments.push(Segment { state, start, end, arc_in: None });
        path.segments.reverse();
        Ok(())
    }

    /// The arc by which the heaviest segmentation enters `state` at boundary `t`. Looked up only
    /// along the path, so that the forward pass need not keep track.
    fn best_arc(&self, lattice: &Lattice, weights: &Weights<'_>, state: usize, t: usize) -> usize {
        let arc_weights = &weights.arcs[t * lattice.arcs.len()..];
        let up_to = &self.up_to[t * lattice.states()..];
        let mut best = (f64::NEG_INFINITY, 0);
        for from in lattice.into.at(state) {
            let weight = from.of_state(up_to) + from.of_arc(arc_weights);
            if weight > best.0 {
                best = (weight, from.arc as usize);
            }
        }
        best.1
    }

    /// Where the heaviest segment in `state` that ends at `end` begins; looked up in the same way.
    fn best_start(&self, lattice: &Lattice, shape: &Prepared, state: usize, end: usize) -> usize {
        let table = &lattice.durations[state];
        let longest = table.len();
        let first = shape.free_from(state, end);
        let line = &self.begun[state * shape.stride..];
        let from = first.max(end.saturating_sub(longest));
        let mut best = f64::NEG_INFINITY;
        let mut start = from.min(end - 1);
        for begin in (from..end).rev() {
            let weight = line[begin] + table.exactly[end - begin - 1];
            if weight > best {
                best = weight;
                start = begin;
            }
        }
        if end - first > longest {
            let tail = self.tail_begin[end * lattice.states() + state] as usize;
            let beyond = (end - tail - longest) as f64;
            if line[tail] + table.longest() + beyond * table.tail > best {
                start = tail;
            }
        }
        start
    }
}

/// max(xᵢ + yᵢ) over the shorter of the two, minus infinity of none; eight running maxima go on
/// side by side.
fn max_sum(x: &[f64], y: &[f64]) -> f64 {
    let length = x.len().min(y.len());
    let (x, y) = (x[..length].chunks_exact(8), y[..length].chunks_exact(8));
    let rest = x.remainder().iter().zip(y.remainder()).map(|(x, y)| x + y);
    let mut largest = [f64::NEG_INFINITY; 8];
    for (x, y) in x.zip(y) {
        for i in 0..8 {
            largest[i] = larger(x[i] + y[i], largest[i]);
        }
    }
    rest.chain(largest).fold(f64::NEG_INFINITY, larger)
}

/// The larger of two log weights.
fn larger(x: f64, y: f64) -> f64 {
    if x > y { x } else { y }
}
