//! What to ask the coach next: the question whose answer is expected to settle most.

use std::ops::Range;

use academy::{Answer, Athlete, Position, Time};

use crate::answers::bin_of;
use crate::decoder::{Decoded, Decoder, Heard};
use crate::grammar::{STATES, meaning};
use crate::reader::network::BIN_SECONDS;
use crate::semi_markov::{Arc, DecodeError, Segment, Workspace};
use crate::worth::{bits_settled, entropies};

/// An answer to choose.
#[derive(Clone, Debug, PartialEq)]
pub struct Choice {
    /// The answer.
    pub answer: Answer,
    /// Chance, 0 to 1, that it is the right one; of an answer with times, that all but its times
    /// is right.
    pub probability: f64,
}

/// What a question asks.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum About {
    /// Where were they at this moment, and who was on top?
    State,
    /// They were in this position at this moment, with this athlete on top: when did that begin,
    /// and when did it end? The answer is an [`Answer::Spell`], or, where they were in another
    /// position, an [`Answer::State`].
    Spell {
        /// The position.
        position: Position,
        /// Who was on top.
        top: Option<Athlete>,
        /// Whether its start is asked for.
        start: bool,
        /// Whether its end is asked for.
        end: bool,
    },
}

/// A question about one moment, or about the spell that it lies in.
#[derive(Clone, Debug, PartialEq)]
pub struct Question {
    /// The moment asked about.
    pub time: Time,
    /// What is asked.
    pub about: About,
    /// The likeliest answers, likeliest first. Where times are asked for, those of the first are
    /// guesses.
    pub choices: Vec<Choice>,
    /// By how much an answer is expected to lower the uncertainty of the whole round: bits about
    /// where they are, summed over seconds.
    pub expected_gain: f64,
}

/// Stretches of the path whose questions are weighed exactly, for either kind of question.
const CANDIDATES: usize = 6;
/// Choices offered, and followed up when a question is weighed.
const CHOICES: usize = 4;
/// Choices rarer than this are not offered.
const RAREST: f64 = 0.02;
/// Moments nearer than this, in bins, are one: three seconds.
const APART: usize = 6;
/// In the seconds around a change nobody can say where they are: so many bins at either end of a
/// stretch are not asked about, or a quarter of a short one.
const EDGE: usize = 4;
/// A moment is settled when its entropy is below this, in bits.
const SETTLED: f64 = 0.05;
/// The start and the end of a spell are looked for within so many bins of where the path has them.
const AROUND: usize = 16;
/// An end of a spell is settled when its mean distance from its median is below this, in seconds.
const TIMED: f64 = 0.3;
/// When a spell began and ended is asked about where the chance that there was one is at least
/// this.
const LIKELY: f64 = 0.5;

/// The most useful questions, most useful first, at most `most` of them.
///
/// Of the path's stretches, those with the largest total entropy are asked where they were, at
/// their moment of highest entropy; those whose ends are the most unsure, when they began and
/// ended. Each question is weighed by decoding once for each likely answer:
/// exactly, but for answers rarer than one in fifty, and with the likeliest times for all. Costs
/// up to 48 decodes.
///
/// # Errors
/// [`DecodeError::Impossible`] if the answers so far contradict each other.
pub fn questions(
    decoder: &Decoder,
    heard: &Heard,
    decoded: &Decoded,
    answers: &[Answer],
    most: usize,
    workspace: &mut Workspace,
) -> Result<Vec<Question>, DecodeError> {
    let most_weighed = CANDIDATES.max(most);
    let mut asked = about_states(decoded, answers, most_weighed);
    asked.extend(about_spells(decoded, decoder.grammar().arcs(), answers, most_weighed));
    for question in &mut asked {
        question.expected_gain =
            bits_settled(decoder, heard, decoded, answers, &question.choices, workspace);
    }
    asked.sort_by(|a, b| b.expected_gain.total_cmp(&a.expected_gain));
    let mut kept: Vec<Question> = Vec::new();
    for question in asked {
        let near = |other: &Question| {
            other.time.distance(question.time) < (APART as f64 * BIN_SECONDS * 1000.0) as u64
        };
        if kept.len() < most && !kept.iter().any(near) {
            kept.push(question);
        }
    }
    Ok(kept)
}

