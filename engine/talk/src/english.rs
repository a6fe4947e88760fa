//! Ordinary English: how its words sound and how rare they are, from a table packed when the
//! program is built. Looking a word up needs no loading and no memory of its own.
//!
//! Layout of the table (made by `build.rs`), numbers little-endian: the number of blocks (u32),
//! the offset of each block in the body (u32 each), then the body. A block holds up to sixteen
//! words in alphabetical order; a word is: letters shared with the word before (u8), further
//! letters (u8 count, bytes), rarity (u8), number of pronunciations (u8), and each of them as
//! a count (u8) and phoneme indices (u8 each).

use crate::phoneme::Phoneme;

static TABLE: &[u8] = include_bytes!(concat!(env!("OUT_DIR"), "/english.bin"));

/// What is known about an English word.
#[derive(Clone, Debug, Default, PartialEq)]
pub(crate) struct EnglishWord {
    /// Minus the natural logarithm of the word's share of all words in books; none if not counted.
    pub(crate) rarity: Option<f64>,
    /// The ways of saying it, the commonest first; empty if the dictionary lacks it.
    pub(crate) pronunciations: Vec<Vec<Phoneme>>,
}

fn number(at: usize) -> usize {
    let bytes = TABLE.get(at..at + 4).and_then(|bytes| bytes.try_into().ok());
    bytes.map_or(0, u32::from_le_bytes) as usize
}

/// Reads the table byte by byte; beyond its end every byte is zero, so that a broken table finds
/// nothing instead of failing.
struct Reader {
    at: usize,
}

impl Reader {
    fn byte(&mut self) -> u8 {
        let byte = TABLE.get(self.at).copied().unwrap_or(0);
        self.at += 1;
        byte
    }

    fn bytes(&mut self, count: usize) -> &'static [u8] {
        let bytes = TABLE.get(self.at..self.at + count).unwrap_or(&[]);
        self.at += count;
        bytes
    }
}

/// What is known about a word given in lower-case letters without apostrophes.
///
/// Complexity: a binary search over nine thousand blocks and a walk through one of them.
pub(crate) fn look_up(word: &str) -> Option<EnglishWord> {
    let word = word.as_bytes();
    if word.is_empty() || !word.iter().all(u8::is_ascii_lowercase) {
        return None;
    }
    let blocks = number(0);
    let body = 4 + 4 * blocks;
    let block_start = |block: usize| body + number(4 + 4 * block);
    // The last block whose first word is not beyond the one sought.
    let (mut low, mut high) = (0, blocks);
    while low < high {
        let middle = low.midpoint(high);
        let mut reader = Reader { at: block_start(middle) + 1 };
        let length = usize::from(reader.byte());
        if reader.bytes(length) <= word { low = middle + 1 } else { high = middle }
    }
    let block = low.checked_sub(1)?;
    let end = if block + 1 < blocks { block_start(block + 1) } else { TABLE.len() };
    let mut reader = Reader { at: block_start(block) };
    // How many letters of the current entry agree with the word sought.
    let mut agreed = 0;
    while reader.at < end {
        let shared = usize::from(reader.byte());
        let length = usize::from(reader.byte());
        let rest = reader.bytes(length);
        if shared < agreed {
            // The entries have moved past the place where the word would stand.
            return None;
        }
        if shared == agreed {
            let more = rest.iter().zip(&word[agreed.min(word.len())..]);
            agreed += more.take_while(|(a, b)| a == b).count();
            if agreed == word.len() && shared + length == word.len() {
                return Some(entry(&mut reader));
            }
        }
        skip_entry(&mut reader);
    }
    None
}

fn entry(reader: &mut Reader) -> EnglishWord {
    let rarity = reader.byte();
    let count = reader.byte();
    let pronunciations = (0..count).map(|_| {
        let length = usize::from(reader.byte());
        reader.bytes(length).iter().map(|index| Phoneme::from_index(*index)).collect()
    });
    let pronunciations = pronunciations.collect();
    EnglishWord { rarity: (rarity > 0).then(|| f64::from(rarity) / 10.0), pronunciations }
}

fn skip_entry(reader: &mut Reader) {
    reader.byte();
    for _ in 0..reader.byte() {
        let length = usize::from(reader.byte());
        reader.bytes(length);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn spoken(word: &str) -> Vec<String> {
        let found = look_up(word).unwrap_or_default();
        let symbols = |p: &Vec<Phoneme>| p.iter().map(|x| x.symbol()).collect::<Vec<_>>().join(" ");
        found.pronunciations.iter().map(symbols).collect()
    }

    #[test]
    fn words_sound_as_the_dictionary_says() {
        // Lines of cmudict.dict, stress left out.
        assert_eq!(spoken("guillotine"), ["G IH L AH T IY N", "G IY Y AH T IY N"]);
        assert_eq!(spoken("camera"), ["K AE M ER AH", "K AE M R AH"]);
        assert_eq!(spoken("dogfight"), ["D AA G F AY T"]);
        assert_eq!(spoken("dont"), ["D OW N T", "D OW N"]);
        assert_eq!(spoken("a"), ["AH", "EY"]);
        assert_eq!(spoken("zzz"), Vec::<String>::new());
        assert_eq!(spoken("berimbolo"), Vec::<String>::new());
        assert!(!spoken("zyuganovs").is_empty());
        assert_eq!(look_up(""), None);
        assert_eq!(look_up("é"), None);
    }

    #[test]
    fn common_words_are_less_rare() {
        let rarity = |word: &str| look_up(word).and_then(|w| w.rarity).expect("counted");
        // frequency.txt: "the" 23135851162 of a total near 4.5e11, so -ln(share) is near 3.
        assert!((2.5..3.5).contains(&rarity("the")), "{}", rarity("the"));
        assert!(rarity("the") < rarity("camera"));
        assert!(rarity("camera") < rarity("guillotine"));
    }

    #[test]
    fn every_word_of_the_dictionary_is_found() {
        let dictionary = include_str!("../../../data/english/cmudict.dict");
        for line in dictionary.lines().step_by(7) {
            let word = line.split([' ', '(']).next().unwrap_or_default().replace('\'', "");
            if word.bytes().all(|b| b.is_ascii_lowercase()) && word.len() <= 30 {
                assert!(!spoken(&word).is_empty(), "{word}");
            }
        }
    }
}
