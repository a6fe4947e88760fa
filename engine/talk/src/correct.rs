//! Putting the trade's words and the athletes' names right in a talk.

use std::ops::Range;

use academy::{Span, Time};

use crate::corrections::Correction;
use crate::timed_words::{Cue, Talk, Word};

/// The same talk with the words put right: the same cues at the same times, and no cue emptied.
///
/// A corrected stretch keeps the punctuation around it and the case it was written in, and names
/// take the case they are given in. Where the number of words changes, the stretch's time is
/// shared out by letters and those words are marked as not timed.
#[must_use]
pub fn correct(talk: &Talk, corrections: &[Correction]) -> Talk {
    let mut cues: Vec<Cue> = talk.cues().to_vec();
    let mut places: Vec<(usize, usize)> = Vec::new();
    for (at, cue) in cues.iter().enumerate() {
        places.extend((0..cue.words.len()).map(|word| (at, word)));
    }
    // From the end, so that earlier places stay valid.
    let mut corrections: Vec<&Correction> = corrections.iter().collect();
    corrections.sort_by_key(|correction| correction.words.start);
    let mut untouched = places.len();
    for correction in corrections.into_iter().rev() {
        let Some(places) = places.get(correction.words.clone()) else { continue };
        if places.is_empty() || correction.words.end > untouched {
            continue;
        }
        replace(&mut cues, places, &correction.said);
        untouched = correction.words.start;
    }
    Talk::new(cues)
}

fn replace(cues: &mut [Cue], places: &[(usize, usize)], said: &str) {
    let mut said: Vec<String> = said.split_whitespace().map(str::to_owned).collect();
    let old: Vec<&str> =
        places.iter().map(|(cue, word)| cues[*cue].words[*word].text.as_str()).collect();
    dress(&mut said, &old);
    // The words of each cue concerned, in order: how many new ones it gets.
    let mut parts: Vec<(usize, Range<usize>)> = Vec::new();
    for (cue, word) in places {
        match parts.last_mut() {
            Some((known, words)) if known == cue => words.end = word + 1,
            _ => parts.push((*cue, *word..word + 1)),
        }
    }
    let shares = shares(&parts, places.len(), said.len());
    let emptied = parts
        .iter()
        .zip(&shares)
        .any(|((cue, words), share)| *share == 0 && words.len() == cues[*cue].words.len());
    if said.is_empty() || emptied {
        return;
    }
    let mut rest = said.into_iter();
    for ((cue, words), share) in parts.into_iter().zip(shares) {
        let new: Vec<String> = rest.by_ref().take(share).collect();
        let old = &cues[cue].words[words.clone()];
        let new = timed(old, new);
        cues[cue].words.splice(words, new);
    }
}

/// How many of the new words each part gets, by where they fall among the old ones.
fn shares(parts: &[(usize, Range<usize>)], old: usize, new: usize) -> Vec<usize> {
    let mut shares = Vec::with_capacity(parts.len());
    let (mut passed, mut given) = (0, 0);
    for (_, words) in parts {
        passed += words.len();
        let until = (passed * new).div_ceil(old.max(1)).min(new);
        shares.push(until - given);
        given = until;
    }
    shares
}

/// New words in the time of the old ones.
fn timed(old: &[Word], new: Vec<String>) -> Vec<Word> {
    if old.len() == new.len() {
        let pairs = old.iter().zip(new);
        return pairs.map(|(old, text)| Word { text, span: old.span, timed: old.timed }).collect();
    }
    let start = old.iter().map(|word| word.span.start()).min().unwrap_or_default();
    let end = old.iter().map(|word| word.span.end()).max().unwrap_or_default();
    let letters: usize = new.iter().map(|text| text.chars().count().max(1)).sum();
    let length = end.millis().saturating_sub(start.millis());
    // One word in the place of several was timed as they were.
    let timed = new.len() == 1 && old.iter().all(|word| word.timed);
    let mut passed = 0;
    let at = |passed: usize| {
        Time::from_millis(start.millis() + length * passed as u64 / letters.max(1) as u64)
    };
    new.into_iter()
        .map(|text| {
            let from = at(passed);
            passed += text.chars().count().max(1);
            Word { text, span: Span::new(from, at(passed)).unwrap_or_default(), timed }
        })
        .collect()
}