/// Where were they? At the moment of highest entropy of each of the most uncertain stretches.
fn about_states(decoded: &Decoded, answers: &[Answer], most: usize) -> Vec<Question> {
    let entropies = entropies(&decoded.posterior.state_marginal);
    let uncertain = |segment: &Segment| entropies[segment.start..segment.end].iter().sum::<f64>();
    let mut stretches: Vec<Segment> = decoded.path.segments.clone();
    stretches.sort_by(|a, b| uncertain(b).total_cmp(&uncertain(a)));
    let mut kept: Vec<usize> = Vec::new();
    for stretch in stretches {
        if kept.len() == most {
            break;
        }
        let middle = (stretch.start + stretch.end) as f64 / 2.0;
        // Among equals the middle: far from the edges, where timing is what is unsure.
        let value = |bin: usize| entropies[bin] - 0.01 * (bin as f64 + 0.5 - middle).abs();
        let open = |bin: &usize| {
            entropies[*bin] > SETTLED
                && !asked(answers, *bin)
                && kept.iter().all(|other| other.abs_diff(*bin) >= APART)
        };
        let margin = EDGE.min((stretch.end - stretch.start) / 4);
        let bins = (stretch.start + margin..stretch.end - margin).filter(open);
        kept.extend(bins.max_by(|a, b| value(*a).total_cmp(&value(*b))));
    }
    (kept.into_iter())
        .map(|bin| Question {
            time: moment(bin),
            about: About::State,
            choices: choices(&decoded.posterior.state_marginal, bin),
            expected_gain: 0.0,
        })
        .collect()
}

/// When did it begin and end? About the stretches whose ends are the most unsure.
fn about_spells(decoded: &Decoded, arcs: &[Arc], answers: &[Answer], most: usize) -> Vec<Question> {
    let mut found: Vec<(f64, Question)> = (decoded.path.segments.iter())
        .filter_map(|segment| about_spell(decoded, arcs, answers, segment))
        .collect();
    found.sort_by(|a, b| b.0.total_cmp(&a.0));
    found.truncate(most);
    found.into_iter().map(|(_, question)| question).collect()
}

/// The question when a stretch of the path began and ended, and how unsure that is, in seconds.
fn about_spell(
    decoded: &Decoded,
    arcs: &[Arc],
    answers: &[Answer],
    segment: &Segment,
) -> Option<(f64, Question)> {
    let chance = |bin: usize| decoded.posterior.state_marginal[bin * STATES + segment.state];
    let middle = (segment.start + segment.end) / 2;
    let likely = chance(middle);
    let (position, top) = meaning(segment.state);
    let told = |answer: &Answer| match answer {
        Answer::Spell { time, .. } => {
            (segment.start..segment.end).contains(&bin_of(*time, decoded.bins))
        }
        _ => false,
    };
    if likely < LIKELY || answers.iter().any(told) {
        return None;
    }
    let earliest = segment.start.saturating_sub(AROUND).max(1);
    let latest = (segment.end + AROUND).min(decoded.bins);
    let start = Border::find(decoded, arcs, earliest..middle + 1, |arc| arc.to == segment.state);
    let end = Border::find(decoded, arcs, middle + 1..latest, |arc| arc.from == segment.state);
    let open = |border: &Border| border.spread >= TIMED;
    let [start, end] = [start, end].map(|border| border.filter(open));
    let unsure = [&start, &end].into_iter().flatten().map(|border| border.spread).sum::<f64>();
    if unsure == 0.0 {
        return None;
    }
    let time = moment(middle);
    let mut choices = choices(&decoded.posterior.state_marginal, middle);
    for choice in &mut choices {
        if choice.answer == (Answer::State { time, position, top }) {
            let at = |border: &Border| Time::from_seconds(border.median as f64 * BIN_SECONDS);
            let [start, end] = [&start, &end].map(|border| border.as_ref().map(at));
            choice.answer = Answer::Spell { time, position, top, start, end };
        }
    }
    let about = About::Spell { position, top, start: start.is_some(), end: end.is_some() };
    Some((unsure, Question { time, about, choices, expected_gain: 0.0 }))
}

/// Where a spell begins or ends, as far as is known.
struct Border {
    /// The boundary before and after which it is as likely.
    median: usize,
    /// Its mean distance from the median, in seconds, times the chance that there is one.
    spread: f64,
}

