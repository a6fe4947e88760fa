//! Who is who: whether the talk tells the two athletes apart.
//!
//! Where names are hardly said and pronouns fit both, a round and its mirror image explain the
//! talk equally well: the position is clear, and either may be on top. One answer then settles
//! long stretches at once.

use academy::{Answer, Athlete, Round, Span, Time};

use crate::decoder::{Decoded, Decoder, Heard};
use crate::grammar::{HELD, STATES, meaning};
use crate::questions::{About, Choice, Question};
use crate::reader::network::BIN_SECONDS;
use crate::semi_markov::{Segment, Workspace};
use crate::worth::bits_settled;

/// A position is clear where its chance, whoever is on top, is at least this.
const CLEAR: f64 = 0.7;
/// Who is on top in a clear position is open where the less likely one has at least this chance,
/// given the position.
const OPEN: f64 = 0.2;
/// The athletes may be swapped where who is on top is open in so large a part of the clear
/// seconds, and in so many seconds. Of the sample rounds read with names and pronouns that differ
/// none comes near, but for one (29 %) in which a minute hangs on one pronoun; those whose names
/// are never said have 100 %.
const SWAPPED_SHARE: f64 = 0.25;
const SWAPPED_SECONDS: f64 = 20.0;
/// Stretches are told as one where less than this lies between them in which the top is known.
const BETWEEN_SECONDS: f64 = 3.0;
/// Questions that are weighed exactly.
const CANDIDATES: usize = 4;
/// As far from the end of a stretch as people can tell what they saw, in bins, or a quarter of a
/// short one.
const EDGE: usize = 4;

/// What is known of the top in one bin.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Top {
    /// No position is clear in which somebody is on top.
    Unclear,
    /// The position is clear, and who is on top too.
    Known,
    /// This position, an index into [`HELD`], is clear, and either may be on top.
    Open(usize),
}

impl Top {
    fn of(row: &[f64]) -> Self {
        let either = |held: usize| row[held] + row[held + HELD.len()];
        let best = (0..HELD.len()).max_by(|a, b| either(*a).total_cmp(&either(*b))).unwrap_or(0);
        let less_likely = row[best].min(row[best + HELD.len()]);
        match either(best) {
            clear if clear < CLEAR => Top::Unclear,
            clear if less_likely >= OPEN * clear => Top::Open(best),
            _ => Top::Known,
        }
    }
}

fn tops(decoded: &Decoded) -> Vec<Top> {
    decoded.posterior.state_marginal.chunks_exact(STATES).map(Top::of).collect()
}

/// The stretches in which the two athletes may be swapped, by time; none where the talk tells them
/// apart well enough.
///
/// A second counts as open where one position has a chance of 0.7 or more, whoever is on top, and
/// the less likely athlete on top has one fifth of that or more. Stretches are told if a quarter
/// of all seconds with a clear position are open, and 20 s at least.
#[must_use]
pub fn swapped(decoded: &Decoded, round: &Round) -> Vec<Span> {
    let tops = tops(decoded);
    let open = tops.iter().filter(|top| matches!(top, Top::Open(_))).count();
    let known = tops.iter().filter(|top| **top == Top::Known).count();
    if (open as f64) * BIN_SECONDS < SWAPPED_SECONDS
        || (open as f64) < SWAPPED_SHARE * (open + known) as f64
    {
        return Vec::new();
    }
    let mut stretches: Vec<(usize, usize)> = Vec::new();
    let mut known_since = usize::MAX;
    for (bin, top) in tops.iter().enumerate() {
        match top {
            Top::Unclear => {}
            Top::Known => known_since = known_since.saturating_add(1),
            Top::Open(_) => {
                match stretches.last_mut() {
                    Some(last) if (known_since as f64) * BIN_SECONDS < BETWEEN_SECONDS => {
                        last.1 = bin + 1;
                    }
                    _ => stretches.push((bin, bin + 1)),
                }
                known_since = 0;
            }
        }
    }
    let at = |bin: usize| Time::from_seconds(bin as f64 * BIN_SECONDS).min(round.length());
    // A second here and there says nothing.
    stretches.retain(|(start, end)| (end - start) as f64 * BIN_SECONDS >= BETWEEN_SECONDS);
    stretches.into_iter().map(|(start, end)| Span::between(at(start), at(end))).collect()
}

