//! Integration tests of the talk crate, by what they hold it against.
#![expect(clippy::disallowed_methods, reason = "the tests read their corpus")]

/// Files of captions beside what they must read as, and broken files beside their errors.
mod captions;
/// WebVTT against another parser's reading of the same files.
mod reference;
/// What is written reads back the same; no bytes make a reader panic.
mod round_trip;
