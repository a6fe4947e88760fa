//! Letters to sounds: the pronouncing dictionary first, own rules for the words it lacks.
//!
//! The rules are common knowledge of English and of continental spelling, kept short: they need
//! to come near enough for a distance, not to be right.

use crate::english;
use crate::phoneme::Phoneme;

/// How the letters of an unknown word are read.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Spelling {
    /// As an English reader would say it.
    English,
    /// With the vowels of most of Europe, Brazil and romanised Japanese.
    Continental,
}

/// The ways an English speaker says a word given in lower-case letters, or a number in digits;
/// never empty for either, empty otherwise.
pub(crate) fn pronounce(word: &str) -> Vec<Vec<Phoneme>> {
    if word.bytes().any(|b| b.is_ascii_digit()) {
        let words = number(word);
        let spoken = words.iter().flat_map(|word| pronounce(word).into_iter().next());
        let spoken: Vec<Phoneme> = spoken.flatten().collect();
        return if spoken.is_empty() { Vec::new() } else { vec![spoken] };
    }
    let known = english::look_up(word).map(|found| found.pronunciations).unwrap_or_default();
    let mut spoken: Vec<Vec<Phoneme>> = if known.is_empty() {
        let read = by_rules(word, Spelling::English);
        if read.is_empty() { Vec::new() } else { vec![read] }
    } else {
        known
    };
    for phonemes in &mut spoken {
        split_rhotic(phonemes);
    }
    spoken
}

/// Writes `ER` as `AH R`, so that "camura" and "kimura" differ by nothing at that place.
pub(crate) fn split_rhotic(phonemes: &mut Vec<Phoneme>) {
    let parse = |symbol| Phoneme::parse(symbol);
    let (Some(er), Some(ah), Some(r)) = (parse("ER"), parse("AH"), parse("R")) else { return };
    if phonemes.contains(&er) {
        *phonemes = phonemes
            .iter()
            .flat_map(|p| if *p == er { [Some(ah), Some(r)] } else { [Some(*p), None] })
            .flatten()
            .collect();
        // "ER" before a vowel is often followed by an R of its own: "AH R R" says nothing more.
        phonemes.dedup_by(|b, a| *a == r && *b == r);
    }
}

/// A number in digits as it is spoken, up to four digits; longer ones and mixed pieces ("4th")
/// digit by digit.
fn number(digits: &str) -> Vec<&'static str> {
    const SMALL: [&str; 20] = [
        "zero",
        "one",
        "two",
        "three",
        "four",
        "five",
        "six",
        "seven",
        "eight",
        "nine",
        "ten",
        "eleven",
        "twelve",
        "thirteen",
        "fourteen",
        "fifteen",
        "sixteen",
        "seventeen",
        "eighteen",
        "nineteen",
    ];
    const TENS: [&str; 8] =
        ["twenty", "thirty", "forty", "fifty", "sixty", "seventy", "eighty", "ninety"];
    let value = if digits.len() <= 4 { digits.parse::<usize>().ok() } else { None };
    let Some(value) = value else {
        let single = digits.bytes().filter(u8::is_ascii_digit);
        return single.take(12).map(|digit| SMALL[usize::from(digit - b'0')]).collect();
    };
    let mut words = Vec::new();
    if value >= 1000 {
        words.extend([SMALL[value / 1000], "thousand"]);
    }
    if value % 1000 >= 100 {
        words.extend([SMALL[value % 1000 / 100], "hundred"]);
    }
    match value % 100 {
        0 if value > 0 => {}
        rest @ 0..20 => words.push(SMALL[rest]),
        rest => {
            words.push(TENS[rest / 10 - 2]);
            if rest % 10 > 0 {
                words.push(SMALL[rest % 10]);
            }
        }
    }
    words
}

/// Where in a word a rule holds.
#[derive(Clone, Copy, PartialEq, Eq)]
enum At {
    Anywhere,
    Start,
    End,
    /// Before `e`, `i` or `y`.
    BeforeFront,
    /// Before one consonant and a final `e`.
    BeforeMagicE,
    /// Before a vowel letter.
    BeforeVowel,
}

use At::{Anywhere, BeforeFront, BeforeMagicE, BeforeVowel, End, Start};

