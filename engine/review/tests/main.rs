//! What a review shows and how it is changed, for any ledger and any edits.

mod any_round;
mod edits;
mod overlay;
mod question_view;
mod tokens;
