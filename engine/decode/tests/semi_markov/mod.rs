//! The semi-Markov decoder against published examples, enumeration and a plain reference.

mod published;
