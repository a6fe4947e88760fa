//! How well rounds are read, held against what truly happened.

pub mod caption_errors;
pub mod losses;
pub mod scores;
pub mod simulated_coach;
pub mod truth;
pub mod tuning;
