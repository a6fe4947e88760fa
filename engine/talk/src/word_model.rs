//! How likely words are in talk over rounds: pairs of neighbouring words, smoothed.
//!
//! An interpolated bigram model with absolute discounting (Ney, Essen and Kneser 1994, *CSL*
//! 8:1), learned from talk over invented rounds (`data/lexicon/word_counts.txt`) and mixed with
//! the frequencies of general English. It is packed when the program is built; nothing is loaded.
//!
//! Layout of the table, little-endian: number of words W, of pairs P, of words counted (u32
//! each); W records of 24 bytes in alphabetical order (start of the word in the strings, count,
//! first pair, first turned pair, u32 each; the logarithms of the share left for unseen pairs and
//! of the word's share of all words, f32 each); P pairs (second word, count, u16 each; logarithm
//! of the chance of the second after the first, f32) in the order of their first words; the same P
//! pairs turned (first word instead of second) in the order of their second words; the words'
//! letters one after another.

use crate::english;

static TABLE: &[u8] = include_bytes!(concat!(env!("OUT_DIR"), "/word_model.bin"));

/// The share of general English in a word's chance, as in `build.rs`.
const GENERAL: f64 = 0.06;
/// Minus the logarithm of the share of a word that the frequency list lacks: rarer than its
/// rarest word.
const UNLISTED: f64 = 19.0;
/// The least share of a word of the lexicon: half an occurrence among the words counted.
const LEXICON_FLOOR: f64 = 0.5;

const HEADER: usize = 12;
const RECORD: usize = 24;
const PAIR: usize = 8;

/// A word as the model knows it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Spoken {
    /// Its record, if it was counted.
    id: Option<u16>,
    /// The logarithm of its share of all words in such talk.
    ln_alone: f32,
    /// Whether it is a word at all, as far as dictionaries and talk over rounds tell.
    known: bool,
}

/// The logarithm of the chance of some words in talk over rounds, one after the other, where the
/// first comes after `before`.
pub(crate) fn ln_chance<'a>(before: Option<&str>, words: impl IntoIterator<Item = &'a str>) -> f64 {
    let mut before = before.map(Spoken::new);
    let spoken = words.into_iter().map(Spoken::new);
    spoken.map(|word| word.after(before.replace(word))).sum()
}

/// Whether coaches say this word over rounds, as far as `data/lexicon/word_counts.txt` tells: an
/// ordinary word, whoever may bear it as a name. In lower-case letters without apostrophes.
#[must_use]
pub fn is_said_over_rounds(word: &str) -> bool {
    find(word).is_some()
}

fn bytes<const N: usize>(at: usize) -> [u8; N] {
    TABLE.get(at..at + N).and_then(|bytes| bytes.try_into().ok()).unwrap_or([0; N])
}

fn number(at: usize) -> u32 {
    u32::from_le_bytes(bytes(at))
}

fn words() -> usize {
    number(0) as usize
}

fn pairs() -> usize {
    number(4) as usize
}

fn counted() -> f64 {
    f64::from(number(8).max(1))
}

fn record(id: usize, field: usize) -> u32 {
    number(HEADER + RECORD * id + 4 * field)
}

