//! Which talk belongs to a round.

use academy::{Note, Round, Time};
use talk::{Cue, Talk};

/// People tell what they have seen, so that a few seconds of talk after the end belong to the
/// round; what comes later is about something else.
const LATE_MILLIS: u64 = 5_000;

/// The talk over a round: what was said until shortly after its end, and a note about what was
/// left out, if anything was.
#[must_use]
pub fn talk_over(round: &Round, talk: Talk) -> (Talk, Option<Note>) {
    let (talk, lines) = until(talk, round.length().later(LATE_MILLIS));
    (talk, (lines > 0).then(|| Note::TalkLeftOut { lines, after: round.length() }))
}

/// The talk up to a moment, and how many lines of it that cuts.
fn until(talk: Talk, end: Time) -> (Talk, usize) {
    if talk.end() <= end {
        return (talk, 0);
    }
    let mut cut = 0;
    let shorter = |cue: &Cue| {
        let mut cue = cue.clone();
        let before = cue.words.len();
        cue.words.retain(|word| word.span.start() < end);
        cut += usize::from(cue.words.len() < before);
        cue
    };
    let cues: Vec<Cue> = talk.cues().iter().map(shorter).collect();
    (Talk::new(cues), cut)
}
