//! From drafts to a talk: every word gets a time.

use super::draft::{DraftCue, DraftWord};
use super::lines::LATEST;
use super::rolling;
use crate::syllables::syllables;
use crate::{Cue, Talk, Word};
use academy::{Span, Time};

/// Nobody speaks faster than this, in milliseconds per syllable: ten syllables a second, about
/// twice the rate of ordinary talk (common practice).
pub(crate) const FASTEST: u64 = 100;
/// Slower than this is a pause and not speech, in milliseconds per syllable. Measured on the word
/// times of 34 commented rounds (captions of eight words, times taken off and spread again): with
/// no limit words are off by 0.48 s in the mean, with this one by 0.53 s, with 400 by 0.57 s; the
/// limit is for captions that stay on the screen after they were said.
pub(crate) const SLOWEST: u64 = 500;
/// Talk over a round with its pauses, in milliseconds per syllable; gives a length to a last block
/// that has none. The mean of the same 34 rounds, 2.8 syllables a second.
pub(crate) const ORDINARY: u64 = 360;
/// In a block of talk, slower than this is mostly silence, in milliseconds per syllable: a note at
/// a moment, followed by nothing for a while, is about the moment. Three times [`ORDINARY`], about.
pub(crate) const SLOWEST_IN_BLOCK: u64 = 1000;
/// A cue longer than this is a block of talk with its pauses, in milliseconds; one up to this
/// length is a caption, which may stay on the screen after it was said.
pub(crate) const LONGEST_CAPTION: u64 = 12_000;

/// Makes a talk of cues in any order. With `captions`, repeated lines of rolling captions are read
/// once, and a cue with any word time has its first word at its start; so has a cue of a single
/// word in a file with any word time.
pub(super) fn finish(mut drafts: Vec<DraftCue>, captions: bool) -> Talk {
    drafts.sort_by_key(|draft| draft.span.start());
    if captions {
        rolling::read_once(&mut drafts);
    }
    let timed = |draft: &DraftCue| draft.words.iter().any(|word| word.start.is_some());
    let any_timed = captions && drafts.iter().any(timed);
    let mut cues = Vec::with_capacity(drafts.len());
    let mut next = LATEST;
    let mut later = LATEST;
    // From the end, so that the next later start is at hand.
    for mut draft in drafts.into_iter().rev() {
        let start = draft.span.start();
        if start < next {
            later = next;
            next = start;
        }
        if any_timed && (draft.words.len() == 1 || timed(&draft)) {
            let first = &mut draft.words[0];
            first.start = first.start.or(Some(start));
        }
        if draft.words.is_empty() {
            continue;
        }
        let spans = place(&draft.words, draft.span, later);
        push_voices(draft, &spans, &mut cues);
    }
    cues.reverse();
    Talk::new(cues)
}

/// When a word ends that starts at `start`, if the file does not say so: after a plausible time,
/// or at `bound`, when the next thing begins.
pub(crate) fn implied_end(word: &str, start: Time, bound: Time) -> Time {
    bound.min(start.later(SLOWEST * syllables(word))).max(start)
}

/// The span of each word of a cue; `later` is when the next later cue starts.
///
/// Words with a start keep it. The others share the time between their neighbours in proportion
/// to their syllables, not slower than [`SLOWEST`], or [`SLOWEST_IN_BLOCK`] in a cue that is a
/// block. The last ones may run past the end of the cue at [`FASTEST`], but not into the next cue.
pub(super) fn place(words: &[DraftWord], cue: Span, later: Time) -> Vec<Span> {
    let block = cue.millis() > LONGEST_CAPTION && words.iter().all(|word| word.start.is_none());
    let slowest = if block { SLOWEST_IN_BLOCK } else { SLOWEST };
    let mut spans = Vec::with_capacity(words.len());
    let mut free_from = cue.start();
    let mut first = 0;
    while first < words.len() {
        // A run: up to a word with an end, or before the next word with a start.
        let mut last = first;
        while words[last].end.is_none()
            && words.get(last + 1).is_some_and(|word| word.start.is_none())
        {
            last += 1;
        }
        let run = &words[first..=last];
        let counts: Vec<u64> = run.iter().map(|word| syllables(&word.text)).collect();
        let total: u64 = counts.iter().sum();
        let next = words[last + 1..].iter().find_map(|word| word.start);
        let start = run[0].start.unwrap_or(free_from).min(next.unwrap_or(LATEST));
        let end = match run[last - first].end {
            Some(end) => end.min(next.unwrap_or(end)),
            None => {
                let guessed_last = run.len() > 1 || run[0].start.is_none();
                let needed = start.later(FASTEST * total).min(later);
                let bound = match next {
                    Some(next) => next,
                    None if guessed_last => cue.end().max(needed),
                    None => cue.end(),
                };
                bound.min(start.later(slowest * total))
            }
        }
        .max(start);
        share(start, end, &counts, &mut spans);
        free_from = end;
        first = last + 1;
    }
    spans
}