fn letters(id: usize) -> &'static [u8] {
    let strings = HEADER + RECORD * words() + 2 * PAIR * pairs();
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
        Spoken::counted(word).unwrap_or_else(|| {
            let english = english::look_up(word);
            let rarity = english.as_ref().and_then(|word| word.rarity);
            let ln_alone = (GENERAL.ln() - rarity.unwrap_or(UNLISTED)) as f32;
            let digits = word.bytes().all(|b| b.is_ascii_digit());
            Spoken { id: None, ln_alone, known: english.is_some() || digits }
        })
    }

    /// The same for words that were counted in talk over rounds only.
    pub(crate) fn counted(word: &str) -> Option<Self> {
        find(word).map(|id| Spoken {
            id: Some(id),
            ln_alone: f32::from_bits(record(id.into(), 5)),
            known: true,
        })
    }

    /// The same word, known to belong to the lexicon: it will be said, however rarely.
    pub(crate) fn of_the_lexicon(self) -> Self {
        let floor = (LEXICON_FLOOR / counted()).ln() as f32;
        Spoken { ln_alone: self.ln_alone.max(floor), ..self }
    }

    /// Whether dictionaries or talk over rounds hold it.
    pub(crate) fn is_known(self) -> bool {
        self.known
    }

    /// The number of its record, if it was counted.
    pub(crate) fn id(self) -> Option<u16> {
        self.id
    }

    /// The logarithm of its share of all words.
    pub(crate) fn ln_alone(self) -> f32 {
        self.ln_alone
    }

    /// The logarithm of the chance that this word follows `before` (or starts the talk).
    pub(crate) fn after(self, before: Option<Spoken>) -> f64 {
        let Some(first) = before.and_then(|before| before.id) else { return self.ln_alone.into() };
        match pair(first, self.id) {
            Some(pair) => pair.chance.into(),
            None => f64::from(ln_left(first)) + f64::from(self.ln_alone),
        }
    }

    /// Whether this word was counted right after `before` more than once.
    pub(crate) fn follows(self, before: Spoken) -> bool {
        before.id.is_some_and(|first| pair(first, self.id).is_some_and(|pair| pair.count > 0))
    }
}

/// The logarithm of the share that a word leaves to words not counted after it.
pub(crate) fn ln_left(first: u16) -> f32 {
    f32::from_bits(record(first.into(), 4))
}

/// How many words have records; their numbers are below this.
pub(crate) fn records() -> usize {
    words()
}

/// Two neighbouring words, seen from one of them.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Pair {
    /// The record of the other word.
    pub(crate) other: u16,
    /// How often they were counted together.
    pub(crate) count: u16,
    /// The logarithm of the chance of the second after the first.
    pub(crate) chance: f32,
}

fn pair_at(at: usize) -> Pair {
    let [a, b, c, d, e, f, g, h] = bytes(HEADER + RECORD * words() + PAIR * at);
    Pair {
        other: u16::from_le_bytes([a, b]),
        count: u16::from_le_bytes([c, d]),
        chance: f32::from_le_bytes([e, f, g, h]),
    }
}

/// Where the pairs of a word start and end, as given (field 2) or turned (field 3).
fn pairs_of(word: u16, field: usize) -> std::ops::Range<usize> {
    let word = usize::from(word);
    let skip = if field == 3 { pairs() } else { 0 };
    let end = if word + 1 < words() { record(word + 1, field) as usize } else { pairs() };
    skip + record(word, field) as usize..skip + end
}

/// The words counted after the one with this record.
pub(crate) fn followers(word: u16) -> impl Iterator<Item = Pair> {
    pairs_of(word, 2).map(pair_at)
}

/// The words counted before the one with this record.
pub(crate) fn leaders(word: u16) -> impl Iterator<Item = Pair> {
    pairs_of(word, 3).map(pair_at)
}

fn pair(first: u16, second: Option<u16>) -> Option<Pair> {
    let second = second?;
    let std::ops::Range { start: mut low, end: mut high } = pairs_of(first, 2);
    while low < high {
        let middle = low.midpoint(high);
        let found = pair_at(middle);
        match found.other.cmp(&second) {
            std::cmp::Ordering::Equal => return Some(found),
            std::cmp::Ordering::Less => low = middle + 1,
            std::cmp::Ordering::Greater => high = middle,
        }
    }
    None
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
            let (x, y) = (a.id().expect("counted"), b.id().expect("counted"));
            assert_eq!(record(x.into(), 1), alone);
            assert_eq!(pair(x, Some(y)).map_or(0, |pair| pair.count.into()), together);
            assert_eq!(b.follows(a), together > 0);
        }
        assert_eq!(Spoken::new("berimbolooo").id(), None);
        // The turned pairs are the same pairs.
        let half = Spoken::new("half").id().expect("counted");
        let guard = Spoken::new("guard").id().expect("counted");
        let there = followers(half).find(|pair| pair.other == guard);
        let back = leaders(guard).find(|pair| pair.other == half);
        assert!(there.is_some());
        assert_eq!(there.map(|pair| pair.chance), back.map(|pair| pair.chance));
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
