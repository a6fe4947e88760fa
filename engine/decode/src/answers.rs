//! What the coach's answers allow: answers as limits on the decoder's weights.

use std::ops::Range;

use academy::{Answer, Athlete, EventKind, Position, Span, Time};

use crate::evidence::Evidence;
use crate::grammar::{Grammar, Meaning, STATES, meaning, state};
use crate::reader::network::BIN_SECONDS;
use crate::semi_markov::Arc;

/// People place a moment to about so many bins either way.
pub const SLACK_BINS: usize = 4;

/// Somebody who watched for a change places it to so many bins either way.
const WATCHED_BINS: usize = 1;

/// Added to the log weight of a change that a person saw: it happens, if anything can fit it.
const SEEN: f64 = 60.0;

/// The bin that holds a moment, the last one for moments after the end.
#[must_use]
pub fn bin_of(time: Time, bins: usize) -> usize {
    ((time.seconds() / BIN_SECONDS) as usize).min(bins.saturating_sub(1))
}

/// Puts the answers that hold into the evidence; see [`holding`].
pub fn apply(evidence: &mut Evidence, grammar: &Grammar, answers: &[Answer]) {
    let (limits, _) = Limits::of(evidence, grammar, answers);
    limits.put_into(evidence, grammar);
}

/// What the answers come to.
#[derive(Clone, Debug, PartialEq)]
pub struct Told {
    /// Which answers hold; see [`holding`].
    pub holding: Vec<bool>,
    /// The bins whose state the answers leave no doubt about.
    pub settled: Vec<bool>,
    /// The time that a person gave for a change at a boundary.
    pub borders: Vec<Option<Time>>,
}

/// What the answers come to: which of them hold, and what they leave no doubt about.
#[must_use]
pub fn told(evidence: &Evidence, grammar: &Grammar, answers: &[Answer]) -> Told {
    let (limits, holding) = Limits::of(evidence, grammar, answers);
    let one = |allowed: &Option<Vec<usize>>| allowed.as_ref().is_some_and(|a| a.len() == 1);
    Told { holding, settled: limits.states.iter().map(one).collect(), borders: limits.borders }
}

