//! The sounds of English as ARPAbet names them, without stress.

/// One ARPAbet phoneme.
///
/// Stress is left out: a general recogniser's mistakes keep stress less well than sounds, and
/// terms borrowed from other languages have no settled stress in English.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Phoneme(u8);

/// The symbols, vowels first; a phoneme is an index into this table.
pub(crate) const SYMBOLS: [&str; 39] = [
    "AA", "AE", "AH", "AO", "AW", "AY", "EH", "ER", "EY", "IH", "IY", "OW", "OY", "UH", "UW", "B",
    "CH", "D", "DH", "F", "G", "HH", "JH", "K", "L", "M", "N", "NG", "P", "R", "S", "SH", "T",
    "TH", "V", "W", "Y", "Z", "ZH",
];

/// How many of the first symbols are vowels.
pub(crate) const VOWELS: usize = 15;

impl Phoneme {
    /// The phoneme with this ARPAbet symbol; a stress digit at its end is ignored.
    #[must_use]
    pub fn parse(symbol: &str) -> Option<Self> {
        let bare = symbol.trim_end_matches(['0', '1', '2']);
        SYMBOLS.iter().position(|known| *known == bare).map(|at| Phoneme(at as u8))
    }

    /// A whole pronunciation: symbols separated by spaces. `None` if any is unknown or none given.
    #[must_use]
    pub fn parse_all(symbols: &str) -> Option<Vec<Self>> {
        let all: Option<Vec<Self>> = symbols.split_whitespace().map(Phoneme::parse).collect();
        all.filter(|phonemes| !phonemes.is_empty())
    }

    /// The ARPAbet symbol.
    #[must_use]
    pub const fn symbol(self) -> &'static str {
        SYMBOLS[self.0 as usize]
    }

    /// Whether it is a vowel (or the vowel-like `ER`).
    #[must_use]
    pub const fn is_vowel(self) -> bool {
        (self.0 as usize) < VOWELS
    }

    /// The index of the phoneme in the symbol table, below 39.
    #[must_use]
    pub const fn index(self) -> usize {
        self.0 as usize
    }

    /// The phoneme with this index; indices beyond the table are taken as the last symbol.
    pub(crate) const fn from_index(index: u8) -> Self {
        if (index as usize) < SYMBOLS.len() { Phoneme(index) } else { Phoneme(38) }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn symbols_lead_back_to_their_phonemes() {
        for (at, symbol) in SYMBOLS.iter().enumerate() {
            let phoneme = Phoneme::parse(symbol).expect("a known symbol");
            assert_eq!((phoneme.index(), phoneme.symbol()), (at, *symbol));
            assert_eq!(Phoneme::from_index(at as u8), phoneme);
        }
        assert_eq!(Phoneme::parse("AH0"), Phoneme::parse("AH"));
        assert_eq!(Phoneme::parse("QQ"), None);
        assert!(Phoneme::parse_all("K AH0 M QQ").is_none());
        assert!(Phoneme::parse_all(" ").is_none());
        assert_eq!(SYMBOLS[..VOWELS].last(), Some(&"UW"));
    }
}
