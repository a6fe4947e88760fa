//! Sums over all segmentations: the total weight and every marginal.

use super::arc_rows::{Levelled, exponentiate, settled};
use super::lanes::{fold, sum};
use super::lines::Lines;
use super::model::{ArcEnd, Lattice};
use super::prepared::{DecodeError, Prepared, Weights, Workspace, resize};
use super::scaled::{Scaled, power_of_two};

/// Marginals of one decode, row by row; keep it and pass it again to reuse its memory.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Posterior {
    /// Log of the total weight of all segmentations.
    pub log_total: f64,
    /// `T × S`: entry `t * S + s` is the share of the total weight that has bin `t` in state `s`.
    /// Every row sums to 1.
    pub state_marginal: Vec<f64>,
    /// `T × A`: entry `t * A + a` is the share that takes arc `a` at boundary `t`. Row 0 is zero.
    pub arc_marginal: Vec<f64>,
}

/// Memory of [`Lattice::posterior`].
#[derive(Clone, Debug, Default)]
pub(super) struct PosteriorSpace {
    /// Time-major: product of the emissions of all bins before a boundary, forbidden ones as 1.
    prefix: Vec<Scaled>,
    /// Weight of all up to a segment's beginning at a bin, over the prefix there.
    begun: Lines,
    /// Weight of all after a segment's end at a boundary, times the prefix there.
    ended: Lines,
    /// Time-major: weight of all up to a boundary at which a segment ends.
    up_to: Vec<Scaled>,
    /// Powers of two of the rows of arc weights.
    arc_references: Vec<i64>,
    /// Per state, at the present boundary: what follows if a segment begins here.
    from_here: Vec<Scaled>,
    /// `up_to` and `from_here` of the present boundary.
    past: Levelled,
    future: Levelled,
    /// The share of what comes before the present boundary, per state, for arcs of weight one.
    before: Vec<f64>,
    /// Running sum over the segments longer than the table, per state.
    tails: Vec<Scaled>,
    /// Duration weight of a last segment that begins at the present bin, per state.
    last: Vec<Scaled>,
    /// Boundary up to which a segment that begins at the present bin may last, per state.
    free_to: Vec<usize>,
}

/// Marginals need no more than this power of two between the product of two levelled rows and the
/// total: beyond it, what the rows leave out (2⁻⁵¹²) might count, and they are taken exactly.
const FARTHEST: i64 = 300;

impl Lattice {
    /// Total weight and marginals of all segmentations, by the forward-backward recursions.
    ///
    /// Only [`Posterior::arc_marginal`] is long; it is working memory as well. Marginals are right to about 1e-15 times the number of bins, absolutely. On an error the
    /// contents of `posterior` are unspecified.
    ///
    /// # Errors
    /// [`DecodeError`]: wrong sizes, a weight that is no log weight, or every segmentation
    /// forbidden. Never yields not-a-number.
    pub fn posterior(
        &self,
        weights: &Weights<'_>,
        workspace: &mut Workspace,
        posterior: &mut Posterior,
    ) -> Result<(), DecodeError> {
        let Workspace { prepared, posterior: space, .. } = workspace;
        prepared.fill(self, weights)?;
        space.multiply_emissions(self, weights, prepared);
        // The exponentials of the arc weights stand where the marginals of arcs will.
        let arcs = &mut posterior.arc_marginal;
        arcs.resize(prepared.bins * self.arcs.len(), 0.0);
        exponentiate(weights, prepared, arcs, &mut space.arc_references);
        space.forward(self, weights, prepared, arcs);
        let total = space.last_segments(self, prepared, posterior);
        if total.is_zero() {
            return Err(DecodeError::Impossible);
        }
        posterior.log_total = total.ln() + prepared.offset;
        space.backward(self, weights, prepared, posterior, total);
        Ok(())
    }
}

impl PosteriorSpace {
    fn multiply_emissions(&mut self, lattice: &Lattice, weights: &Weights<'_>, shape: &Prepared) {
        let states = lattice.states();
        self.prefix.clear();
        self.prefix.resize(states, Scaled::ONE);
        let rows = weights.emissions.chunks_exact(states).zip(&shape.heaviest);
        for (bin, (row, heaviest)) in rows.enumerate() {
            for (state, weight) in row.iter().enumerate() {
                let before = self.prefix[bin * states + state];
                self.prefix.push(match *weight == f64::NEG_INFINITY {
                    true => before,
                    false => before.times(Scaled::exp((weight - heaviest) * weights.scale)),
                });
            }
        }
    }

