//! The semi-Markov decoder against published examples, enumeration and a plain reference.
#![expect(clippy::unwrap_used, reason = "a test fails by panicking")]

mod errors;
mod properties;
mod published;
mod random_model;
mod reference;
