//! How well rounds are read, held against what truly happened.

pub mod scores;
pub mod truth;
pub mod tuning;
