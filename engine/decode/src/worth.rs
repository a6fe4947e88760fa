//! What a question is worth in seconds: by how much longer the ledger would be right after its
//! answer.

use academy::Answer;

use crate::decoder::{Decoded, Decoder, Heard};
use crate::grammar::STATES;
use crate::questions::Question;
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
    let now = seconds_right(decoded);
    let mut supposed = answers.to_vec();
    let mut mended = 0.0;
    for choice in &question.choices {
        supposed.push(choice.answer.clone());
        // A choice that contradicts earlier answers can mend nothing.
        if let Ok(then) = decoder.decode(heard, &supposed, workspace) {
            mended += choice.probability * (seconds_right(&then) - now);
        }
        supposed.pop();
    }
    mended.max(0.0)
}
