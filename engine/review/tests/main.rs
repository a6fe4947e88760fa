//! What a review shows and how it is changed, for any ledger and any edits.
