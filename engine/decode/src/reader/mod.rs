//! The learned reader: a small network that turns the words of a talk into evidence.
//!
//! [`words`] says what the network sees of a talk; the rest is arithmetic that knows no grappling.

mod belts;
mod layers;
mod multiply;
pub mod network;
pub mod parameters_file;
pub mod words;