/// Letters, where, sounds. The first that fits is taken, so longer ones stand first.
const ENGLISH: &[(&str, At, &str)] = &[
    ("tion", Anywhere, "SH AH N"),
    ("sion", Anywhere, "ZH AH N"),
    ("ture", End, "CH ER"),
    ("eigh", Anywhere, "EY"),
    ("igh", Anywhere, "AY"),
    ("ough", Anywhere, "OW"),
    ("augh", Anywhere, "AO"),
    ("tch", Anywhere, "CH"),
    ("dge", Anywhere, "JH"),
    ("sch", Start, "SH"),
    ("que", End, "K"),
    ("oor", Anywhere, "AO R"),
    ("our", Anywhere, "AW R"),
    ("air", Anywhere, "EH R"),
    ("ear", Anywhere, "IH R"),
    ("eer", Anywhere, "IH R"),
    ("kn", Start, "N"),
    ("gn", Start, "N"),
    ("ng", Start, "N G"),
    ("wr", Start, "R"),
    ("ps", Start, "S"),
    ("mb", End, "M"),
    ("ck", Anywhere, "K"),
    ("ch", Anywhere, "CH"),
    ("sh", Anywhere, "SH"),
    ("th", Anywhere, "TH"),
    ("ph", Anywhere, "F"),
    ("gh", Start, "G"),
    ("gh", Anywhere, ""),
    ("wh", Start, "W"),
    ("qu", Anywhere, "K W"),
    ("ng", End, "NG"),
    ("nk", Anywhere, "NG K"),
    ("ee", Anywhere, "IY"),
    ("ea", Anywhere, "IY"),
    ("oo", Anywhere, "UW"),
    ("ou", Anywhere, "AW"),
    ("ow", End, "OW"),
    ("ow", Anywhere, "AW"),
    ("oi", Anywhere, "OY"),
    ("oy", Anywhere, "OY"),
    ("ai", Anywhere, "EY"),
    ("ay", Anywhere, "EY"),
    ("au", Anywhere, "AO"),
    ("aw", Anywhere, "AO"),
    ("ew", Anywhere, "UW"),
    ("eu", Anywhere, "UW"),
    ("ey", End, "IY"),
    ("ei", Anywhere, "EY"),
    ("ie", Anywhere, "IY"),
    ("oa", Anywhere, "OW"),
    ("oe", End, "OW"),
    ("ue", End, "UW"),
    ("ui", Anywhere, "UW"),
    ("er", Anywhere, "ER"),
    ("ir", Anywhere, "ER"),
    ("ura", Anywhere, "Y UH R AH"),
    ("ure", Anywhere, "Y UH R"),
    ("uri", Anywhere, "Y UH R IY"),
    ("uro", Anywhere, "Y UH R OW"),
    ("ur", Anywhere, "ER"),
    ("ar", Anywhere, "AA R"),
    ("or", Anywhere, "AO R"),
    ("le", End, "AH L"),
    ("es", End, "AH Z"),
    ("a", BeforeMagicE, "EY"),
    ("e", BeforeMagicE, "IY"),
    ("i", BeforeMagicE, "AY"),
    ("o", BeforeMagicE, "OW"),
    ("u", BeforeMagicE, "UW"),
    ("a", End, "AH"),
    ("e", End, ""),
    ("i", End, "IY"),
    ("o", End, "OW"),
    ("u", End, "UW"),
    ("y", End, "IY"),
    ("y", BeforeVowel, "Y"),
    ("y", Anywhere, "IH"),
    ("i", BeforeVowel, "IY"),
    ("o", BeforeVowel, "OW"),
    ("a", BeforeVowel, "EY"),
    ("u", BeforeVowel, "UW"),
    ("a", Anywhere, "AE"),
    ("e", Anywhere, "EH"),
    ("i", Anywhere, "IH"),
    ("o", Anywhere, "AA"),
    ("u", Anywhere, "AH"),
    ("c", BeforeFront, "S"),
    ("c", Anywhere, "K"),
    ("g", BeforeFront, "JH"),
    ("g", Anywhere, "G"),
    ("x", Start, "Z"),
    ("x", Anywhere, "K S"),
    ("q", Anywhere, "K"),
    ("b", Anywhere, "B"),
    ("d", Anywhere, "D"),
    ("f", Anywhere, "F"),
    ("h", End, ""),
    ("h", Anywhere, "HH"),
    ("j", Anywhere, "JH"),
    ("k", Anywhere, "K"),
    ("l", Anywhere, "L"),
    ("m", Anywhere, "M"),
    ("n", Anywhere, "N"),
    ("p", Anywhere, "P"),
    ("r", Anywhere, "R"),
    ("s", Anywhere, "S"),
    ("t", Anywhere, "T"),
    ("v", Anywhere, "V"),
    ("w", Anywhere, "W"),
    ("z", Anywhere, "Z"),
];

