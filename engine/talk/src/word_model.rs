//! How likely words are in talk over rounds: pairs of neighbouring words, smoothed.
//!
//! An interpolated bigram model with absolute discounting (Ney, Essen and Kneser 1994, *CSL*
//! 8:1), learned from talk over invented rounds (`data/lexicon/word_counts.txt`) and mixed with
//! the frequencies of general English. It is packed when the program is built; nothing is loaded.
//!
//! Layout of the table, little-endian: number of words W, of pairs P, of words counted (u32
//! each); W records of 20 bytes in alphabetical order (start of the word in the strings, count,
//! first pair, all u32; the share left for unseen pairs, f32; first turned pair, u32); P pairs
//! (second word, count, u16 each) in the order of their first words; the same P pairs turned
//! (first word, count) in the order of their second words; the words' letters one after another.

use crate::english;

static TABLE: &[u8] = include_bytes!(concat!(env!("OUT_DIR"), "/word_model.bin"));

/// Taken from every pair's count, as in `build.rs`.
const DISCOUNT: f64 = 0.7;
/// The share of what coaches say that general English predicts better than other talk does.
const GENERAL: f64 = 0.06;
/// Minus the logarithm of the share of a word that the frequency list lacks: rarer than its
/// rarest word.
const UNLISTED: f64 = 19.0;
/// The least share of a word of the lexicon: half an occurrence among the words counted.
const LEXICON_FLOOR: f64 = 0.5;

/// A word as the model knows it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Spoken {
    /// Its record, if it was counted.
    id: Option<u16>,
    /// Its share of all words in such talk, and the logarithm of that.
    alone: f64,
    ln_alone: f64,
}

const RECORD: usize = 20;

fn number(at: usize) -> u32 {
    let bytes = TABLE.get(at..at + 4).and_then(|bytes| bytes.try_into().ok());
    bytes.map_or(0, u32::from_le_bytes)
}

fn words() -> usize {
    number(0) as usize
}

fn record(id: usize, field: usize) -> u32 {
    number(12 + RECORD * id + 4 * field)
}

fn letters(id: usize) -> &'static [u8] {
    let strings = 12 + RECORD * words() + 8 * number(4) as usize;
    let end = if id + 1 < words() { strings + record(id + 1, 0) as usize } else { TABLE.len() };
    TABLE.get(strings + record(id, 0) as usize..end).unwrap_or(&[])
}

/// The number of the record of `word`.
fn find(word: &str) -> Option<u16> {
    let (mut low, mut high) = (0, words());
    while low < high {
        let middle = low.midpoint(high);
        match letters(middle).cmp(word.as_bytes()) {
            std::cmp::Ordering::Equal => return u16::try_from(middle).ok(),
            std::cmp::Ordering::Less => low = middle + 1,
            std::cmp::Ordering::Greater => high = middle,
        }
    }
    None
}

impl Spoken {
    /// What the model knows of a word in lower-case letters without apostrophes.
    pub(crate) fn new(word: &str) -> Self {
        let rarity = english::look_up(word).and_then(|known| known.rarity);
        Spoken::with_rarity(word, rarity)
    }

    /// The same where the word's rarity in general English is already known.
    pub(crate) fn with_rarity(word: &str, rarity: Option<f64>) -> Self {
        let id = find(word);
        let count = id.map_or(0, |id| record(id.into(), 1));
        let here = f64::from(count) / f64::from(number(8).max(1));
        let general = (-rarity.unwrap_or(UNLISTED)).exp();
        let alone = (1.0 - GENERAL) * here + GENERAL * general;
        Spoken { id, alone, ln_alone: alone.ln() }
    }

    /// The same word, known to belong to the lexicon: it will be said, however rarely.
    pub(crate) fn of_the_lexicon(self) -> Self {
        let floor = LEXICON_FLOOR / f64::from(number(8).max(1));
        let alone = self.alone.max(floor);
        Spoken { alone, ln_alone: alone.ln(), ..self }
    }

    /// How often the word was counted in talk over rounds.
    pub(crate) fn count(self) -> u32 {
        self.id.map_or(0, |id| record(id.into(), 1))
    }

    /// The number of its record, if it was counted.
    pub(crate) fn id(self) -> Option<u16> {
        self.id
    }

    /// The logarithm of its share of all words.
    pub(crate) fn ln_alone(self) -> f64 {
        self.ln_alone
    }

    /// The logarithm of the chance that this word follows `before` (or starts the talk).
    pub(crate) fn after(self, before: Option<Spoken>) -> f64 {
        match before.and_then(|before| before.id) {
            None => self.ln_alone,
            Some(first) => self.after_seen(first, pair(first.into(), self.id)),
        }
    }

