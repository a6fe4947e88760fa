//! How far apart two strings of sounds are. Mathematics only: it knows no word.
//!
//! A weighted edit distance (Wagner and Fischer 1974, *JACM* 21:168) whose costs follow how the
//! sounds are made: voicing, place and manner of consonants, height and backness of vowels. The
//! costs are common phonetic knowledge set by hand, in hundredths.

use crate::phoneme::{Phoneme, SYMBOLS, VOWELS};

/// A cost in hundredths of one whole sound.
pub(crate) type Cost = u16;

const COUNT: usize = SYMBOLS.len();

/// Where a consonant is made, from the lips (0) to the throat, how, and whether with voice.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Manner {
    Stop,
    Affricate,
    Fricative,
    Nasal,
    Liquid,
    Glide,
}

use Manner::{Affricate, Fricative, Glide, Liquid, Nasal, Stop};

/// In the order of the symbols from `B` on.
const CONSONANTS: [(i16, Manner, bool); COUNT - VOWELS] = [
    (0, Stop, true),       // B
    (4, Affricate, false), // CH
    (3, Stop, true),       // D
    (2, Fricative, true),  // DH
    (1, Fricative, false), // F
    (6, Stop, true),       // G
    (7, Fricative, false), // HH
    (4, Affricate, true),  // JH
    (6, Stop, false),      // K
    (3, Liquid, true),     // L
    (0, Nasal, true),      // M
    (3, Nasal, true),      // N
    (6, Nasal, true),      // NG
    (0, Stop, false),      // P
    (4, Liquid, true),     // R
    (3, Fricative, false), // S
    (4, Fricative, false), // SH
    (3, Stop, false),      // T
    (2, Fricative, false), // TH
    (1, Fricative, true),  // V
    (0, Glide, true),      // W
    (5, Glide, true),      // Y
    (3, Fricative, true),  // Z
    (4, Fricative, true),  // ZH
];

/// Height (0 open to 30 close) and backness (0 front to 20 back) of a vowel where it starts and
/// where it ends, in the order of the symbols.
const VOWEL_SHAPES: [[i16; 4]; VOWELS] = [
    [0, 15, 0, 15],   // AA
    [4, 0, 4, 0],     // AE
    [12, 10, 12, 10], // AH
    [8, 20, 8, 20],   // AO
    [0, 10, 25, 18],  // AW
    [0, 10, 27, 2],   // AY
    [12, 0, 12, 0],   // EH
    [15, 11, 15, 11], // ER
    [17, 0, 27, 1],   // EY
    [25, 3, 25, 3],   // IH
    [30, 0, 30, 0],   // IY
    [15, 18, 25, 19], // OW
    [8, 20, 25, 3],   // OY
    [25, 17, 25, 17], // UH
    [30, 18, 30, 18], // UW
];

const fn smaller(a: i16, b: i16) -> i16 {
    if a < b { a } else { b }
}

const fn vowel_cost(a: [i16; 4], b: [i16; 4]) -> i16 {
    let height = (a[0] - b[0]).abs() + (a[2] - b[2]).abs();
    let backness = (a[1] - b[1]).abs() + (a[3] - b[3]).abs();
    smaller(10 + (height + backness) * 7 / 10, 60)
}

const fn manner_cost(a: Manner, b: Manner) -> i16 {
    match (a, b) {
        (Stop, Stop)
        | (Affricate, Affricate)
        | (Fricative, Fricative)
        | (Nasal, Nasal)
        | (Glide, Glide) => 0,
        (Liquid, Liquid) => 10,
        (Affricate, Fricative) | (Fricative, Affricate) => 20,
        (Stop, Affricate) | (Affricate, Stop) | (Liquid, Glide) | (Glide, Liquid) => 25,
        (Stop, Fricative) | (Fricative, Stop) => 40,
        (Stop, Nasal) | (Nasal, Stop) | (Nasal, Liquid) | (Liquid, Nasal) => 45,
        _ => 60,
    }
}