/// Tried before the English rules when a word is read as continental.
const CONTINENTAL: &[(&str, At, &str)] = &[
    ("sch", Anywhere, "SH"),
    ("cz", Anywhere, "CH"),
    ("sz", Anywhere, "SH"),
    ("rz", Anywhere, "ZH"),
    ("dh", Anywhere, "D"),
    ("kh", Anywhere, "K"),
    ("th", Anywhere, "T"),
    ("lh", Anywhere, "L Y"),
    ("nh", Anywhere, "N Y"),
    ("gu", BeforeFront, "G"),
    ("qu", BeforeFront, "K"),
    ("ij", Anywhere, "AY"),
    ("ai", Anywhere, "AY"),
    ("ay", Anywhere, "AY"),
    ("ei", Anywhere, "EY"),
    ("ey", Anywhere, "EY"),
    ("au", Anywhere, "AW"),
    ("ao", Anywhere, "AW"),
    ("ou", Anywhere, "OW"),
    ("oi", Anywhere, "OY"),
    ("eu", Anywhere, "EH UW"),
    ("ie", Anywhere, "IY"),
    ("ea", Anywhere, "EY AH"),
    ("oe", Anywhere, "ER"),
    ("ar", Anywhere, "AA R"),
    ("er", Anywhere, "EH R"),
    ("ir", Anywhere, "IY R"),
    ("or", Anywhere, "AO R"),
    ("ur", Anywhere, "UW R"),
    ("a", End, "AH"),
    ("e", End, "EY"),
    ("es", End, "EH S"),
    ("i", BeforeVowel, "Y"),
    ("a", Anywhere, "AA"),
    ("e", Anywhere, "EH"),
    ("i", Anywhere, "IY"),
    ("o", Anywhere, "OW"),
    ("u", Anywhere, "UW"),
    ("y", Start, "Y"),
    ("y", BeforeVowel, "Y"),
    ("y", Anywhere, "IY"),
    ("j", Anywhere, "Y"),
    ("g", Anywhere, "G"),
    ("x", Anywhere, "SH"),
    ("h", End, ""),
    ("w", Start, "V"),
];

/// The sounds of a word by the rules alone; letters that are no letters of English are skipped.
pub(crate) fn by_rules(word: &str, spelling: Spelling) -> Vec<Phoneme> {
    let letters = word.as_bytes();
    let mut phonemes: Vec<Phoneme> = Vec::with_capacity(letters.len());
    let mut at = 0;
    while at < letters.len() {
        let doubled = at > 0 && letters[at] == letters[at - 1] && !is_vowel(letters[at]);
        if doubled {
            at += 1;
            continue;
        }
        let first: &[_] = if spelling == Spelling::Continental { CONTINENTAL } else { &[] };
        let rule = first.iter().chain(ENGLISH).find(|(graphemes, place, _)| {
            graphemes.as_bytes()[0] == letters[at]
                && letters[at..].starts_with(graphemes.as_bytes())
                && holds(*place, letters, at, at + graphemes.len())
        });
        match rule {
            Some((graphemes, _, sounds)) => {
                phonemes.extend(sounds.split_whitespace().filter_map(Phoneme::parse));
                at += graphemes.len();
            }
            None => at += 1,
        }
    }
    phonemes
}

fn is_vowel(letter: u8) -> bool {
    matches!(letter, b'a' | b'e' | b'i' | b'o' | b'u')
}

fn holds(place: At, letters: &[u8], start: usize, end: usize) -> bool {
    let next = letters.get(end).copied();
    match place {
        Anywhere => true,
        Start => start == 0,
        End => end == letters.len() && start > 0,
        BeforeFront => next.is_some_and(|c| matches!(c, b'e' | b'i' | b'y')),
        BeforeVowel => next.is_some_and(is_vowel),
        BeforeMagicE => {
            letters.len() == end + 2 && letters[end + 1] == b'e' && !is_vowel(letters[end])
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn read(word: &str, spelling: Spelling) -> String {
        by_rules(word, spelling).iter().map(|p| p.symbol()).collect::<Vec<_>>().join(" ")
    }

    #[test]
    fn rules_come_near_what_the_dictionary_says() {
        // Words the dictionary holds, so that the rules can be held against it: at least four of
        // five must come within a third of their sounds.
        use crate::sound_distance::{distance, ends};
        let words = [
            "slice",
            "kitchen",
            "bridge",
            "knight",
            "turtle",
            "phone",
            "shrimp",
            "quick",
            "frame",
            "posture",
            "collar",
            "sleeve",
            "butterfly",
            "hook",
            "spider",
            "neck",
            "finish",
            "catch",
            "throw",
            "window",
            "garden",
            "mountain",
            "camera",
            "harbor",
        ];
        let near = words.iter().filter(|word| {
            let mut ruled = by_rules(word, Spelling::English);
            split_rhotic(&mut ruled);
            let known = &pronounce(word)[0];
            distance(&ruled, known) <= 0.34 * ends(known)
        });
        assert!(near.count() >= words.len() * 4 / 5);
    }

    #[test]
    fn unknown_words_are_read() {
        assert_eq!(read("shelf", Spelling::English), "SH EH L F");
        assert_eq!(read("slike", Spelling::English), "S L AY K");
        assert_eq!(read("joris", Spelling::Continental), "Y AO R IY S");
        assert_eq!(read("", Spelling::English), "");
        assert_eq!(read("42", Spelling::English), "");
        assert_eq!(number("42"), ["forty", "two"]);
        assert_eq!(number("0"), ["zero"]);
        assert_eq!(number("1915"), ["one", "thousand", "nine", "hundred", "fifteen"]);
        assert_eq!(number("123456"), ["one", "two", "three", "four", "five", "six"]);
        assert!(!pronounce("50").is_empty());
        assert!(pronounce("camura").iter().flatten().all(|p| p.symbol() != "ER"));
    }
}
