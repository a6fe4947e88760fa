//! What the reader's numbers mean: weights of states, of changes, and of moments, for every half
//! second.

use academy::{EventKind, Position};

use crate::grammar::{Grammar, HELD, Meaning, PAUSE, Role, STANDING, STATES};
use crate::reader::network::Outputs;

/// Kinds of changes in the order of the network's outputs.
pub const CHANGE_KINDS: [EventKind; 8] = [
    EventKind::Takedown,
    EventKind::GuardPull,
    EventKind::Pass,
    EventKind::Sweep,
    EventKind::Reversal,
    EventKind::Escape,
    EventKind::BackTake,
    EventKind::Advance,
];

/// Kinds of moments inside a spell in the order of the network's outputs.
pub const MOMENT_KINDS: [EventKind; 5] = [
    EventKind::SubmissionAttempt,
    EventKind::Release,
    EventKind::Tap,
    EventKind::FailedTry,
    EventKind::SubmissionEscape,
];

/// A position held in a role, or standing: 11 on top, 11 underneath, 1.
const PLACES: usize = 2 * HELD.len() + 1;

/// Where each group of numbers begins in the network's output for a bin.
mod column {
    use super::{CHANGE_KINDS, HELD, MOMENT_KINDS, PLACES};
    pub(super) const HELD_ON_TOP: usize = 0;
    pub(super) const HELD_UNDERNEATH: usize = HELD.len();
    pub(super) const STANDING: usize = 2 * HELD.len();
    pub(super) const PAUSE: usize = STANDING + 1;
    pub(super) const KIND_BY_SELF: usize = PAUSE + 1;
    pub(super) const KIND_BY_OTHER: usize = KIND_BY_SELF + CHANGE_KINDS.len();
    pub(super) const TO: usize = KIND_BY_OTHER + CHANGE_KINDS.len();
    pub(super) const FROM: usize = TO + PLACES;
    pub(super) const MOMENT: usize = FROM + PLACES;
    pub(super) const ALL: usize = MOMENT + MOMENT_KINDS.len();
}

/// Numbers that the network gives for each bin, and for each word.
pub const OUTPUTS: usize = column::ALL;
/// For each word: about an event at all; each kind by self, each by the other; where the change
/// leads, by self and by the other.
pub const WORD_OUTPUTS: usize = 1 + 2 * (CHANGE_KINDS.len() + MOMENT_KINDS.len()) + 2 * PLACES;

/// Weights for the decoder and rates of moments, by half second.
#[derive(Clone, Debug)]
pub struct Evidence {
    /// Number of bins.
    pub bins: usize,
    /// `bins × STATES` log weights.
    pub states: Vec<f64>,
    /// `bins × arcs` log weights.
    pub arcs: Vec<f64>,
    /// `bins × 2 × MOMENT_KINDS`: expected number of moments of a kind by an athlete in a bin.
    pub moments: Vec<f64>,
}

impl Evidence {
    /// The same with every weight multiplied by `scale`.
    #[must_use]
    pub fn tempered(&self, scale: f64) -> Evidence {
        let scaled = |weights: &[f64]| weights.iter().map(|weight| weight * scale).collect();
        Evidence {
            states: scaled(&self.states),
            arcs: scaled(&self.arcs),
            bins: self.bins,
            moments: self.moments.clone(),
        }
    }
}

/// Where a change leads or starts, seen from the one who makes it.
fn place(position: Position, role: Role) -> usize {
    let held = HELD.iter().position(|held| *held == position);
    match (held, role) {
        (Some(index), Role::Top) => index,
        (Some(index), _) => HELD.len() + index,
        (None, _) => 2 * HELD.len(),
    }
}

