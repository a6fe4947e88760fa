//! The decoder seen from outside.

#![expect(clippy::disallowed_methods, reason = "recorded readings and sample rounds are files")]
#![expect(clippy::unwrap_used, reason = "a test may stop")]

mod reader_parity;
mod scores;
mod semi_markov;
mod understanding;