/// Questions that settle who is who, most useful first: each about a moment late in a long
/// stretch, where the position is clear and only who is on top is open. None where nothing is
/// open, or everything has been asked. Costs up to eight decodes.
#[must_use]
pub fn identity_questions(
    decoder: &Decoder,
    heard: &Heard,
    decoded: &Decoded,
    answers: &[Answer],
    workspace: &mut Workspace,
) -> Vec<Question> {
    let marginals = &decoded.posterior.state_marginal;
    let tops = tops(decoded);
    let moment = |bin: usize| Time::from_seconds((bin as f64 + 0.5) * BIN_SECONDS);
    let asked = |bin: usize| {
        answers.iter().any(|answer| match answer {
            Answer::State { time, .. } | Answer::Spell { time, .. } | Answer::Top { time, .. } => {
                time.distance(moment(bin)) < 3_000
            }
            _ => false,
        })
    };
    // The last moment of a stretch that is open and well before its end, and how long it is.
    let late = |segment: &Segment| {
        meaning(segment.state).1?;
        let held = segment.state % HELD.len();
        let open = |bin: &usize| tops[*bin] == Top::Open(held);
        let margin = EDGE.min((segment.end - segment.start) / 4);
        let bins = segment.start + margin..segment.end - margin;
        let last = bins.clone().rev().find(|bin| open(bin) && !asked(*bin))?;
        Some((bins.filter(open).count(), last, held))
    };
    let mut candidates: Vec<_> = decoded.path.segments.iter().filter_map(late).collect();
    candidates.sort_by_key(|(length, bin, _)| (std::cmp::Reverse(*length), *bin));
    candidates.truncate(CANDIDATES);

    let mut questions: Vec<Question> = Vec::with_capacity(candidates.len());
    for (_, bin, held) in candidates {
        let mut choices = Athlete::BOTH.map(|top| {
            let state = held + top.index() * HELD.len();
            let answer = Answer::State { time: moment(bin), position: HELD[held], top: Some(top) };
            Choice { answer, probability: marginals[bin * STATES + state].min(1.0) }
        });
        choices.sort_by(|a, b| b.probability.total_cmp(&a.probability));
        let expected_gain = bits_settled(decoder, heard, decoded, answers, &choices, workspace);
        let (time, choices) = (moment(bin), choices.to_vec());
        questions.push(Question { time, about: About::State, choices, expected_gain });
    }
    questions.sort_by(|a, b| b.expected_gain.total_cmp(&a.expected_gain));
    questions
}

#[cfg(test)]
mod tests {
    use super::*;

    fn row(chances: &[(usize, f64)]) -> Vec<f64> {
        let mut row = vec![0.0; STATES];
        for (state, chance) in chances {
            row[*state] = *chance;
        }
        row
    }

    #[test]
    fn the_top_is_open_where_the_position_is_clear_and_the_top_is_not() {
        let mirrored = HELD.len();
        assert_eq!(Top::of(&row(&[(2, 0.5), (2 + mirrored, 0.4)])), Top::Open(2));
        assert_eq!(Top::of(&row(&[(2, 0.8), (2 + mirrored, 0.1)])), Top::Known);
        assert_eq!(Top::of(&row(&[(2, 0.3), (2 + mirrored, 0.3), (3, 0.4)])), Top::Unclear);
        assert_eq!(Top::of(&row(&[(crate::grammar::STANDING, 1.0)])), Top::Unclear);
    }
}
