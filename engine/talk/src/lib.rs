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

mod by_sound;
mod correct;
mod corrections;
mod english;
mod find;
pub mod lexicon;
mod names;
mod phoneme;
mod phonemes;
mod sound_distance;
mod spelling;
mod taught_names;
mod word_counts;
mod word_errors;
mod word_model;

pub use by_sound::Hearing;
pub use correct::correct;
pub use corrections::{Correction, LEAST_TO_CORRECT, corrections};
pub use find::{Find, FoundBy, find_terms, find_terms_and_names, find_terms_with};
pub use lexicon::Lexicon;
pub use names::{NameFind, find_names, find_names_with};
pub use phoneme::Phoneme;
pub use spelling::plain_letters;
pub use taught_names::with_names_taught;
pub use word_counts::WordCounts;
pub use word_errors::{Heard, WordErrors, align};
pub use word_model::is_said_over_rounds;