/// Gives new words the punctuation around the old ones, and their case.
fn dress(said: &mut [String], old: &[&str]) {
    let (Some(first_old), Some(last_old)) = (old.first(), old.last()) else { return };
    let letters = |c: char| c.is_alphanumeric();
    let opening: String = first_old.chars().take_while(|c| !letters(*c)).collect();
    let closing = last_old.rfind(letters).map_or("", |at| {
        let after = last_old[at..].chars().next().map_or(0, char::len_utf8);
        &last_old[at + after..]
    });
    // What stands inside the stretch stays at about its place.
    let inside = old[..old.len() - 1].iter().enumerate();
    let (before, after) = (old.len(), said.len());
    let marks: Vec<(usize, &str)> = inside
        .filter_map(|(place, word)| {
            let at = word.rfind(letters)?;
            let end = at + word[at..].chars().next().map_or(0, char::len_utf8);
            let place = ((place + 1) * after).div_ceil(before).saturating_sub(1);
            (end < word.len()).then(|| (place, &word[end..]))
        })
        .collect();
    let all: String = old.concat();
    let shouted = all.chars().filter(|c| c.is_alphabetic()).count() > 1
        && !all.chars().any(char::is_lowercase);
    if shouted {
        said.iter_mut().for_each(|word| *word = word.to_uppercase());
    } else if first_old.chars().find(|c| c.is_alphabetic()).is_some_and(char::is_uppercase)
        && let Some(first) = said.first_mut()
    {
        let mut letters = first.chars();
        let capital = letters.next().into_iter().flat_map(char::to_uppercase);
        *first = capital.chain(letters).collect();
    }
    if let Some(first) = said.first_mut() {
        first.insert_str(0, &opening);
    }
    for (place, mark) in marks {
        // Two words that became one end together: what ends the stretch counts.
        let last = place + 1 >= after;
        if let Some(word) = said.get_mut(place).filter(|_| !last || closing.is_empty()) {
            word.push_str(mark);
        }
    }
    if let Some(last) = said.last_mut() {
        last.push_str(closing);
    }
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    fn talk(cues: &[&str]) -> Talk {
        let cue = |(at, text): (usize, &&str)| {
            let start = Time::from_millis(at as u64 * 4000);
            let time = |word: usize| start.later(word as u64 * 500);
            let span = |from: Time, to: Time| Span::new(from, to).expect("forwards");
            let words: Vec<Word> = text
                .split_whitespace()
                .enumerate()
                .map(|(n, text)| Word {
                    text: text.to_owned(),
                    span: span(time(n), time(n + 1)),
                    timed: true,
                })
                .collect();
            Cue { span: span(start, start.later(4000)), voice: None, words }
        };
        Talk::new(cues.iter().enumerate().map(cue).collect())
    }

    fn text(talk: &Talk) -> String {
        let cues = talk.cues().iter().map(|cue| {
            cue.words.iter().map(|word| word.text.as_str()).collect::<Vec<_>>().join(" ")
        });
        cues.collect::<Vec<_>>().join(" | ")
    }

    fn one(words: Range<usize>, said: &str) -> Correction {
        Correction { words, said: said.to_owned(), probability: 0.9 }
    }

    fn check(cues: &[&str], words: Range<usize>, said: &str, expected: &str) {
        let before = talk(cues);
        let after = correct(&before, &[one(words, said)]);
        assert_eq!(text(&after), expected);
        let spans = |talk: &Talk| talk.cues().iter().map(|cue| cue.span).collect::<Vec<_>>();
        assert_eq!(spans(&before), spans(&after));
    }

    #[test]
    fn words_are_put_right_in_place() {
        check(&["the side can troll again"], 1..4, "side control", "the side control again");
        check(&["a \"Little arena,\" guard"], 1..3, "de la riva", "a \"De la riva,\" guard");
        check(&["so PETTERS passes"], 1..2, "Petra's", "so PETRA'S passes");
        check(&["and petters passes"], 1..2, "Petra's", "and Petra's passes");
        check(&["on the", "riva guard"], 1..3, "de la riva", "on de la | riva guard");
    }

    #[test]
    fn punctuation_stays_where_it_was() {
        check(&["so, half card, now"], 1..3, "half guard", "so, half guard, now");
        check(&["the half, card now"], 1..3, "half guard", "the half, guard now");
        check(&["an under, hook now"], 1..3, "underhook", "an underhook, now");
        check(&["an under, hook. Now"], 1..3, "underhook", "an underhook. Now");
        check(&["a little, arena guard"], 1..3, "de la riva", "a de la, riva guard");
        check(&["she, breweno - gets up"], 1..2, "Bruno", "she, Bruno - gets up");
    }

    #[test]
    fn no_cue_is_emptied() {
        check(&["under", "hook"], 0..2, "underhook", "under | hook");
        check(&["an under", "hook now"], 1..3, "underhook", "an underhook | now");
    }

    #[test]
    fn times_are_shared_out_by_letters() {
        let after = correct(&talk(&["my ab now"]), &[one(1..2, "x yyyy")]);
        let words = &after.cues()[0].words;
        let times: Vec<u64> = words.iter().map(|word| word.span.start().millis()).collect();
        assert_eq!(times, [0, 500, 600, 1000]);
        assert_eq!(
            words.iter().map(|word| word.timed).collect::<Vec<_>>(),
            [true, false, false, true]
        );
    }

    proptest! {
        #[test]
        fn any_correction_keeps_cues_and_order(
            sizes in prop::collection::vec(1usize..5, 1..6),
            edits in prop::collection::vec((0usize..20, 0usize..5, "[a-z ]{0,12}"), 0..6),
        ) {
            let lines: Vec<String> = sizes.iter().map(|n| vec!["word"; *n].join(" ")).collect();
            let lines: Vec<&str> = lines.iter().map(String::as_str).collect();
            let before = talk(&lines);
            let edits: Vec<Correction> =
                edits.iter().map(|(at, n, said)| one(*at..at + n, said)).collect();
            let after = correct(&before, &edits);
            prop_assert_eq!(before.cues().len(), after.cues().len());
            for cue in after.cues() {
                prop_assert!(!cue.words.is_empty());
                prop_assert!(cue.words.is_sorted_by_key(|word| word.span.start()));
            }
        }
    }
}
