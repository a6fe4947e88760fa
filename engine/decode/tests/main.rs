//! The decoder seen from outside.

mod reader_parity;
mod scores;
mod semi_markov;
