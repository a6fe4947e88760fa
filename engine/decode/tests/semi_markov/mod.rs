//! The semi-Markov decoder against published examples, enumeration and a plain reference.

mod errors;
mod properties;
mod published;
mod random_model;
mod reference;