impl Border {
    /// A change by some of the arcs in a stretch; `None` where there hardly is one.
    fn find(
        decoded: &Decoded,
        arcs: &[Arc],
        boundaries: Range<usize>,
        fits: impl Fn(&Arc) -> bool,
    ) -> Option<Self> {
        let fitting: Vec<usize> = (0..arcs.len()).filter(|arc| fits(&arcs[*arc])).collect();
        let chances: Vec<(usize, f64)> = boundaries
            .map(|boundary| {
                let row = &decoded.posterior.arc_marginal[boundary * arcs.len()..];
                (boundary, fitting.iter().map(|arc| row[*arc]).sum())
            })
            .collect();
        let sum: f64 = chances.iter().map(|(_, chance)| chance).sum();
        if sum < RAREST {
            return None;
        }
        let mut before = 0.0;
        let (median, _) = *chances.iter().find(|(_, chance)| {
            before += chance;
            before >= sum / 2.0
        })?;
        let distance = |boundary: usize| boundary.abs_diff(median) as f64 * BIN_SECONDS;
        let spread = chances.iter().map(|(boundary, chance)| chance * distance(*boundary)).sum();
        Some(Border { median, spread })
    }
}

/// The middle of a bin.
fn moment(bin: usize) -> Time {
    Time::from_seconds((bin as f64 + 0.5) * BIN_SECONDS)
}

/// Whether a person has been asked about nearly this moment.
fn asked(answers: &[Answer], bin: usize) -> bool {
    let near = |time: Time| time.distance(moment(bin)) as f64 / 1000.0 < APART as f64 * BIN_SECONDS;
    answers.iter().any(|answer| match answer {
        Answer::State { time, .. } | Answer::Spell { time, .. } | Answer::Top { time, .. } => {
            near(*time)
        }
        // Of a stretch, the moment that it was told about is its middle.
        Answer::Nothing { span } => near(span.start().later(span.millis() / 2)),
        Answer::Event { .. } => false,
    })
}

/// The likeliest states of a bin as answers.
fn choices(marginals: &[f64], bin: usize) -> Vec<Choice> {
    let row = &marginals[bin * STATES..(bin + 1) * STATES];
    let mut states: Vec<usize> = (0..STATES).filter(|state| row[*state] >= RAREST).collect();
    states.sort_by(|a, b| row[*b].total_cmp(&row[*a]));
    states.truncate(CHOICES);
    (states.into_iter())
        .map(|state| {
            let (position, top): (Position, _) = meaning(state);
            let answer = Answer::State { time: moment(bin), position, top };
            Choice { answer, probability: row[state].min(1.0) }
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_border_is_where_half_of_its_chance_lies_before() {
        let arcs = [Arc { from: 0, to: 1 }, Arc { from: 1, to: 2 }];
        // Into state 1 with chances .2 .6 .2 at boundaries 3 4 6; out of it for sure at 9.
        let mut decoded =
            Decoded { posterior: Default::default(), path: Default::default(), bins: 10 };
        decoded.posterior.arc_marginal = vec![0.0; 20];
        for (entry, chance) in [(6, 0.2), (8, 0.6), (12, 0.2), (19, 1.0)] {
            decoded.posterior.arc_marginal[entry] = chance;
        }
        let border = Border::find(&decoded, &arcs, 1..10, |arc| arc.to == 1).unwrap();
        assert_eq!(border.median, 4);
        // (.2 · 1 + .2 · 2) half seconds.
        assert!((border.spread - 0.3).abs() < 1e-12);
        let end = Border::find(&decoded, &arcs, 1..10, |arc| arc.from == 1).unwrap();
        assert_eq!((end.median, end.spread), (9, 0.0));
        assert!(Border::find(&decoded, &arcs, 1..9, |arc| arc.from == 1).is_none());
    }

    #[test]
    fn likely_states_are_offered_likeliest_first() {
        let mut row = vec![0.0; STATES];
        row[3] = 0.3;
        row[14] = 0.69;
        row[5] = 0.01;
        let offered = choices(&row, 0);
        assert_eq!(offered.len(), 2);
        assert!(offered[0].probability > offered[1].probability);
    }
}
