//! Mentions, and the answers of a coach, to a ledger and the next question.

pub mod evaluation;
pub mod evidence;
pub mod grammar;
pub mod reader;
pub mod semi_markov;