/// Turns the network's numbers into weights. `change` holds the learned weight of each of the
/// grammar's changes, then of a stop, then of a start.
///
/// A state's weight adds what the views of both athletes say of it. A change's weight adds its own
/// learned weight, its kind as seen by both, and where it starts and leads as seen by the one who
/// makes it.
#[must_use]
pub fn weigh(outputs: &Outputs, grammar: &Grammar, change: &[f64]) -> Evidence {
    let bins = outputs.bins[0].nrows();
    let arcs = grammar.meanings();
    let mut evidence = Evidence {
        bins,
        states: vec![0.0; bins * STATES],
        arcs: Vec::with_capacity(bins * arcs.len()),
        moments: vec![0.0; bins * 2 * MOMENT_KINDS.len()],
    };
    let sources: Vec<ArcSource> = arcs.iter().map(|arc| ArcSource::of(*arc, grammar)).collect();
    let rows = outputs.bins[0].rows().into_iter().zip(outputs.bins[1].rows());
    let mut said = [0.0; said::ALL];
    for (bin, (one, other)) in rows.enumerate() {
        let views = [one, other];
        let at = |view: usize, index: usize| f64::from(views[view][index]);
        let both = |index| at(0, index) + at(1, index);

        let states = &mut evidence.states[bin * STATES..(bin + 1) * STATES];
        for held in 0..HELD.len() {
            for (own, other) in [(0, 1), (1, 0)] {
                states[own * HELD.len() + held] =
                    at(own, column::HELD_ON_TOP + held) + at(other, column::HELD_UNDERNEATH + held);
            }
        }
        states[STANDING] = both(column::STANDING);
        states[PAUSE] = both(column::PAUSE);

        said[said::STOP] = both(column::PAUSE);
        for (own, other) in [(0, 1), (1, 0)] {
            for kind in 0..CHANGE_KINDS.len() {
                said[said::kind(own, kind)] =
                    at(own, column::KIND_BY_SELF + kind) + at(other, column::KIND_BY_OTHER + kind);
            }
            for place in 0..PLACES {
                said[said::from(own, place)] = at(own, column::FROM + place);
                said[said::to(own, place)] = at(own, column::TO + place);
            }
        }
        evidence.arcs.extend(sources.iter().map(|source| {
            let [kind, from, to] = source.said.map(|index| said[index]);
            change[source.change] + kind + from + to
        }));

        let moments = bin * 2 * MOMENT_KINDS.len();
        for view in 0..2 {
            for kind in 0..MOMENT_KINDS.len() {
                evidence.moments[moments + view * MOMENT_KINDS.len() + kind] =
                    softplus(at(view, column::MOMENT + kind));
            }
        }
    }
    evidence
}

/// Where the numbers that the arcs of one bin share stand in a row.
mod said {
    use super::{CHANGE_KINDS, PLACES};
    /// Nothing is said: always 0.
    pub(super) const NOTHING: usize = 0;
    /// A stop.
    pub(super) const STOP: usize = 1;
    const BY: [usize; 2] = [2, 2 + CHANGE_KINDS.len() + 2 * PLACES];
    pub(super) const ALL: usize = BY[1] + CHANGE_KINDS.len() + 2 * PLACES;
    /// A change of a kind by an athlete.
    pub(super) const fn kind(by: usize, kind: usize) -> usize {
        BY[by] + kind
    }
    /// A change by an athlete from a place.
    pub(super) const fn from(by: usize, place: usize) -> usize {
        BY[by] + CHANGE_KINDS.len() + place
    }
    /// A change by an athlete to a place.
    pub(super) const fn to(by: usize, place: usize) -> usize {
        from(by, PLACES) + place
    }
}

/// What the weight of an arc adds up from.
struct ArcSource {
    /// Index into the learned weights.
    change: usize,
    /// Indices of what is said of its kind, of where it starts and of where it leads.
    said: [usize; 3],
}

impl ArcSource {
    fn of(meaning: Meaning, grammar: &Grammar) -> Self {
        let changes = grammar.changes();
        let plain = |change, kind| ArcSource { change, said: [kind, said::NOTHING, said::NOTHING] };
        match meaning {
            Meaning::Change(index, actor) => {
                let (change, by) = (changes[index], actor.index());
                // The grammar's test holds that its kinds are these.
                let Some(kind) = CHANGE_KINDS.iter().position(|kind| *kind == change.kind) else {
                    return plain(index, said::NOTHING);
                };
                let from = said::from(by, place(change.from, change.from_role));
                let to = said::to(by, place(change.to, change.to_role));
                ArcSource { change: index, said: [said::kind(by, kind), from, to] }
            }
            Meaning::Stop => plain(changes.len(), said::STOP),
            Meaning::Start => plain(changes.len() + 1, said::NOTHING),
        }
    }
}

/// ln(1 + eˣ), without overflow.
fn softplus(x: f64) -> f64 {
    x.max(0.0) + (-x.abs()).exp().ln_1p()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn softplus_is_between_its_asymptotes() {
        assert!((softplus(0.0) - 2f64.ln()).abs() < 1e-15);
        assert!((softplus(800.0) - 800.0).abs() < 1e-12);
        assert!(softplus(-800.0) >= 0.0);
    }

    #[test]
    fn the_groups_of_outputs_follow_each_other() {
        assert_eq!(OUTPUTS, 22 + 1 + 1 + 8 + 8 + 23 + 23 + 5);
        assert_eq!(WORD_OUTPUTS, 1 + 26 + 46);
    }
}
