//! Packs the English dictionary and word counts into one table that needs no loading.
//!
//! The layout is read by `src/english.rs`, which documents it.
#![expect(
    clippy::disallowed_methods,
    clippy::disallowed_macros,
    reason = "a build script reads files and tells cargo which; the crate itself does not"
)]

use std::collections::BTreeMap;
use std::path::Path;

/// The order of phonemes in the packed table: the same as in `src/phoneme.rs`.
const SYMBOLS: [&str; 39] = [
    "AA", "AE", "AH", "AO", "AW", "AY", "EH", "ER", "EY", "IH", "IY", "OW", "OY", "UH", "UW", "B",
    "CH", "D", "DH", "F", "G", "HH", "JH", "K", "L", "M", "N", "NG", "P", "R", "S", "SH", "T",
    "TH", "V", "W", "Y", "Z", "ZH",
];

/// Words in one block of the table.
const BLOCK: usize = 16;

#[derive(Default)]
struct Entry {
    pronunciations: Vec<Vec<u8>>,
    rarity: u8,
}

fn main() -> Result<(), Box<dyn std::error::Error>> {
    let data = Path::new("../../data/english");
    for file in ["cmudict.dict", "frequency.txt"] {
        println!("cargo::rerun-if-changed={}", data.join(file).display());
    }
    let dictionary = std::fs::read_to_string(data.join("cmudict.dict"))?;
    let counts = std::fs::read_to_string(data.join("frequency.txt"))?;
    let english = words(&dictionary, &counts)?;
    let table = pack(&english);
    let out = std::env::var("OUT_DIR")?;
    std::fs::write(Path::new(&out).join("english.bin"), table)?;
    let counted = Path::new("../../data/lexicon/word_counts.txt");
    println!("cargo::rerun-if-changed={}", counted.display());
    let model = pack_model(&std::fs::read_to_string(counted)?, &english)?;
    std::fs::write(Path::new(&out).join("word_model.bin"), model)?;
    Ok(())
}

/// Taken from every count of a pair and given to pairs never seen. The usual value for absolute
/// discounting lies between 0.5 and 0.8 (Chen and Goodman 1999, *CSL* 13:359) [from memory].
const DISCOUNT: f64 = 0.7;

/// The share of what coaches say that general English predicts better than other talk does.
const GENERAL: f64 = 0.06;

/// Packs the counts of `word_counts.txt`; the layout is documented in `src/word_model.rs`.
fn pack_model(text: &str, english: &BTreeMap<String, Entry>) -> Result<Vec<u8>, String> {
    let mut words: BTreeMap<&str, u32> = BTreeMap::new();
    let mut pairs: BTreeMap<(&str, &str), u32> = BTreeMap::new();
    for line in text.lines().filter(|line| !line.starts_with('#')) {
        let parts: Vec<&str> = line.split(' ').collect();
        let count = parts.last().and_then(|count| count.parse().ok());
        match (&parts[..], count) {
            ([word, _], Some(count)) => drop(words.insert(word, count)),
            ([first, second, _], Some(count)) => drop(pairs.insert((first, second), count)),
            _ => return Err(format!("not a count: {line}")),
        }
    }
    if words.len() > usize::from(u16::MAX) {
        return Err("too many words".to_owned());
    }
    let ids: BTreeMap<&str, u16> = words.keys().copied().zip(0..).collect();
    let total = f64::from(words.values().sum::<u32>());
    let alone = |word: &str| {
        let here = f64::from(words.get(word).copied().unwrap_or(0)) / total;
        let rarity = english.get(word).map_or(0, |entry| entry.rarity);
        let general = if rarity > 0 { (-f64::from(rarity) / 10.0).exp() } else { 0.0 };
        (1.0 - GENERAL) * here + GENERAL * general
    };
    // For each word the share of pairs that were not kept.
    let mut left: BTreeMap<&str, f64> = words.keys().map(|word| (*word, 1.0)).collect();
    for ((first, _), together) in &pairs {
        let count = words.get(first).ok_or_else(|| format!("pair with unknown {first}"))?;
        if let Some(left) = left.get_mut(first) {
            *left -= (f64::from(*together) - DISCOUNT) / f64::from(*count);
        }
    }
    left.values_mut().for_each(|left| *left = left.max(0.01));
    let mut of_first: BTreeMap<&str, Vec<u8>> = BTreeMap::new();
    let mut of_second: BTreeMap<&str, Vec<u8>> = BTreeMap::new();
    for ((first, second), together) in &pairs {
        let id =
            |word: &str| ids.get(word).copied().ok_or_else(|| format!("pair with unknown {word}"));
        let direct = (f64::from(*together) - DISCOUNT) / f64::from(words[first]);
        let chance = (direct + left[first] * alone(second)).ln() as f32;
        let count = u16::try_from(*together).unwrap_or(u16::MAX).to_le_bytes();
        for (list, key, other) in [(&mut of_first, first, second), (&mut of_second, second, first)]
        {
            let entry = list.entry(key).or_default();
            entry.extend(id(other)?.to_le_bytes());
            entry.extend(count);
            entry.extend(chance.to_le_bytes());
        }
    }
    let (mut records, mut strings) = (Vec::<u8>::new(), Vec::<u8>::new());
    let (mut packed, mut turned) = (Vec::<u8>::new(), Vec::<u8>::new());
    for (word, count) in &words {
        records.extend((strings.len() as u32).to_le_bytes());
        records.extend(count.to_le_bytes());
        records.extend((packed.len() as u32 / 8).to_le_bytes());
        records.extend((turned.len() as u32 / 8).to_le_bytes());
        records.extend((left[word].ln() as f32).to_le_bytes());
        records.extend((alone(word).ln() as f32).to_le_bytes());
        packed.extend(of_first.get(word).into_iter().flatten());
        turned.extend(of_second.get(word).into_iter().flatten());
        strings.extend(word.as_bytes());
    }
    let mut model = Vec::new();
    for number in [words.len() as u32, packed.len() as u32 / 8, total as u32] {
        model.extend(number.to_le_bytes());
    }
    for part in [records, packed, turned, strings] {
        model.extend(part);
    }
    Ok(model)
}

