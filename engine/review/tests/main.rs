//! What a review shows and how it is changed, for any ledger and any edits.

#![expect(clippy::unwrap_used, reason = "a test may stop")]

mod any_round;
mod edits;
mod overlay;
mod question_view;
mod tokens;