    /// Fills `begun` and `up_to`.
    fn forward(
        &mut self,
        lattice: &Lattice,
        weights: &Weights<'_>,
        shape: &Prepared,
        arc_rows: &[f64],
    ) {
        let (states, arcs) = (lattice.states(), lattice.arcs.len());
        let (bins, stride) = (shape.bins, shape.stride);
        self.begun.reset(states, stride);
        self.up_to.resize(bins * states, Scaled::ZERO);
        resize(&mut self.tails, states, Scaled::ZERO);
        for (state, &weight) in lattice.initial.iter().enumerate() {
            self.begun.set(state, 0, Scaled::exp(weight), 0..1);
        }
        for t in 1..bins {
            for (state, table) in lattice.durations.iter().enumerate() {
                let first = shape.free_from(state, t);
                let longest = table.len();
                let from = first.max(t.saturating_sub(longest));
                let skip = longest - (t - from);
                let mut sum = self.begun.sum(state, from..t, &table.factors.reversed, skip);
                if !table.factors.tail.is_zero() {
                    let tail = &mut self.tails[state];
                    *tail = match t - first > longest {
                        true => {
                            let grown = self.begun.get(state, t - longest - 1);
                            tail.plus(grown.times(table.factors.longest)).times(table.factors.tail)
                        }
                        false => Scaled::ZERO,
                    };
                    sum = sum.plus(*tail);
                }
                self.up_to[t * states + state] = sum.times(self.prefix[t * states + state]);
            }
            let row = &self.up_to[t * states..][..states];
            let factors = &arc_rows[t * arcs..][..arcs];
            let weight = |arc: u32| weights.arcs[t * arcs + arc as usize] * weights.scale;
            self.past.fill(row);
            let past = &self.past.plain;
            let reference = self.arc_references[t] + self.past.reference;
            for (state, table) in lattice.durations.iter().enumerate() {
                let into = lattice.into.at(state);
                let plain = fold(into, 0.0, |end| end.of_state(past) * end.of_arc(factors), sum);
                let sum = settled(plain, reference, into, row, weight);
                let window = (t + 1).saturating_sub(table.len()).max(shape.free_from(state, t));
                let value = sum.over(self.prefix[t * states + state]);
                self.begun.set(state, t, value, window..t + 1);
            }
        }
    }

    /// Total weight but for the offset; writes the last row of the state marginals.
    fn last_segments(
        &mut self,
        lattice: &Lattice,
        shape: &Prepared,
        posterior: &mut Posterior,
    ) -> Scaled {
        let (states, bins) = (lattice.states(), shape.bins);
        resize(&mut self.from_here, states, Scaled::ZERO);
        resize(&mut self.last, states, Scaled::ONE);
        for start in (0..bins).rev() {
            for (state, table) in lattice.durations.iter().enumerate() {
                self.last[state] = table.factors.last(bins - start, self.last[state]);
                if start >= shape.free_from(state, bins) {
                    let segment = self.begun.get(state, start).times(self.last[state]);
                    self.from_here[state] = self.from_here[state].plus(segment);
                }
            }
        }
        let mut total = Scaled::ZERO;
        for (sum, prefix) in self.from_here.iter_mut().zip(&self.prefix[bins * states..]) {
            *sum = sum.times(*prefix);
            total = total.plus(*sum);
        }
        posterior.state_marginal.resize(bins * states, 0.0);
        if !total.is_zero() {
            let row = &mut posterior.state_marginal[(bins - 1) * states..];
            for (share, sum) in row.iter_mut().zip(&self.from_here) {
                *share = sum.over(total).relative_to(0);
            }
        }
        total
    }