/// Cuts a stretch of time in proportion to the counts.
fn share(start: Time, end: Time, counts: &[u64], spans: &mut Vec<Span>) {
    let length = u128::from(end.distance(start));
    let total = u128::from(counts.iter().sum::<u64>().max(1));
    let mut passed = 0u128;
    let mut from = start;
    for count in counts {
        passed += u128::from(*count);
        let millis = u64::try_from(length * passed / total).unwrap_or(u64::MAX);
        let to = start.later(millis);
        spans.push(Span::between(from, to));
        from = to;
    }
}

/// Pushes the draft, last part first, as one cue per voice; where the voice changes, the cue is
/// cut at the start of the first word of the new voice.
fn push_voices(mut draft: DraftCue, spans: &[Span], cues: &mut Vec<Cue>) {
    let mut end = draft.span.end();
    if draft.voices.first().is_none_or(|(from, _)| *from > 0) {
        draft.voices.insert(0, (0, None));
    }
    for (from, voice) in draft.voices.into_iter().rev() {
        let start = if from == 0 {
            draft.span.start()
        } else {
            spans.get(from).map_or(end, |span| span.start())
        };
        let words: Vec<Word> = draft
            .words
            .split_off(from.min(draft.words.len()))
            .into_iter()
            .zip(&spans[from.min(spans.len())..])
            .map(|(word, span)| Word { text: word.text, span: *span, timed: word.start.is_some() })
            .collect();
        // Words may run past the end of the cue, and then a later voice starts past it.
        cues.push(Cue { span: Span::between(start, end.max(start)), voice, words });
        end = start;
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn at(millis: u64) -> Time {
        Time::from_millis(millis)
    }

    fn word(text: &str, start: Option<u64>, end: Option<u64>) -> DraftWord {
        DraftWord { text: text.to_owned(), start: start.map(at), end: end.map(at) }
    }

    fn placed(words: &[DraftWord], start: u64, end: u64, later: u64) -> Vec<(u64, u64)> {
        place(words, Span::between(at(start), at(end)), at(later))
            .into_iter()
            .map(|span| (span.start().millis(), span.end().millis()))
            .collect()
    }

    #[test]
    fn words_share_a_caption_by_syllables() {
        let words = ["he", "passes", "now"].map(DraftWord::untimed);
        let expected = [(1_000, 1_400), (1_400, 2_200), (2_200, 2_600)];
        assert_eq!(placed(&words, 1_000, 2_600, 9_000), expected);
    }

    #[test]
    fn a_caption_that_stays_is_over_when_its_words_are() {
        let words = ["he", "passes"].map(DraftWord::untimed);
        let last = (1_000 + SLOWEST, 1_000 + 3 * SLOWEST);
        assert_eq!(placed(&words, 1_000, 9_000, 9_000)[1], last);
    }

    #[test]
    fn a_block_is_filled_unless_it_is_mostly_silence() {
        let long: Vec<DraftWord> = (0..50).map(|_| DraftWord::untimed("go")).collect();
        assert_eq!(placed(&long, 0, 40_000, 40_000)[49], (39_200, 40_000));
        let short = ["go", "go"].map(DraftWord::untimed);
        assert_eq!(placed(&short, 0, 40_000, 40_000)[1], (SLOWEST_IN_BLOCK, 2 * SLOWEST_IN_BLOCK));
    }

    #[test]
    fn too_many_words_run_on_as_fast_as_one_can_speak_but_not_into_the_next_cue() {
        let words: Vec<DraftWord> = (0..10).map(|_| DraftWord::untimed("go")).collect();
        assert_eq!(placed(&words, 0, 100, 5_000)[9], (9 * FASTEST, 10 * FASTEST));
        assert_eq!(placed(&words, 0, 100, 500)[9], (450, 500));
    }

    #[test]
    fn words_between_timed_ones_share_what_is_left() {
        let words = [
            word("he", Some(1_000), None),
            word("will", None, None),
            word("pass", Some(1_600), Some(1_900)),
            word("it", None, None),
            word("now", Some(2_500), None),
        ];
        let expected =
            [(1_000, 1_300), (1_300, 1_600), (1_600, 1_900), (1_900, 2_400), (2_500, 2_800)];
        assert_eq!(placed(&words, 1_000, 2_800, 9_000), expected);
    }
}
