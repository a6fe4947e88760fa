//! The heaviest segmentation.

use super::model::Lattice;
use super::prepared::{DecodeError, Weights, Workspace, resize};
use super::window::max_sum;

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

/// No arc.
const NONE: u32 = u32::MAX;

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
    /// forbidden.
    pub fn best_path(
        &self,
        weights: &Weights<'_>,
        workspace: &mut Workspace,
        path: &mut Path,
    ) -> Result<(), DecodeError> {
        workspace.prepared.fill(self, weights)?;
        self.best_forward(weights, workspace);
        self.trace_back(workspace, path)
    }

    fn best_forward(&self, weights: &Weights<'_>, workspace: &mut Workspace) {
        let Workspace { prepared, begun, row, tails, arc_in, tail_begin, tail_begins, .. } =
            workspace;
        let (states, arcs) = (self.states(), self.arcs.len());
        let (bins, stride) = (prepared.bins, prepared.stride);
        resize(begun, states * stride, f64::NEG_INFINITY);
        resize(row, states, f64::NEG_INFINITY);
        resize(tails, states, f64::NEG_INFINITY);
        resize(arc_in, states * bins, NONE);
        resize(tail_begin, states * bins, 0);
        resize(tail_begins, states, 0);
        for (state, &weight) in self.initial.iter().enumerate() {
            begun[state * stride] = weight;
        }
        for t in 1..bins {
            for (state, table) in self.durations.iter().enumerate() {
                let first = prepared.free_from(state, t);
                let longest = table.exactly.len();
                let line = &begun[state * stride..][..t];
                let from = first.max(t.saturating_sub(longest));
                let within = max_sum(&line[from..], &table.reversed[longest - (t - from)..]);
                if t - first > longest {
                    let grown = line[t - longest - 1] + table.longest();
                    // Not-less: of equal long segments the shortest.
                    if grown >= tails[state] {
                        tails[state] = grown;
                        tail_begins[state] = (t - longest - 1) as u32;
                    }
                    tails[state] += table.tail;
                } else {
                    tails[state] = f64::NEG_INFINITY;
                }
                tail_begin[t * states + state] = tail_begins[state];
                row[state] = within.max(tails[state]) + prepared.prefix[state * stride + t];
            }
            let arc_weights = &weights.arcs[t * arcs..][..arcs];
            for state in 0..states {
                let mut best = f64::NEG_INFINITY;
                let mut best_arc = NONE;
                for &(arc, from) in self.into.at(state) {
                    let weight = row[from] + arc_weights[arc];
                    if weight > best {
                        best = weight;
                        best_arc = arc as u32;
                    }
                }
                let at = state * stride + t;
                begun[at] = best - prepared.prefix[at];
                arc_in[t * states + state] = best_arc;
            }
        }
    }

    fn trace_back(&self, workspace: &Workspace, path: &mut Path) -> Result<(), DecodeError> {
        let Workspace { prepared, begun, arc_in, tail_begin, .. } = workspace;
        let (states, bins, stride) = (self.states(), prepared.bins, prepared.stride);
        let mut best = f64::NEG_INFINITY;
        let mut last = (0, 0);
        for (state, table) in self.durations.iter().enumerate() {
            let line = &begun[state * stride..];
            let prefix = prepared.prefix[state * stride + bins];
            for start in (prepared.free_from(state, bins)..bins).rev() {
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
        path.log_weight = best + prepared.offset;
        path.segments.clear();
        let (mut state, mut start) = last;
        let mut end = bins;
        while start > 0 {
            let arc = arc_in[start * states + state] as usize;
            path.segments.push(Segment { state, start, end, arc_in: Some(arc) });
            end = start;
            state = self.arcs[arc].from;
            let tail = tail_begin[end * states + state] as usize;
            start = self.best_start(workspace, state, end, tail);
        }
        path.segments.push(Segment { state, start, end, arc_in: None });
        path.segments.reverse();
        Ok(())
    }

    /// Where the heaviest segment in `state` that ends at `end` begins.
    fn best_start(&self, workspace: &Workspace, state: usize, end: usize, tail: usize) -> usize {
        let Workspace { prepared, begun, .. } = workspace;
        let table = &self.durations[state];
        let longest = table.exactly.len();
        let first = prepared.free_from(state, end);
        let line = &begun[state * prepared.stride..];
        let from = first.max(end.saturating_sub(longest));
        let mut best = f64::NEG_INFINITY;
        let mut start = from;
        for begin in (from..end).rev() {
            let weight = line[begin] + table.exactly[end - begin - 1];
            if weight > best {
                best = weight;
                start = begin;
            }
        }
        if end - first > longest {
            let grown = line[tail] + table.longest() + (end - tail - longest) as f64 * table.tail;
            if grown > best {
                start = tail;
            }
        }
        start
    }
}