/// Which answers hold: people correct themselves, so that an answer gives way to a later one about
/// the same moment that contradicts it. Answers about different moments all hold, even if together
/// they cannot be; the decoder finds that out.
#[must_use]
pub fn holding(evidence: &Evidence, grammar: &Grammar, answers: &[Answer]) -> Vec<bool> {
    told(evidence, grammar, answers).holding
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

/// Boundaries strictly inside a span: a change at its very start or end leaves it undisturbed.
fn within(span: Span, bins: usize) -> Range<usize> {
    let boundary = |seconds: f64| seconds / BIN_SECONDS;
    let first = boundary(span.start().seconds()).floor() as usize + 1;
    let after = boundary(span.end().seconds()).ceil() as usize;
    first.min(bins)..after.max(first).min(bins)
}

/// Whether an event at this moment would disturb a stretch in which nothing happened.
#[must_use]
pub fn disturbs(span: Span, time: Time) -> bool {
    span.start() < time && time < span.end()
}

/// The members of both lists; the other list where one is missing.
fn common(one: Option<&[usize]>, other: &[usize]) -> Vec<usize> {
    other.iter().copied().filter(|index| one.is_none_or(|one| one.contains(index))).collect()
}

#[derive(Clone)]
struct Limits {
    /// The allowed states of a bin, where not all are.
    states: Vec<Option<Vec<usize>>>,
    /// The allowed arcs at a boundary, where not all are.
    arcs: Vec<Option<Vec<usize>>>,
    /// When a change at a boundary was, where somebody watched for it.
    borders: Vec<Option<Time>>,
}

impl Limits {
    fn of(evidence: &Evidence, grammar: &Grammar, answers: &[Answer]) -> (Self, Vec<bool>) {
        let bins = evidence.bins;
        // What is said of states and of stretches, to place events where they fit all of it.
        let mut hoped = Limits::free(bins);
        for answer in answers.iter().rev() {
            hoped.take_in(grammar, answer);
        }
        let mut limits = Limits::free(bins);
        let mut holding = vec![false; answers.len()];
        for (index, answer) in answers.iter().enumerate().rev() {
            holding[index] = match answer {
                Answer::Event { time, kind, actor } => {
                    let later = answers[index + 1..].iter().zip(&holding[index + 1..]);
                    let undone = (later.filter(|(_, holds)| **holds))
                        .any(|(later, _)| replaces(later, *time, *kind, *actor));
                    let seen = Seen::new(grammar, *kind, *actor);
                    !undone && limits.require(evidence, grammar, *time, &seen, &hoped)
                }
                other => limits.take_in(grammar, other),
            };
        }
        (limits, holding)
    }

    fn free(bins: usize) -> Self {
        Limits { states: vec![None; bins], arcs: vec![None; bins], borders: vec![None; bins] }
    }

    /// Takes in what an answer says of states and of stretches, unless what is already there
    /// leaves no room for it.
    fn take_in(&mut self, grammar: &Grammar, answer: &Answer) -> bool {
        let bins = self.states.len();
        match answer {
            Answer::State { time, position, top } => {
                self.allow_only(bin_of(*time, bins), &fitting(*position, *top))
            }
            Answer::Top { time, top } => {
                let on_top = |state: &usize| meaning(*state).1 == Some(*top);
                let states: Vec<usize> = (0..STATES).filter(on_top).collect();
                self.allow_only(bin_of(*time, bins), &states)
            }
            Answer::Spell { time, position, top, start, end } => {
                let states = fitting(*position, *top);
                let mut with = self.clone();
                let fits = with.take_in_spell(grammar, *time, &states, [*start, *end]);
                if fits {
                    *self = with;
                }
                fits
            }
            Answer::Nothing { span } => {
                for limit in &mut self.arcs[within(*span, bins)] {
                    // A change that somebody saw later stays.
                    limit.get_or_insert_default();
                }
                true
            }
            Answer::Event { .. } => true,
        }
    }

    /// One of these states at a moment, and unchanged from the start to it and from it to the end,
    /// where those are told. On failure some of it is taken in.
    fn take_in_spell(
        &mut self,
        grammar: &Grammar,
        time: Time,
        states: &[usize],
        [start, end]: [Option<Time>; 2],
    ) -> bool {
        let bins = self.states.len();
        let at = bin_of(time, bins);
        let arcs_of = |fits: &dyn Fn(Arc) -> bool| {
            let arcs = grammar.arcs().iter().enumerate().filter(|(_, arc)| fits(**arc));
            Seen { arcs: arcs.map(|(index, _)| index).collect() }
        };
        let mut first = at;
        if let Some(start) = start {
            let into = arcs_of(&|arc| states.contains(&arc.to));
            match self.border(grammar, start, 0..at + 1, &into) {
                Some(boundary) => first = boundary,
                None => return false,
            }
        }
        let mut after = at + 1;
        if let Some(end) = end {
            let out_of = arcs_of(&|arc| states.contains(&arc.from));
            match self.border(grammar, end, at + 1..bins + 1, &out_of) {
                Some(boundary) => after = boundary,
                None => return false,
            }
        }
        for limit in &mut self.arcs[first + 1..after] {
            // A change that somebody saw later stays, and contradicts.
            if limit.get_or_insert_default().is_empty() {
                continue;
            }
            return false;
        }
        (first..after).all(|bin| self.allow_only(bin, states))
    }

    /// Binds a change of these arcs, which somebody watched for, to the boundary nearest to its
    /// time among those `within`; one where a change was told already comes first, since two that
    /// near are one. The round's start and its end need no change. None if nothing fits.
    fn border(
        &mut self,
        grammar: &Grammar,
        time: Time,
        within: Range<usize>,
        seen: &Seen,
    ) -> Option<usize> {
        let bins = self.states.len();
        let centre = ((time.seconds() / BIN_SECONDS).round() as usize)
            .clamp(within.start, within.end.saturating_sub(1));
        let near = centre.saturating_sub(WATCHED_BINS)..(centre + WATCHED_BINS + 1);
        let inside = |boundary: usize| 0 < boundary && boundary < bins;
        let boundary = near
            .filter(|boundary| within.contains(boundary))
            .filter(|boundary| !inside(*boundary) || self.could_be(grammar, *boundary, seen))
            .min_by_key(|boundary| {
                let told = inside(*boundary) && self.arcs[*boundary].is_some();
                (!told, boundary.abs_diff(centre))
            })?;
        if inside(boundary) {
            self.borders[boundary] = Some(time);
            self.bind(grammar, boundary, seen).then_some(boundary)
        } else {
            Some(boundary)
        }
    }

    /// A change of these arcs happens at this boundary.
    fn bind(&mut self, grammar: &Grammar, boundary: usize, seen: &Seen) -> bool {
        let arcs = common(self.arcs[boundary].as_deref(), &seen.arcs);
        let from: Vec<usize> = arcs.iter().map(|arc| grammar.arcs()[*arc].from).collect();
        let to: Vec<usize> = arcs.iter().map(|arc| grammar.arcs()[*arc].to).collect();
        self.arcs[boundary] = Some(arcs);
        self.allow_only(boundary - 1, &from) && self.allow_only(boundary, &to)
    }

    fn allow_only(&mut self, bin: usize, states: &[usize]) -> bool {
        let Some(limit) = self.states.get_mut(bin) else { return false };
        let both = common(limit.as_deref(), states);
        let fits = !both.is_empty();
        if fits {
            *limit = Some(both);
        }
        fits
    }

    /// Whether a change of these arcs could be at this boundary.
    fn could_be(&self, grammar: &Grammar, boundary: usize, seen: &Seen) -> bool {
        let free = |bin: usize, state| match &self.states[bin] {
            None => true,
            Some(allowed) => allowed.contains(&state),
        };
        common(self.arcs[boundary].as_deref(), &seen.arcs).into_iter().any(|arc| {
            let arc = grammar.arcs()[arc];
            free(boundary - 1, arc.from) && free(boundary, arc.to)
        })
    }

    /// A change that was seen must happen at the likeliest boundary near `time` that fits what
    /// else was said; best where a change is told by another answer, since two that near are one.
    /// Moments inside a spell do not bind the decoder.
    fn require(
        &mut self,
        evidence: &Evidence,
        grammar: &Grammar,
        time: Time,
        seen: &Seen,
        hoped: &Limits,
    ) -> bool {
        let bins = evidence.bins;
        if seen.arcs.is_empty() {
            return true;
        }
        let centre = bin_of(time, bins);
        let near = centre.saturating_sub(SLACK_BINS).max(1)..(centre + SLACK_BINS + 1).min(bins);
        if near.is_empty() {
            // A round of one bin has no boundary to put it at.
            return true;
        }
        let arcs = grammar.arcs().len();
        let weight = |boundary: usize| {
            let row = &evidence.arcs[boundary * arcs..(boundary + 1) * arcs];
            seen.arcs.iter().map(|arc| row[*arc]).fold(f64::NEG_INFINITY, f64::max)
        };
        let best = (near.filter(|boundary| self.could_be(grammar, *boundary, seen)))
            .map(|boundary| {
                let fits = hoped.could_be(grammar, boundary, seen);
                let told = fits && hoped.borders[boundary].is_some();
                ((told, fits), weight(boundary), boundary)
            })
            .max_by(|a, b| a.0.cmp(&b.0).then(a.1.total_cmp(&b.1)));
        let Some((_, _, boundary)) = best else { return false };
        self.bind(grammar, boundary, seen)
    }

    fn put_into(&self, evidence: &mut Evidence, grammar: &Grammar) {
        let limit = |row: &mut [f64], allowed: &Option<Vec<usize>>, more: f64| {
            if let Some(allowed) = allowed {
                for (index, weight) in row.iter_mut().enumerate() {
                    let fits = allowed.contains(&index);
                    *weight = if fits { *weight + more } else { f64::NEG_INFINITY };
                }
            }
        };
        for (row, allowed) in evidence.states.chunks_exact_mut(STATES).zip(&self.states) {
            limit(row, allowed, 0.0);
        }
        let arcs = grammar.meanings().len();
        for (row, allowed) in evidence.arcs.chunks_exact_mut(arcs).zip(&self.arcs) {
            limit(row, allowed, SEEN);
        }
    }
}

/// The arcs that a seen event can be; none for moments inside a spell.
struct Seen {
    arcs: Vec<usize>,
}

impl Seen {
    fn new(grammar: &Grammar, kind: EventKind, actor: Option<Athlete>) -> Self {
        let fits = |meaning: &Meaning| match meaning {
            Meaning::Change(change, by) => {
                grammar.changes()[*change].kind == kind && actor.is_none_or(|actor| actor == *by)
            }
            Meaning::Start => kind == EventKind::Reset,
            Meaning::Stop => false,
        };
        let meanings = grammar.meanings();
        Seen { arcs: (0..meanings.len()).filter(|arc| fits(&meanings[*arc])).collect() }
    }
}

/// Whether a later answer takes the place of an event told before.
fn replaces(later: &Answer, time: Time, kind: EventKind, actor: Option<Athlete>) -> bool {
    match later {
        Answer::Nothing { span } => disturbs(*span, time),
        // The same moment told again: by whom it was is corrected.
        Answer::Event { time: again, kind: same, actor: by } => {
            let near = again.distance(time) as f64 <= SLACK_BINS as f64 * BIN_SECONDS * 1000.0;
            *same == kind && near && (*by != actor || *again == time)
        }
        Answer::State { .. } | Answer::Spell { .. } | Answer::Top { .. } => false,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn silence(bins: usize, grammar: &Grammar) -> Evidence {
        Evidence {
            bins,
            states: vec![0.0; bins * STATES],
            arcs: vec![0.0; bins * grammar.arcs().len()],
            moments: vec![],
        }
    }

    fn at(seconds: u64) -> Time {
        Time::from_millis(seconds * 1000)
    }

    #[test]
    fn a_stretch_is_left_at_its_ends_and_not_inside() {
        let span = |from, to| Span::between(Time::from_millis(from), Time::from_millis(to));
        assert_eq!(within(span(1_000, 3_000), 20), 3..6);
        assert_eq!(within(span(1_200, 3_200), 20), 3..7);
        assert!(within(span(1_000, 1_000), 20).is_empty());
        assert_eq!(within(span(9_000, 90_000), 20), 19..20);
        assert_eq!(within(span(90_000, 95_000), 20), 20..20);
    }

    #[test]
    fn answers_about_one_moment_add_up_or_the_later_one_wins() {
        let grammar = Grammar::builtin();
        let evidence = silence(40, &grammar);
        let mount = Answer::State { time: at(5), position: Position::Mount, top: None };
        let top = Answer::Top { time: at(5), top: Athlete::Second };
        let (limits, holding) = Limits::of(&evidence, &grammar, &[mount.clone(), top.clone()]);
        assert_eq!(limits.states[10], Some(fitting(Position::Mount, Some(Athlete::Second))));
        assert_eq!(holding, [true, true]);
        let turtle = Answer::State { time: at(5), position: Position::Turtle, top: None };
        let (limits, holding) = Limits::of(&evidence, &grammar, &[mount, top, turtle]);
        assert_eq!(limits.states[10], Some(fitting(Position::Turtle, Some(Athlete::Second))));
        assert_eq!(holding, [false, true, true]);
    }

    #[test]
    fn an_event_is_placed_where_it_fits_what_else_was_said() {
        let grammar = Grammar::builtin();
        let mut evidence = silence(40, &grammar);
        // The reader would place it at boundary 20.
        let arcs = grammar.arcs().len();
        evidence.arcs[20 * arcs..21 * arcs].fill(1.0);
        let sweep =
            Answer::Event { time: at(10), kind: EventKind::Sweep, actor: Some(Athlete::First) };
        // Still underneath half a second later.
        let under = Answer::Top { time: at(10), top: Athlete::Second };
        for answers in [[sweep.clone(), under.clone()], [under, sweep]] {
            let (limits, holding) = Limits::of(&evidence, &grammar, &answers);
            assert_eq!(holding, [true, true]);
            assert!(limits.arcs[20].is_none());
            let placed: Vec<usize> = (0..40).filter(|b| limits.arcs[*b].is_some()).collect();
            assert!(matches!(placed[..], [21..=24]), "{placed:?}");
        }
    }

    #[test]
    fn nothing_undoes_an_event_and_an_event_breaks_into_nothing() {
        let grammar = Grammar::builtin();
        let evidence = silence(40, &grammar);
        let pass = Answer::Event { time: at(10), kind: EventKind::Pass, actor: None };
        let nothing = Answer::Nothing { span: Span::between(at(5), at(15)) };
        assert_eq!(holding(&evidence, &grammar, &[pass.clone(), nothing.clone()]), [false, true]);
        let (limits, holding) = Limits::of(&evidence, &grammar, &[nothing, pass]);
        assert_eq!(holding, [true, true]);
        let free: Vec<usize> =
            (11..30).filter(|b| limits.arcs[*b].as_ref().is_some_and(|a| !a.is_empty())).collect();
        assert_eq!(free.len(), 1);
    }
}
