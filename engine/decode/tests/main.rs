//! The decoder seen from outside.

mod reader_parity;
mod semi_markov;
