//! From a talk, and the coach's answers, to a ledger and the next question.
//!
//! This crate knows nothing of stores, pages or files; parameters come in as bytes. Reading order:
//! the learned reader ([`reader`]), what its numbers mean ([`evidence`]) by the [`grammar`], the
//! exact decoder ([`semi_markov`]) put to use ([`decoder`], [`answers`], [`durations`]), what comes
//! out ([`ledger`], [`mention`], [`questions`]), all of it in one place ([`understanding`]), and how
//! it is judged and its settings are learned ([`evaluation`]).

pub mod answers;
pub mod decoder;
pub mod durations;
pub mod evaluation;
pub mod evidence;
pub mod grammar;
pub mod identity;
pub mod ledger;
pub mod mention;
pub mod parameters;
pub mod questions;
pub mod reader;
pub mod semi_markov;
mod spare;
mod techniques;
pub mod understanding;
pub mod worth;

pub use mention::{Manner, Mention};
pub use questions::{About, Choice, Question};
pub use understanding::{ReaderError, RoundReader, UnderstandError, Understood};
