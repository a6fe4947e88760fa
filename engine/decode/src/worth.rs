//! What a question is worth: in bits, by which questions are ranked, and in seconds, as people are
//! told. Ranked by seconds, the next answer alone would count; what is open stays open.

use academy::Answer;

use crate::decoder::{Decoded, Decoder, Heard};
use crate::grammar::STATES;
use crate::questions::{Choice, Question};
use crate::reader::network::BIN_SECONDS;
use crate::semi_markov::Workspace;

/// A question is worth its answer if that is expected to mend this many seconds.
///
/// Chosen on the sample rounds with automatic captions: asked on and on, 397 answers to questions
/// below it mended half a second each, 113 above it mended five. It takes the first three to six
/// questions of a round.
pub const WORTH_ASKING: f64 = 2.0;

/// Seconds of the decoded path expected to be right: the sum of the chances of its states.
#[must_use]
pub fn seconds_right(decoded: &Decoded) -> f64 {
    let marginals = &decoded.posterior.state_marginal;
    let chance = |bin: usize, state: usize| marginals[bin * STATES + state];
    (decoded.path.segments.iter())
        .flat_map(|segment| (segment.start..segment.end).map(|bin| chance(bin, segment.state)))
        .sum::<f64>()
        * BIN_SECONDS
}

/// Seconds that the answer to a question is expected to mend: the mean of [`seconds_right`] over
/// the choices by their chances, less what it is now. Answers that are not among the choices are
/// taken to mend nothing. Costs one decode for each choice.
#[must_use]
pub fn seconds_mended(
    decoder: &Decoder,
    heard: &Heard,
    decoded: &Decoded,
    answers: &[Answer],
    question: &Question,
    workspace: &mut Workspace,
) -> f64 {
    let choices = &question.choices;
    let more = expected_change(decoder, heard, decoded, answers, choices, workspace, seconds_right);
    more.max(0.0)
}

/// What is open of where they are: bits, summed over seconds.
#[must_use]
pub fn bits_open(decoded: &Decoded) -> f64 {
    entropies(&decoded.posterior.state_marginal).iter().sum::<f64>() * BIN_SECONDS
}

/// By how much one of these answers is expected to lower [`bits_open`]. Answers that are not among
/// the choices are taken to settle nothing. Costs one decode for each choice.
pub(crate) fn bits_settled(
    decoder: &Decoder,
    heard: &Heard,
    decoded: &Decoded,
    answers: &[Answer],
    choices: &[Choice],
    workspace: &mut Workspace,
) -> f64 {
    -expected_change(decoder, heard, decoded, answers, choices, workspace, bits_open)
}

/// By how much one of these answers is expected to raise a value.
fn expected_change(
    decoder: &Decoder,
    heard: &Heard,
    decoded: &Decoded,
    answers: &[Answer],
    choices: &[Choice],
    workspace: &mut Workspace,
    value: impl Fn(&Decoded) -> f64,
) -> f64 {
    let now = value(decoded);
    let mut supposed = answers.to_vec();
    let mut change = 0.0;
    for choice in choices {
        supposed.push(choice.answer.clone());
        // A choice with a chance above zero cannot be impossible, but for rounding.
        if let Ok(then) = decoder.decode(heard, &supposed, workspace) {
            change += choice.probability * (value(&then) - now);
            workspace.keep(then.posterior);
        }
        supposed.pop();
    }
    change
}

/// Entropy of the state of each bin, in bits.
pub(crate) fn entropies(marginals: &[f64]) -> Vec<f64> {
    (marginals.chunks_exact(STATES))
        .map(|row| row.iter().filter(|p| **p > 0.0).map(|p| -p * p.log2()).sum())
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
}