    /// The same where it is known how often it was counted after the word with that record.
    pub(crate) fn after_seen(self, first: u16, together: u32) -> f64 {
        if together == 0 {
            return ln_left(first) + self.ln_alone;
        }
        let first = usize::from(first);
        let direct = (f64::from(together) - DISCOUNT) / f64::from(record(first, 1).max(1));
        (direct + f64::from(f32::from_bits(record(first, 3))) * self.alone).ln()
    }

    /// How often this word was counted right after `before`; pairs counted once are not known.
    pub(crate) fn count_after(self, before: Spoken) -> u32 {
        before.id.map_or(0, |first| pair(first.into(), self.id))
    }
}

/// The logarithm of the share that a word leaves to words not counted after it.
pub(crate) fn ln_left(first: u16) -> f64 {
    f64::from(f32::from_bits(record(first.into(), 3))).ln()
}

/// One pair of the table: the other word and how often they were counted together.
fn pair_at(at: usize) -> (u16, u32) {
    let packed = number(12 + RECORD * words() + 4 * at);
    (packed as u16, packed >> 16)
}

/// Where the pairs of a word start and end; `field` tells whether as given or turned.
fn pairs_of(word: usize, field: usize) -> std::ops::Range<usize> {
    let all = number(4) as usize;
    let skip = if field == 4 { all } else { 0 };
    let end = if word + 1 < words() { record(word + 1, field) as usize } else { all };
    skip + record(word, field) as usize..skip + end
}

/// The words counted after the one with this record, and how often.
pub(crate) fn followers(word: u16) -> impl Iterator<Item = (u16, u32)> {
    pairs_of(word.into(), 2).map(pair_at)
}

/// The words counted before the one with this record, and how often.
pub(crate) fn leaders(word: u16) -> impl Iterator<Item = (u16, u32)> {
    pairs_of(word.into(), 4).map(pair_at)
}

fn pair(first: usize, second: Option<u16>) -> u32 {
    let Some(second) = second else { return 0 };
    let std::ops::Range { start: mut low, end: mut high } = pairs_of(first, 2);
    while low < high {
        let middle = low.midpoint(high);
        let (found, count) = pair_at(middle);
        match found.cmp(&second) {
            std::cmp::Ordering::Equal => return count,
            std::cmp::Ordering::Less => low = middle + 1,
            std::cmp::Ordering::Greater => high = middle,
        }
    }
    0
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The counts the table was packed from, read again in the plain way.
    fn counts(first: &str, second: &str) -> (u32, u32, u32) {
        let text = include_str!("../../../data/lexicon/word_counts.txt");
        let (mut total, mut alone, mut together) = (0, 0, 0);
        for line in text.lines() {
            let parts: Vec<&str> = line.split(' ').collect();
            let count = || parts[parts.len() - 1].parse::<u32>().expect("a count");
            match parts[..] {
                [word, _] => {
                    total += count();
                    alone += if word == first { count() } else { 0 };
                }
                [a, b, _] if (a, b) == (first, second) => together += count(),
                _ => {}
            }
        }
        (total, alone, together)
    }

    #[test]
    fn the_packed_table_holds_the_counts() {
        for (first, second) in [("half", "guard"), ("the", "mount"), ("<name>", "is"), ("a", "a")] {
            let (total, alone, together) = counts(first, second);
            let (a, b) = (Spoken::new(first), Spoken::new(second));
            assert_eq!(number(8), total);
            assert_eq!((a.count(), b.count_after(a)), (alone, together), "{first} {second}");
        }
        assert_eq!(Spoken::new("berimbolooo").count(), 0);
        // The turned pairs are the same pairs.
        let half = Spoken::new("half").id().expect("counted");
        let guard = Spoken::new("guard").id().expect("counted");
        let there = followers(half).find(|(word, _)| *word == guard);
        let back = leaders(guard).find(|(word, _)| *word == half);
        assert!(there.is_some());
        assert_eq!(there.map(|(_, count)| count), back.map(|(_, count)| count));
    }

    #[test]
    fn chances_after_a_word_add_up_to_one() {
        // Over counted words, discounted pairs and what is left for the rest make one, less the
        // share of words that were never counted.
        for first in ["half", "the", "he"] {
            let before = Spoken::new(first);
            let sum: f64 = (0..words())
                .map(|id| String::from_utf8_lossy(letters(id)).into_owned())
                .map(|word| Spoken::new(&word).after(Some(before)).exp())
                .sum();
            assert!((0.93..=1.0 + 1e-6).contains(&sum), "{first}: {sum}");
        }
    }

    #[test]
    fn the_trade_is_expected() {
        let after = |a: &str, b: &str| Spoken::new(b).after(Some(Spoken::new(a)));
        assert!(after("half", "guard") > after("half", "card"));
        assert!(after("the", "mount") > after("the", "amount"));
        assert!(Spoken::new("camera").after(None) < Spoken::new("kimura").after(None));
    }
}
