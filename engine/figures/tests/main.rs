//! The mathematics seen from outside: published values, laws, and recorded readings.

#![expect(clippy::disallowed_methods, reason = "recorded readings of libraries are files")]
#![expect(clippy::unwrap_used, reason = "a test may stop")]

mod against_libraries;
mod laws;
mod published;