    /// Fills the marginals from the end to the start.
    fn backward(
        &mut self,
        lattice: &Lattice,
        weights: &Weights<'_>,
        shape: &Prepared,
        posterior: &mut Posterior,
        total: Scaled,
    ) {
        let (states, arcs) = (lattice.states(), lattice.arcs.len());
        let (bins, stride) = (shape.bins, shape.stride);
        posterior.arc_marginal[..arcs].fill(0.0);
        self.ended.reset(states, stride);
        resize(&mut self.tails, states, Scaled::ZERO);
        resize(&mut self.last, states, Scaled::ONE);
        resize(&mut self.free_to, states, bins);
        resize(&mut self.before, states, 0.0);
        resize(&mut self.from_here, states, Scaled::ZERO);
        for t in (1..bins).rev() {
            for state in 0..states {
                self.from_here[state] = self.segments_from(lattice, shape, state, t);
            }
            let row = &self.up_to[t * states..][..states];
            let reference = self.arc_references[t];
            let weight = |arc: u32| weights.arcs[t * arcs + arc as usize] * weights.scale;
            self.past.fill(row);
            self.future.fill(&self.from_here);
            let (past, future) = (&self.past, &self.future);
            // Exponentials of the weights, which give way to the shares one by one.
            let shares = &mut posterior.arc_marginal[t * arcs..][..arcs];
            let distance = past.reference + reference + future.reference - total.exponent;
            let scale = power_of_two(distance) / total.mantissa;
            let reference = reference + future.reference;
            // A state is left and entered by arcs alone, so its marginals differ by their shares.
            let (earlier, later) = posterior.state_marginal.split_at_mut(t * states);
            let earlier = &mut earlier[(t - 1) * states..];
            for (state, table) in lattice.durations.iter().enumerate() {
                let out_of = lattice.out_of.at(state);
                let of = |end: &ArcEnd| end.of_arc(shares) * end.of_state(&future.plain);
                let plain = fold(out_of, 0.0, of, sum);
                self.before[state] = past.plain[state] * scale;
                earlier[state] = later[state] + self.before[state] * plain;
                let sum = settled(plain, reference, out_of, &self.from_here, weight);
                let value = sum.times(self.prefix[t * states + state]);
                let window = t..(t + table.len()).min(bins);
                self.ended.set(state, t, value, window);
            }
            let exactly = distance > FARTHEST;
            if exactly {
                earlier.copy_from_slice(&later[..states]);
                for (id, (arc, share)) in (0..).zip(lattice.arcs.iter().zip(&mut *shares)) {
                    let product = row[arc.from].times(self.from_here[arc.to]);
                    *share = product.times(Scaled::exp(weight(id))).over(total).relative_to(0);
                    earlier[arc.from] += *share;
                }
            }
            for (state, share) in earlier.iter_mut().enumerate() {
                let after = future.plain[state];
                let share_of = |end: &ArcEnd| {
                    let share = &mut shares[end.arc as usize];
                    if !exactly {
                        *share *= end.of_state(&self.before) * after;
                    }
                    *share
                };
                let entered = fold(lattice.into.at(state), 0.0, share_of, sum);
                *share = match shape.forbids(state, t - 1) {
                    true => 0.0,
                    false => (*share - entered).clamp(0.0, 1.0),
                };
            }
        }
    }

    /// Weight of all from bin `t` on, if a segment in `state` begins there. To be asked for each
    /// bin in turn, from the last.
    fn segments_from(
        &mut self,
        lattice: &Lattice,
        shape: &Prepared,
        state: usize,
        t: usize,
    ) -> Scaled {
        let factors = &lattice.durations[state].factors;
        let (bins, longest) = (shape.bins, factors.exactly.len());
        self.last[state] = factors.last(bins - t, self.last[state]);
        if shape.forbids(state, t) {
            self.free_to[state] = t;
            self.tails[state] = Scaled::ZERO;
            return Scaled::ZERO;
        }
        // The last boundary at which a segment may end and another follow.
        let limit = self.free_to[state].min(bins - 1);
        let window = t + 1..limit.min(t + longest) + 1;
        let mut sum = self.ended.sum(state, window, &factors.exactly, 0);
        if !factors.tail.is_zero() {
            let tail = &mut self.tails[state];
            *tail = match t + longest < limit {
                true => {
                    let grown = self.ended.get(state, t + longest + 1).times(factors.longest);
                    tail.plus(grown).times(factors.tail)
                }
                false => Scaled::ZERO,
            };
            sum = sum.plus(*tail);
        }
        let states = lattice.states();
        if self.free_to[state] == bins {
            sum = sum.plus(self.last[state].times(self.prefix[bins * states + state]));
        }
        sum.over(self.prefix[t * states + state])
    }
}
