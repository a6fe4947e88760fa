//! Gives a million made-up files to every reader of talk and of kept files, without any fuzzing tool.
//!
//! ```text
//! cargo run --release --manifest-path fuzz/Cargo.toml --bin million [FILES [SEED]]
//! ```
//!
//! A third are random bytes, a third are pieces in random order, a third are files of a corpus with
//! random changes. Captions (`engine/talk/tests/captions`) go to all four readers and to the
//! detection, as many made-up ledgers and files of answers (`kept_files`) to theirs, and the laws in
//! `laws` must hold. Ends with the counts, or with a panic that names the file: the same seed gives
//! the same files.

mod made;
mod words;

use made::{Kind, Random};
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::path::Path;
use std::time::Instant;
use talk::read::Format;
use words::{CAPTION_HEADS, CAPTION_PIECES, KEPT_HEADS, KEPT_PIECES};

/// Gives bytes to a reader and tells whether they were read.
type Law = fn(&[u8]) -> bool;

/// The readers of kept files.
const KEPT: [(&str, Law); 2] = [("ledger", laws::check_ledger), ("answers", laws::check_answers)];

const READERS: [Option<Format>; 5] = [
    Some(Format::WebVtt),
    Some(Format::SubRip),
    Some(Format::TimedText),
    Some(Format::RecogniserJson),
    None,
];

fn main() {
    let mut arguments = std::env::args().skip(1).map(|text| text.parse::<u64>());
    let files = arguments.next().and_then(Result::ok).unwrap_or(1_000_000);
    let seed = arguments.next().and_then(Result::ok).unwrap_or(1);
    let captions = Kind {
        heads: &CAPTION_HEADS,
        pieces: &CAPTION_PIECES,
        corpus: corpus(&["../engine/talk/tests/captions/ok", "../engine/talk/tests/captions/err"]),
    };
    let kept = Kind { heads: &KEPT_HEADS, pieces: &KEPT_PIECES, corpus: corpus(&["kept_files"]) };

    let mut random = Random(seed);
    let mut read = [0u64; READERS.len()];
    let mut read_kept = [0u64; KEPT.len()];
    let started = Instant::now();
    for file in 0..files {
        let bytes = captions.file(file, &mut random);
        for (format, read) in READERS.iter().zip(&mut read) {
            *read += try_law(&bytes, |bytes| laws::check(bytes, *format), file, seed);
        }
        let bytes = kept.file(file, &mut random);
        for ((_, law), read) in KEPT.iter().zip(&mut read_kept) {
            *read += try_law(&bytes, law, file, seed);
        }
    }
    println!(
        "{files} files of each kind of seed {seed} in {:.0} s, no law broken",
        started.elapsed().as_secs_f64()
    );
    let captions = READERS.iter().zip(read).map(|(format, read)| {
        (format.map_or_else(|| "kind found".to_owned(), |format| format.to_string()), read)
    });
    let kept = KEPT.iter().zip(read_kept).map(|((name, _), read)| ((*name).to_owned(), read));
    for (name, read) in captions.chain(kept) {
        println!("  {name:18} read {read:8}, refused {:8}", files - read);
    }
}

/// One if the law held and the bytes were read.
fn try_law(bytes: &[u8], law: impl Fn(&[u8]) -> bool, file: u64, seed: u64) -> u64 {
    match catch_unwind(AssertUnwindSafe(|| law(bytes))) {
        Ok(was_read) => u64::from(was_read),
        Err(_) => panic!("file {file} of seed {seed}: {}", String::from_utf8_lossy(bytes)),
    }
}

/// The files of some folders, in order, but for what is expected of them.
fn corpus(folders: &[&str]) -> Vec<Vec<u8>> {
    let place = Path::new(env!("CARGO_MANIFEST_DIR"));
    let mut paths: Vec<_> = (folders.iter())
        .flat_map(|name| std::fs::read_dir(place.join(name)).expect("the corpus is there"))
        .map(|entry| entry.expect("readable").path())
        .filter(|path| path.extension().is_some_and(|kind| kind != "talk" && kind != "error"))
        .collect();
    paths.sort();
    paths.iter().map(|path| std::fs::read(path).expect("readable")).collect()
}
