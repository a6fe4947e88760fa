//! Rounds read under the published rule sets.

mod laws;
mod rounds;
mod rule_sets;
mod sequences;
mod words;
