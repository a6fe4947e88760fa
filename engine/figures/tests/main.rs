//! The mathematics seen from outside: published values, laws, and recorded readings; and what
//! rounds add up to, held against ledgers added up by hand, laws and simulation.

#![expect(clippy::disallowed_methods, reason = "recorded readings of libraries are files")]
#![expect(clippy::unwrap_used, reason = "a test may stop")]

mod actions_by_hand;
mod against_libraries;
mod any_rounds;
mod getting_out_by_hand;
mod habits_by_hand;
mod laws;
mod made_rounds;
mod meant_by_chance;
mod overview;
mod published;
mod recovery;
mod round_by_hand;
mod scoring;
mod simulated;
mod tries_by_hand;
mod two_readings_by_hand;