const fn consonant_cost(a: (i16, Manner, bool), b: (i16, Manner, bool)) -> i16 {
    let voice = if a.2 == b.2 { 0 } else { 20 };
    let place = smaller((a.0 - b.0).abs() * 12, 40);
    smaller(voice + place + manner_cost(a.1, b.1), 100)
}

/// A vowel and the consonant it glides into.
const fn mixed_cost(vowel: &str, consonant: &str) -> i16 {
    match (vowel.as_bytes(), consonant.as_bytes()) {
        (b"IY" | b"IH", b"Y") | (b"UW" | b"UH" | b"OW", b"W") | (b"ER", b"R") => 35,
        (b"AO" | b"OW" | b"AW", b"L") => 70,
        _ => 120,
    }
}

const fn substitution_table() -> [[Cost; COUNT]; COUNT] {
    let mut table = [[0; COUNT]; COUNT];
    let mut a = 0;
    while a < COUNT {
        let mut b = 0;
        while b < COUNT {
            let cost = if a == b {
                0
            } else if a < VOWELS && b < VOWELS {
                vowel_cost(VOWEL_SHAPES[a], VOWEL_SHAPES[b])
            } else if a >= VOWELS && b >= VOWELS {
                consonant_cost(CONSONANTS[a - VOWELS], CONSONANTS[b - VOWELS])
            } else if a < VOWELS {
                mixed_cost(SYMBOLS[a], SYMBOLS[b])
            } else {
                mixed_cost(SYMBOLS[b], SYMBOLS[a])
            };
            table[a][b] = cost as Cost;
            b += 1;
        }
        a += 1;
    }
    table
}

/// What it costs to leave a sound out or to put one in: weak sounds come and go easily.
const fn gap_table() -> [Cost; COUNT] {
    let mut table = [80; COUNT];
    let mut at = 0;
    while at < COUNT {
        table[at] = match SYMBOLS[at].as_bytes() {
            b"AH" => 35,
            b"IH" | b"HH" => 40,
            b"T" | b"D" | b"Y" => 55,
            b"R" | b"L" | b"N" | b"W" | b"DH" => 65,
            _ if at < VOWELS => 65,
            _ => 80,
        };
        at += 1;
    }
    table
}

static SUBSTITUTE: [[Cost; COUNT]; COUNT] = substitution_table();
const GAP: [Cost; COUNT] = gap_table();

/// The longest string of sounds that is compared; longer ones count as infinitely far apart.
pub(crate) const LONGEST: usize = 40;

/// What a whole string costs to leave out: the scale for judging a distance.
#[cfg(test)]
pub(crate) fn ends(sounds: &[Phoneme]) -> f64 {
    sounds.iter().map(|p| f64::from(GAP[p.index()])).sum::<f64>() / 100.0
}

/// The weighted edit distance between two strings of sounds, in whole sounds.
///
/// Symmetric, zero only for equal strings. O(a·b) time, no memory beyond the stack. Infinite
/// when either is longer than forty sounds.
#[cfg(test)]
pub(crate) fn distance(a: &[Phoneme], b: &[Phoneme]) -> f64 {
    within(a, b, Cost::MAX).map_or(f64::INFINITY, |cost| f64::from(cost) / 100.0)
}

/// The least that it costs to leave a sound out.
const LEAST_GAP: Cost = {
    let (mut least, mut at) = (Cost::MAX, 0);
    while at < COUNT {
        if GAP[at] < least {
            least = GAP[at];
        }
        at += 1;
    }
    least
};

/// More than any distance of strings that are compared; twice as much is still a cost.
const FAR: Cost = Cost::MAX / 2;

