//! Consonant skeletons: a cheap key by which strings that sound alike meet.
//!
//! The skeleton of a string is the classes of its firm consonants in order; vowels and the
//! weakest consonants leave no trace. Two strings are held against each other when their skeletons
//! are equal after leaving out at most one consonant of either. This is a heuristic: it may miss
//! two strings whose consonants differ in more than that.

use crate::phoneme::Phoneme;

/// The class of each phoneme in the order of the symbols; zero leaves no trace. 1 lips, 2 tongue
/// tip stops, 3 hissing, 4 back of the tongue, 5 nasal, 6 `L`, 7 `R`.
const CLASS: [u8; 39] = [
    0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 1, 3, 2, 2, 1, 4, 0, 3, 4, 6, 5, 5, 5, 1, 7, 3, 3,
    2, 2, 1, 0, 0, 3, 3,
];

/// The longest skeleton that is told apart; its key leaves sixteen bits free.
const LONGEST: usize = 15;

/// A skeleton packed into three bits a consonant, with a leading one to tell its length.
pub(crate) type Key = u64;

/// Calls `take` with the keys of a string of sounds: its skeleton, and the skeletons with one
/// consonant less, each once.
pub(crate) fn keys(sounds: &[Phoneme], mut take: impl FnMut(Key)) {
    let mut whole: Key = 1;
    let mut length = 0;
    for class in sounds.iter().map(|sound| CLASS[sound.index()]).filter(|class| *class > 0) {
        if length == LONGEST {
            break;
        }
        whole = whole << 3 | Key::from(class);
        length += 1;
    }
    take(whole);
    if length < 2 {
        return;
    }
    let mut left_out_last = 0;
    for after in (0..length).rev() {
        // Leaving out either of two equal neighbours gives the same key.
        let left_out = whole >> (3 * after) & 7;
        if left_out != left_out_last {
            let (before, rest) = (whole >> (3 * after + 3), whole & ((1 << (3 * after)) - 1));
            take(before << (3 * after) | rest);
        }
        left_out_last = left_out;
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn meet(a: &str, b: &str) -> bool {
        let all = |symbols: &str| {
            let mut found = Vec::new();
            keys(&Phoneme::parse_all(symbols).expect("known symbols"), |key| found.push(key));
            found
        };
        let (a, b) = (all(a), all(b));
        a.iter().any(|key| b.contains(key))
    }

    #[test]
    fn one_consonant_is_left_out_at_a_time() {
        // side control: hissing, stop, back, nasal, stop, R, L; the S and the D once each.
        let mut found = Vec::new();
        let sounds = Phoneme::parse_all("S AY D K AH N T R OW L").expect("known symbols");
        keys(&sounds, |key| found.push(key));
        let key = |classes: &[u64]| classes.iter().fold(1, |key, class| key << 3 | class);
        let whole = [3, 2, 4, 5, 2, 7, 6];
        let without = |at: usize| key(&[&whole[..at], &whole[at + 1..]].concat());
        let expected: Vec<Key> = [key(&whole)].into_iter().chain((0..7).map(without)).collect();
        assert_eq!(found, expected);
    }

    #[test]
    fn strings_that_sound_alike_meet() {
        // kimura / can you hear; underhook / under hope; omoplata / i'm a plotter
        assert!(meet("K IH M UH R AH", "K AE N Y UW HH IY R"));
        assert!(meet("AH N D AH R HH UH K", "AH N D AH R HH OW P"));
        assert!(meet("OW M OW P L AA T AH", "AY M AH P L AA T AH R"));
        assert!(!meet("K IH M UH R AH", "B AE K S T EH P"));
        assert!(meet("AY", "EY OW"));
    }
}
