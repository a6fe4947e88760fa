//! From timed text to mentions: what the coach said, when, with the trade's words put right.
//!
//! This crate knows nothing of decoding, stores or pages, and does no I/O: texts come in as
//! strings and bytes, results go out as values.

pub mod read;
mod syllables;
mod timed_words;
mod write;

pub use read::{ReadError, ReadOptions, Reading, read, read_with};
pub use timed_words::{Cue, Talk, Word};
pub use write::{WriteFormat, write};

mod find;
pub mod lexicon;
mod names;
mod phoneme;
mod spelling;

pub use find::{Find, FoundBy, find_terms};
pub use lexicon::Lexicon;
pub use names::{NameFind, find_names};
pub use phoneme::Phoneme;