/// Every word with letters only, apostrophes taken out.
fn words(dictionary: &str, counts: &str) -> Result<BTreeMap<String, Entry>, String> {
    let mut words: BTreeMap<String, Entry> = BTreeMap::new();
    for line in dictionary.lines() {
        let line = line.split('#').next().unwrap_or_default();
        let mut parts = line.split_whitespace();
        let Some(word) = parts.next() else { continue };
        let word = word.split('(').next().unwrap_or_default().replace('\'', "");
        if word.is_empty() || word.len() > 30 || !word.bytes().all(|b| b.is_ascii_lowercase()) {
            continue;
        }
        let phonemes: Result<Vec<u8>, String> = parts.map(|symbol| phoneme(symbol, line)).collect();
        let phonemes = phonemes?;
        let known = &mut words.entry(word).or_default().pronunciations;
        if known.len() < 3 && !phonemes.is_empty() && !known.contains(&phonemes) {
            known.push(phonemes);
        }
    }
    let pairs = || counts.trim_start_matches('\u{feff}').lines().filter_map(|l| l.split_once(' '));
    let total: f64 = pairs().filter_map(|(_, count)| count.trim().parse::<f64>().ok()).sum();
    for (word, count) in pairs() {
        if word.len() > 30 || !word.bytes().all(|b| b.is_ascii_lowercase()) {
            continue;
        }
        let count: f64 = count.trim().parse().map_err(|_| format!("bad count of {word}"))?;
        // Tenths of a nat, at most 25 nats; zero is kept for words without a count.
        let rarity = (-(count / total).ln() * 10.0).round().clamp(1.0, 250.0);
        words.entry(word.to_owned()).or_default().rarity = rarity as u8;
    }
    Ok(words)
}

fn phoneme(symbol: &str, line: &str) -> Result<u8, String> {
    let bare = symbol.trim_end_matches(['0', '1', '2']);
    let at = SYMBOLS.iter().position(|known| *known == bare);
    at.map(|at| at as u8).ok_or_else(|| format!("unknown phoneme in {line}"))
}

fn pack(words: &BTreeMap<String, Entry>) -> Vec<u8> {
    let entries: Vec<(&String, &Entry)> = words.iter().collect();
    let (mut offsets, mut body) = (Vec::new(), Vec::new());
    for block in entries.chunks(BLOCK) {
        offsets.push(body.len() as u32);
        let mut previous = "";
        for (word, entry) in block {
            let shared = word.bytes().zip(previous.bytes()).take_while(|(a, b)| a == b).count();
            body.extend([shared as u8, (word.len() - shared) as u8]);
            body.extend(&word.as_bytes()[shared..]);
            body.extend([entry.rarity, entry.pronunciations.len() as u8]);
            for phonemes in &entry.pronunciations {
                body.push(phonemes.len() as u8);
                body.extend(phonemes);
            }
            previous = word;
        }
    }
    let mut table = (offsets.len() as u32).to_le_bytes().to_vec();
    table.extend(offsets.iter().flat_map(|offset| offset.to_le_bytes()));
    table.extend(body);
    table
}
