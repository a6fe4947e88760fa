//! Sums over all segmentations: the total weight and every marginal.

use super::model::Lattice;
use super::prepared::{DecodeError, Weights, Workspace, resize};
use super::window::{log_add, log_sum};

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

impl Lattice {
    /// Total weight and marginals of all segmentations, by the forward-backward recursions.
    ///
    /// Marginals are right to about 1e-11 absolutely (times the expected number of segments).
    /// On an error the contents of `posterior` are unspecified.
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
        workspace.prepared.fill(self, weights)?;
        self.forward(weights, workspace);
        let total = self.last_segments(workspace, posterior);
        if total == f64::NEG_INFINITY {
            return Err(DecodeError::Impossible);
        }
        posterior.log_total = total + workspace.prepared.offset;
        self.backward(weights, workspace, posterior, total);
        Ok(())
    }

    /// Fills `begun` and `up_to`.
    fn forward(&self, weights: &Weights<'_>, workspace: &mut Workspace) {
        let Workspace { prepared, begun, up_to, tails, .. } = workspace;
        let (states, arcs) = (self.states(), self.arcs.len());
        let (bins, stride) = (prepared.bins, prepared.stride);
        resize(begun, states * stride, f64::NEG_INFINITY);
        resize(up_to, bins * states, f64::NEG_INFINITY);
        resize(tails, states, f64::NEG_INFINITY);
        for (state, &weight) in self.initial.iter().enumerate() {
            begun[state * stride] = weight;
        }
        for t in 1..bins {
            for (state, table) in self.durations.iter().enumerate() {
                let first = prepared.free_from(state, t);
                let longest = table.exactly.len();
                let line = &begun[state * stride..][..t];
                let from = first.max(t.saturating_sub(longest));
                let within = log_sum(&line[from..], &table.reversed[longest - (t - from)..]);
                tails[state] = match (t - first).checked_sub(longest + 1) {
                    None => f64::NEG_INFINITY,
                    Some(_) => {
                        let grown = line[t - longest - 1] + table.longest();
                        table.tail + log_add(tails[state], grown)
                    }
                };
                up_to[t * states + state] =
                    log_add(within, tails[state]) + prepared.prefix[state * stride + t];
            }
            let ended = &up_to[t * states..][..states];
            let arc_weights = &weights.arcs[t * arcs..][..arcs];
            for state in 0..states {
                let into = self.into.at(state);
                let terms = into.iter().map(|&(arc, from)| ended[from] + arc_weights[arc]);
                let at = state * stride + t;
                begun[at] = log_sum_of(terms) - prepared.prefix[at];
            }
        }
    }

    /// Log total weight without the offset; writes the last row of the state marginals.
    fn last_segments(&self, workspace: &Workspace, posterior: &mut Posterior) -> f64 {
        let Workspace { prepared, begun, .. } = workspace;
        let (states, bins, stride) = (self.states(), prepared.bins, prepared.stride);
        resize(&mut posterior.state_marginal, bins * states, 0.0);
        let last_row = &mut posterior.state_marginal[(bins - 1) * states..];
        for (state, table) in self.durations.iter().enumerate() {
            let first = prepared.free_from(state, bins);
            let line = &begun[state * stride..];
            let terms = (first..bins).map(|t| line[t] + table.last(bins - t));
            last_row[state] = log_sum_of(terms) + prepared.prefix[state * stride + bins];
        }
        let total = log_sum_of(last_row.iter().copied());
        if total > f64::NEG_INFINITY {
            last_row.iter_mut().for_each(|share| *share = (*share - total).exp());
        }
        total
    }

    /// Fills the marginals from the end to the start.
    fn backward(
        &self,
        weights: &Weights<'_>,
        workspace: &mut Workspace,
        posterior: &mut Posterior,
        total: f64,
    ) {
        let Workspace { prepared, up_to, ended, row, tails, free, .. } = workspace;
        let (states, arcs) = (self.states(), self.arcs.len());
        let (bins, stride) = (prepared.bins, prepared.stride);
        resize(&mut posterior.arc_marginal, bins * arcs, 0.0);
        resize(ended, states * stride, f64::NEG_INFINITY);
        resize(tails, states, f64::NEG_INFINITY);
        // Boundary up to which a segment that begins at the present bin may last.
        resize(free, states, bins);
        resize(row, states, f64::NEG_INFINITY);
        for t in (1..bins).rev() {
            for (state, table) in self.durations.iter().enumerate() {
                let line = &ended[state * stride..][..bins];
                let prefix = &prepared.prefix[state * stride..];
                if prepared.forbids(state, t) {
                    free[state] = t;
                    tails[state] = f64::NEG_INFINITY;
                    row[state] = f64::NEG_INFINITY;
                    continue;
                }
                let longest = table.exactly.len();
                let to = free[state].min(bins - 1).min(t + longest);
                let within = log_sum(&line[t + 1..to.max(t) + 1], &table.exactly);
                tails[state] = table.tail
                    + match t + longest < free[state].min(bins - 1) {
                        true => log_add(tails[state], line[t + longest + 1] + table.longest()),
                        false => f64::NEG_INFINITY,
                    };
                let last = match free[state] == bins {
                    true => prefix[bins] + table.last(bins - t),
                    false => f64::NEG_INFINITY,
                };
                row[state] = log_add(log_add(within, tails[state]), last) - prefix[t];
            }
            let arc_weights = &weights.arcs[t * arcs..][..arcs];
            let so_far = &up_to[t * states..][..states];
            let (earlier, later) = posterior.state_marginal.split_at_mut(t * states);
            let earlier = &mut earlier[(t - 1) * states..];
            earlier.copy_from_slice(&later[..states]);
            let shares = &mut posterior.arc_marginal[t * arcs..][..arcs];
            for state in 0..states {
                let out_of = self.out_of.at(state);
                let terms = out_of.iter().map(|&(arc, to)| arc_weights[arc] + row[to]);
                let at = state * stride + t;
                ended[at] = log_sum_of(terms) + prepared.prefix[at];
                for &(arc, to) in out_of {
                    let share = (so_far[state] + arc_weights[arc] + row[to] - total).exp();
                    shares[arc] = share;
                    earlier[to] -= share;
                    earlier[state] += share;
                }
            }
            for (state, share) in earlier.iter_mut().enumerate() {
                *share = if prepared.forbids(state, t - 1) { 0.0 } else { share.clamp(0.0, 1.0) };
            }
        }
    }
}

/// ln(Σ exp xᵢ); minus infinity when every term is or there is none.
fn log_sum_of(terms: impl Iterator<Item = f64> + Clone) -> f64 {
    let heaviest = terms.clone().fold(f64::NEG_INFINITY, f64::max);
    if heaviest == f64::NEG_INFINITY {
        return heaviest;
    }
    heaviest + terms.map(|term| (term - heaviest).exp()).sum::<f64>().ln()
}
