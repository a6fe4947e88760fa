//! How well rounds are read, held against what truly happened.

pub mod truth;
