//! The heaviest segmentation.

use super::forward_backward::Posterior;
use super::lanes::{expected_gains, fold, larger, max_sum};
use super::model::{ArcEnd, Lattice};
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

/// What an arc of a path counts in expectation.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ArcGain {
    /// This times its marginal ...
    pub gain: f64,
    /// ... less this.
    pub cost: f64,
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
    /// Weights of the arcs at the present boundary.
    arc_row: Vec<f64>,
    /// Time-major: what a bin is expected to gain in a state.
    expected: Vec<f64>,
}

impl Lattice {
    /// The heaviest segmentation, by the Viterbi recursion.
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
        let arcs = self.arcs.len();
        let fill = |t: usize, row: &mut [f64]| {
            for (to, weight) in row.iter_mut().zip(&weights.arcs[t * arcs..]) {
                *to = weight * weights.scale;
            }
        };
        space.find(self, weights.emissions, weights.scale, &fill, prepared, path)
    }

    /// The segmentation with the greatest expected gain by these marginals, found as in
    /// [`best_path`](Lattice::best_path): every bin counts by its state's marginal, arcs as told,
    /// and durations by this lattice. What the weights forbid stays forbidden. The weights and the
    /// marginals must be those of one decode, of a lattice with as many states and arcs.
    ///
    /// # Errors
    /// As [`best_path`](Lattice::best_path).
    pub fn best_expected_path(
        &self,
        weights: &Weights<'_>,
        posterior: &Posterior,
        ArcGain { gain, cost }: ArcGain,
        workspace: &mut Workspace,
        path: &mut Path,
    ) -> Result<(), DecodeError> {
        let Workspace { prepared, best_path: space, .. } = workspace;
        let allowed = |weight: f64, value: f64| match weight == f64::NEG_INFINITY {
            true => weight,
            false => value,
        };
        let mut expected = std::mem::take(&mut space.expected);
        expected.clear();
        let bins = weights.emissions.iter().zip(&posterior.state_marginal);
        expected.extend(bins.map(|(weight, share)| allowed(*weight, *share)));
        prepared.fill_emissions(self, &expected, 1.0)?;
        let arcs = self.arcs.len();
        let fill = |t: usize, row: &mut [f64]| {
            let places = t * arcs..(t + 1) * arcs;
            let shares = &posterior.arc_marginal[places.clone()];
            expected_gains(&weights.arcs[places], shares, gain, cost, row);
        };
        let found = space.find(self, &expected, 1.0, &fill, prepared, path);
        space.expected = expected;
        found
    }
}

impl BestPathSpace {
    fn find(
        &mut self,
        lattice: &Lattice,
        emissions: &[f64],
        scale: f64,
        fill: &impl Fn(usize, &mut [f64]),
        shape: &Prepared,
        path: &mut Path,
    ) -> Result<(), DecodeError> {
        self.add_emissions(lattice, emissions, scale, shape);
        resize(&mut self.arc_row, lattice.arcs.len(), 0.0);
        self.forward(lattice, fill, shape);
        self.trace_back(lattice, fill, shape, path)
    }

    fn add_emissions(
        &mut self,
        lattice: &Lattice,
        emissions: &[f64],
        scale: f64,
        shape: &Prepared,
    ) {
        let states = lattice.states();
        self.prefix.clear();
        self.prefix.resize(states, 0.0);
        let rows = emissions.chunks_exact(states).zip(&shape.heaviest);
        for (bin, (row, heaviest)) in rows.enumerate() {
            for (state, weight) in row.iter().enumerate() {
                let before = self.prefix[bin * states + state];
                self.prefix.push(match *weight == f64::NEG_INFINITY {
                    true => before,
                    false => before + (weight - heaviest) * scale,
                });
            }
        }
    }

    fn forward(&mut self, lattice: &Lattice, fill: &impl Fn(usize, &mut [f64]), shape: &Prepared) {
        let states = lattice.states();
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
            fill(t, &mut self.arc_row);
            let up_to = &self.up_to[t * states..][..states];
            for state in 0..states {
                let weight = |from: &ArcEnd| from.of_state(up_to) + from.of_arc(&self.arc_row);
                let best = fold(lattice.into.at(state), f64::NEG_INFINITY, weight, larger);
                self.begun[state * stride + t] = best - self.prefix[t * states + state];
            }
        }
    }

    fn trace_back(
        &mut self,
        lattice: &Lattice,
        fill: &impl Fn(usize, &mut [f64]),
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
        path.log_weight = best + shape.offset;
        path.segments.clear();
        let (mut state, mut start) = last;
        let mut end = bins;
        while start > 0 {
            let arc = self.best_arc(lattice, fill, state, start);
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
    fn best_arc(
        &mut self,
        lattice: &Lattice,
        fill: &impl Fn(usize, &mut [f64]),
        state: usize,
        t: usize,
    ) -> usize {
        fill(t, &mut self.arc_row);
        let up_to = &self.up_to[t * lattice.states()..];
        let mut best = (f64::NEG_INFINITY, 0);
        for from in lattice.into.at(state) {
            let weight = from.of_state(up_to) + from.of_arc(&self.arc_row);
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
