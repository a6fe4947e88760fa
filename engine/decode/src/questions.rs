//! What to ask the coach next: the question whose answer is expected to settle most.

use academy::{Answer, Position, Time};

use crate::decoder::{Decoded, Decoder, Heard};
use crate::grammar::{STATES, meaning};
use crate::reader::network::BIN_SECONDS;
use crate::semi_markov::{DecodeError, Segment, Workspace};

/// An answer to choose.
#[derive(Clone, Debug, PartialEq)]
pub struct Choice {
    /// The answer.
    pub answer: Answer,
    /// Chance, 0 to 1, that it is the right one.
    pub probability: f64,
}

/// A question about one moment: where were they, and who was on top?
#[derive(Clone, Debug, PartialEq)]
pub struct Question {
    /// The moment asked about.
    pub time: Time,
    /// The likeliest answers, likeliest first.
    pub choices: Vec<Choice>,
    /// By how much an answer is expected to lower the uncertainty of the whole round: bits about
    /// where they are, summed over seconds.
    pub expected_gain: f64,
}

/// Stretches of the path whose questions are weighed exactly.
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

/// The most useful questions, most useful first, at most `most` of them.
///
/// The path's stretches are ranked by their total entropy; for the moment of highest entropy of
/// each of the first few, the expected entropy of the whole round after its answer is computed by
/// decoding once for each likely answer. Exact but for answers rarer than one in fifty. Costs up
/// to 24 decodes.
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
    let entropies = entropies(&decoded.posterior.state_marginal);
    let total: f64 = entropies.iter().sum();
    let uncertain = |segment: &Segment| entropies[segment.start..segment.end].iter().sum::<f64>();
    let mut stretches: Vec<Segment> = decoded.path.segments.clone();
    stretches.sort_by(|a, b| uncertain(b).total_cmp(&uncertain(a)));
    let mut kept: Vec<usize> = Vec::new();
    for stretch in stretches {
        if kept.len() == CANDIDATES.max(most) {
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

    let mut questions = Vec::with_capacity(kept.len());
    for bin in kept {
        let choices = choices(&decoded.posterior.state_marginal, bin);
        let mut after = 0.0;
        let mut covered = 0.0;
        for choice in &choices {
            let mut supposed = answers.to_vec();
            supposed.push(choice.answer.clone());
            // A choice with a chance above zero cannot be impossible, but for rounding.
            if let Ok(then) = decoder.decode(heard, &supposed, workspace) {
                let left: f64 = self::entropies(&then.posterior.state_marginal).iter().sum();
                after += choice.probability * left;
                covered += choice.probability;
            }
        }
        // Answers that were not followed up are taken to settle nothing.
        after += (1.0 - covered) * total;
        questions.push(Question {
            time: moment(bin),
            choices,
            expected_gain: (total - after) * BIN_SECONDS,
        });
    }
    questions.sort_by(|a, b| b.expected_gain.total_cmp(&a.expected_gain));
    questions.truncate(most);
    Ok(questions)
}

/// The middle of a bin.
fn moment(bin: usize) -> Time {
    Time::from_seconds((bin as f64 + 0.5) * BIN_SECONDS)
}

/// Whether a person has been asked about nearly this moment.
fn asked(answers: &[Answer], bin: usize) -> bool {
    let near = |time: Time| time.distance(moment(bin)) as f64 / 1000.0 < APART as f64 * BIN_SECONDS;
    answers.iter().any(|answer| match answer {
        Answer::State { time, .. } | Answer::Top { time, .. } => near(*time),
        // Of a stretch, the moment that it was told about is its middle.
        Answer::Nothing { span } => near(span.start().later(span.millis() / 2)),
        Answer::Event { .. } => false,
    })
}

/// Entropy of the state of each bin, in bits.
pub(crate) fn entropies(marginals: &[f64]) -> Vec<f64> {
    (marginals.chunks_exact(STATES))
        .map(|row| row.iter().filter(|p| **p > 0.0).map(|p| -p * p.log2()).sum())
        .collect()
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

    // FACTS G3: the entropy of .5 .25 .25 is 1.5 bits, of .9 .1 .468996 bits.
    #[test]
    fn entropies_are_in_bits() {
        let row = |chances: &[f64]| {
            let mut row = vec![0.0; STATES];
            row[..chances.len()].copy_from_slice(chances);
            row
        };
        let rows = [row(&[0.5, 0.25, 0.25]), row(&[0.9, 0.1]), row(&[1.0])].concat();
        let found = entropies(&rows);
        for (found, value) in found.iter().zip([1.5, 0.468_996, 0.0]) {
            assert!((found - value).abs() < 1e-6);
        }
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
