//! Gives a million made-up files to every reader of talk, without any fuzzing tool.
//!
//! ```text
//! cargo run --release --manifest-path fuzz/Cargo.toml --bin million [FILES [SEED]]
//! ```
//!
//! A third are random bytes, a third are pieces of captions in random order, a third are files of
//! the corpus in `engine/talk/tests/captions` with random changes. Each file goes to all four
//! readers and to the detection, and the laws in `laws::check` must hold. Ends with the counts, or
//! with a panic that names the file: the same seed gives the same files.

use std::panic::{AssertUnwindSafe, catch_unwind};
use std::path::Path;
use std::time::Instant;
use talk::read::Format;

const READERS: [Option<Format>; 5] = [
    Some(Format::WebVtt),
    Some(Format::SubRip),
    Some(Format::TimedText),
    Some(Format::RecogniserJson),
    None,
];

const PIECES: [&str; 64] = [
    "WEBVTT",
    "\n",
    "\n\n",
    "\r\n",
    "\r",
    " ",
    "\t",
    "00:00:01.000 --> 00:00:02.000\n",
    "00:00:01,000 --> 00:00:03,500\n",
    "00:02.000",
    " --> ",
    "-->",
    "->",
    "1\n",
    "2\n",
    "3\n",
    "42",
    "he",
    " passes ",
    "half guard",
    "nice",
    "<c>",
    "</c>",
    "<c.x>",
    "<00:00:01.500>",
    "<00:01.700>",
    "<v Ana>",
    "<v",
    "</v>",
    "<i>",
    "<br>",
    "<ruby>",
    "<rt>",
    "</ruby>",
    "{\\an8}",
    "&amp;",
    "&",
    "&#65;",
    "&lt",
    "<",
    ">",
    "NOTE",
    "STYLE",
    "REGION",
    "[0:42] ",
    "[0:42 - 0:50] ",
    "(1:02) ",
    "1:30 ",
    "0:75",
    "[",
    "]",
    "{",
    "}",
    ",",
    ":",
    "{\"segments\": [",
    "{\"words\": [",
    "{\"word\": \"he\", \"start\": 1.5, \"end\": 2}",
    "\"text\": \" a b\"",
    "null",
    "-1e9",
    "\u{FEFF}",
    "\0",
    "é柔",
];

/// Beginnings that get a file past the first line of each reader.
const HEADS: [&str; 8] = [
    "",
    "WEBVTT\n\n",
    "WEBVTT\n\n00:00:01.000 --> 00:00:09.000\n",
    "1\n00:00:01,000 --> 00:00:03,500\n",
    "[0:42] ",
    "0:42\nhe\n",
    "{\"words\": [{\"word\": \"he\", \"start\": 1.5, \"end\": 2}",
    "[{\"start\": 1, \"end\": 2, \"text\": \"he sits\"}",
];

/// The generator SplitMix64 (Steele, Lea, Flood 2014): small, fast and good enough for this.
struct Random(u64);

impl Random {
    fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
        z ^ (z >> 31)
    }

    fn below(&mut self, limit: usize) -> usize {
        usize::try_from(self.next() % limit.max(1) as u64).unwrap_or(0)
    }
}

fn random_bytes(random: &mut Random) -> Vec<u8> {
    (0..random.below(300)).map(|_| random.next().to_le_bytes()[0]).collect()
}

fn pieces(random: &mut Random) -> Vec<u8> {
    let mut bytes = HEADS[random.below(HEADS.len())].as_bytes().to_vec();
    for _ in 0..random.below(40) {
        bytes.extend_from_slice(PIECES[random.below(PIECES.len())].as_bytes());
    }
    bytes
}

fn changed(random: &mut Random, corpus: &[Vec<u8>]) -> Vec<u8> {
    let mut bytes = corpus[random.below(corpus.len())].clone();
    // Some files change in their digits alone, and so stay readable more often.
    let digits_only = random.below(3) == 0;
    for _ in 0..=random.below(6) {
        let (from, other) = (random.below(bytes.len()), random.below(bytes.len()));
        let (from, to) = (from.min(other), from.max(other));
        match if digits_only { 5 } else { random.below(6) } {
            0 => bytes.truncate(to),
            1 => drop(bytes.drain(from..to)),
            2 => {
                let again = bytes[from..to].to_vec();
                let at = random.below(bytes.len());
                bytes.splice(at..at, again);
            }
            3 => {
                let piece = PIECES[random.below(PIECES.len())];
                bytes.splice(from..from, piece.bytes());
            }
            4 if !bytes.is_empty() => bytes[from] = random.next().to_le_bytes()[0],
            // A digit for a digit keeps times well-formed and makes them run anywhere.
            _ => {
                if let Some(digit) = bytes[from..].iter_mut().find(|b| b.is_ascii_digit()) {
                    *digit = b'0' + random.next().to_le_bytes()[0] % 10;
                }
            }
        }
        bytes.truncate(4_000);
    }
    bytes
}

fn main() {
    let mut arguments = std::env::args().skip(1).map(|text| text.parse::<u64>());
    let files = arguments.next().and_then(Result::ok).unwrap_or(1_000_000);
    let seed = arguments.next().and_then(Result::ok).unwrap_or(1);
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../engine/talk/tests/captions");
    let mut paths: Vec<_> = ["ok", "err"]
        .iter()
        .flat_map(|name| std::fs::read_dir(folder.join(name)).expect("the corpus is there"))
        .map(|entry| entry.expect("readable").path())
        .filter(|path| path.extension().is_some_and(|kind| kind != "talk" && kind != "error"))
        .collect();
    paths.sort();
    let corpus: Vec<Vec<u8>> =
        paths.iter().map(|path| std::fs::read(path).expect("readable")).collect();

    let mut random = Random(seed);
    let mut read = [0u64; READERS.len()];
    let started = Instant::now();
    for file in 0..files {
        let bytes = match file % 3 {
            0 => random_bytes(&mut random),
            1 => pieces(&mut random),
            _ => changed(&mut random, &corpus),
        };
        for (format, read) in READERS.iter().zip(&mut read) {
            match catch_unwind(AssertUnwindSafe(|| laws::check(&bytes, *format))) {
                Ok(was_read) => *read += u64::from(was_read),
                Err(_) => panic!("file {file} of seed {seed}, as {format:?}: {bytes:?}"),
            }
        }
    }
    println!(
        "{files} files of seed {seed} in {:.0} s, no law broken",
        started.elapsed().as_secs_f64()
    );
    for (format, read) in READERS.iter().zip(read) {
        let name = format.map_or_else(|| "kind found".to_owned(), |format| format.to_string());
        println!("  {name:18} read {read:8}, refused {:8}", files - read);
    }
}
