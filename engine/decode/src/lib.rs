//! Mentions, and the answers of a coach, to a ledger and the next question.

pub mod semi_markov;
