//! The mathematics seen from outside: published values, laws, and recorded readings.

#![expect(clippy::unwrap_used, reason = "a test may stop")]

mod scoring;