/// The distance in hundredths if it does not exceed `limit`.
///
/// Only cells from which the end may still be reached within the limit are looked at (Ukkonen
/// 1985, *Information and Control* 64:100): what is left of both strings must at least be brought
/// to the same length.
pub(crate) fn within(a: &[Phoneme], b: &[Phoneme], limit: Cost) -> Option<Cost> {
    if a.len() > LONGEST || b.len() > LONGEST {
        return None;
    }
    let open = |cost: Cost, i: usize, j: usize| {
        cost + (a.len() - i).abs_diff(b.len() - j) as Cost * LEAST_GAP <= limit.min(FAR - 1)
    };
    let mut row = [FAR; LONGEST + 1];
    row[0] = 0;
    // The open cells of the row before lie from `first` to `last`.
    let (mut first, mut last) = (0, 0);
    if !open(0, 0, 0) {
        return None;
    }
    while last < b.len() && open(row[last] + GAP[b[last].index()], 0, last + 1) {
        row[last + 1] = row[last] + GAP[b[last].index()];
        last += 1;
    }
    for (i, sound) in a.iter().enumerate() {
        let (substitute, gap) = (&SUBSTITUTE[sound.index()], GAP[sound.index()]);
        let before = first..=last;
        let mut any_open = false;
        let (mut diagonal, mut left) = (FAR, FAR);
        for (j, cell) in row.iter_mut().enumerate().take(b.len() + 1).skip(*before.start()) {
            let above = if before.contains(&j) { *cell } else { FAR };
            let mut cost = above + gap;
            if let Some(other) = j.checked_sub(1).map(|j| b[j].index()) {
                cost = cost.min(diagonal + substitute[other]).min(left + GAP[other]);
            }
            diagonal = above;
            let is_open = open(cost, i + 1, j);
            left = if is_open { cost } else { FAR };
            *cell = left;
            if is_open {
                first = if any_open { first } else { j };
                (any_open, last) = (true, j);
            } else if j > *before.end() {
                break;
            }
        }
        if !any_open {
            return None;
        }
    }
    (last == b.len()).then_some(row[last])
}

/// How alike two strings of sounds are: 1 for equal, 0 for nothing in common.
///
/// One minus the distance over what leaving out the longer one would cost.
#[cfg(test)]
pub(crate) fn similarity(a: &[Phoneme], b: &[Phoneme]) -> f64 {
    let scale = ends(a).max(ends(b));
    if scale == 0.0 { 1.0 } else { (1.0 - distance(a, b) / scale).max(0.0) }
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    fn sounds(symbols: &str) -> Vec<Phoneme> {
        Phoneme::parse_all(symbols).expect("known symbols")
    }

    #[test]
    fn near_sounds_are_near() {
        let cost = |a: &str, b: &str| distance(&sounds(a), &sounds(b));
        assert!(cost("P", "B") < cost("P", "G"));
        assert!(cost("IY", "IH") < cost("IY", "AA"));
        assert!(cost("S", "Z") < cost("S", "M"));
        assert!(cost("M", "N") < cost("M", "K"));
        // STACK section 7, rows "kimura" and "berimbolo": the mishearing is nearer than the
        // innocent word.
        let kimura = "K IH M UH R AH";
        assert!(cost("K AH M AO R AH", kimura) < cost("K AE M AH R AH", kimura));
        let bolo = "B EH R IH M B OW L OW";
        assert!(cost("B AE R AH N B OW L OW", bolo) < cost("B R IH NG AH B AO L", bolo));
    }

    fn strings() -> impl Strategy<Value = Vec<Phoneme>> {
        prop::collection::vec((0..COUNT as u8).prop_map(Phoneme::from_index), 0..12)
    }

    proptest! {
        #[test]
        fn a_distance_is_symmetric_and_zero_only_for_equals(a in strings(), b in strings()) {
            let there = distance(&a, &b);
            prop_assert_eq!(there, distance(&b, &a));
            prop_assert_eq!(there == 0.0, a == b);
            prop_assert!(there <= ends(&a) + ends(&b) + 1e-9);
            prop_assert!((0.0..=1.0).contains(&similarity(&a, &b)));
        }

        #[test]
        fn a_limit_only_cuts_off(a in strings(), b in strings(), limit in 0u16..600) {
            let whole = within(&a, &b, Cost::MAX).expect("short strings");
            let cut = within(&a, &b, limit);
            prop_assert_eq!(cut, (whole <= limit).then_some(whole));
        }
    }

    #[test]
    fn endless_strings_are_refused() {
        let long = vec![Phoneme::from_index(0); LONGEST + 1];
        assert_eq!(distance(&long, &long), f64::INFINITY);
    }
}
