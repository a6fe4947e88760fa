//! What the coach's answers allow: answers as limits on the decoder's weights.

use std::ops::Range;

use academy::{Answer, Athlete, EventKind, Position, Span, Time};

use crate::evidence::Evidence;
use crate::grammar::{Grammar, Meaning, STATES, meaning, state};
use crate::reader::network::BIN_SECONDS;

/// People place a moment to about so many bins either way.
const SLACK_BINS: usize = 4;

/// The bin that holds a moment, the last one for moments after the end.
#[must_use]
pub fn bin_of(time: Time, bins: usize) -> usize {
    ((time.seconds() / BIN_SECONDS) as usize).min(bins.saturating_sub(1))
}

/// Puts the answers into the evidence. Where two answers contradict each other the later one
/// wins, since people correct themselves.
pub fn apply(evidence: &mut Evidence, grammar: &Grammar, answers: &[Answer]) {
    let mut limits = Limits::new(evidence.bins);
    for answer in answers {
        match answer {
            Answer::State { time, position, top } => {
                limits.allow_only(bin_of(*time, evidence.bins), &fitting(*position, *top));
            }
            Answer::Top { time, top } => {
                let on_top = |state: &usize| meaning(*state).1 == Some(*top);
                let states: Vec<usize> = (0..STATES).filter(on_top).collect();
                limits.allow_only(bin_of(*time, evidence.bins), &states);
            }
            Answer::Event { time, kind, actor } => {
                limits.require(evidence, grammar, *time, *kind, *actor);
            }
            Answer::Nothing { span } => limits.forbid_changes(within(*span, evidence.bins)),
        }
    }
    limits.put_into(evidence, grammar);
}

/// States of a position: with this athlete on top, or with either.
fn fitting(position: Position, top: Option<Athlete>) -> Vec<usize> {
    match state(position, top) {
        Some(state) => vec![state],
        None => {
            let fits = |state: &usize| meaning(*state).0 == position;
            (0..STATES).filter(fits).collect()
        }
    }
}

/// Boundaries inside a span.
fn within(span: Span, bins: usize) -> Range<usize> {
    bin_of(span.start(), bins) + 1..bin_of(span.end(), bins) + 1
}

struct Limits {
    /// The allowed states of a bin, where not all are.
    states: Vec<Option<Vec<usize>>>,
    /// The allowed arcs at a boundary, where not all are.
    arcs: Vec<Option<Vec<usize>>>,
}

impl Limits {
    fn new(bins: usize) -> Self {
        Limits { states: vec![None; bins], arcs: vec![None; bins] }
    }

    fn allow_only(&mut self, bin: usize, states: &[usize]) {
        if let Some(limit) = self.states.get_mut(bin) {
            *limit = Some(states.to_vec());
        }
    }

    fn forbid_changes(&mut self, boundaries: Range<usize>) {
        for limit in self.arcs.iter_mut().take(boundaries.end).skip(boundaries.start) {
            *limit = Some(Vec::new());
        }
    }

    /// A change of this kind must happen at the likeliest boundary near `time`. Moments inside a
    /// spell do not bind the decoder.
    fn require(
        &mut self,
        evidence: &Evidence,
        grammar: &Grammar,
        time: Time,
        kind: EventKind,
        actor: Option<Athlete>,
    ) {
        let changes = grammar.changes();
        let fits = |meaning: &Meaning| match meaning {
            Meaning::Change(change, by) => {
                changes[*change].kind == kind && actor.is_none_or(|actor| actor == *by)
            }
            Meaning::Start => kind == EventKind::Reset,
            Meaning::Stop => false,
        };
        let meanings = grammar.meanings();
        let arcs: Vec<usize> = (0..meanings.len()).filter(|arc| fits(&meanings[*arc])).collect();
        let centre = bin_of(time, evidence.bins);
        let near =
            centre.saturating_sub(SLACK_BINS).max(1)..(centre + SLACK_BINS + 1).min(evidence.bins);
        let weight = |boundary: usize| {
            let row = &evidence.arcs[boundary * meanings.len()..(boundary + 1) * meanings.len()];
            arcs.iter().map(|arc| row[*arc]).fold(f64::NEG_INFINITY, f64::max)
        };
        let best = near.max_by(|a, b| weight(*a).total_cmp(&weight(*b)));
        let (Some(boundary), false) = (best, arcs.is_empty()) else { return };
        let ends = |end: fn(&crate::semi_markov::Arc) -> usize| {
            let mut states: Vec<usize> = arcs.iter().map(|a| end(&grammar.arcs()[*a])).collect();
            states.sort_unstable();
            states.dedup();
            states
        };
        self.allow_only(boundary - 1, &ends(|arc| arc.from));
        self.allow_only(boundary, &ends(|arc| arc.to));
        self.arcs[boundary] = Some(arcs);
    }

    fn put_into(&self, evidence: &mut Evidence, grammar: &Grammar) {
        let arcs = grammar.meanings().len();
        let limit = |row: &mut [f64], allowed: &Option<Vec<usize>>| {
            if let Some(allowed) = allowed {
                for (index, weight) in row.iter_mut().enumerate() {
                    if !allowed.contains(&index) {
                        *weight = f64::NEG_INFINITY;
                    }
                }
            }
        };
        for (row, allowed) in evidence.states.chunks_exact_mut(STATES).zip(&self.states) {
            limit(row, allowed);
        }
        for (row, allowed) in evidence.arcs.chunks_exact_mut(arcs).zip(&self.arcs) {
            limit(row, allowed);
        }
    }
}
