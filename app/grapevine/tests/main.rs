//! The program as its users run it, and the house rules of the whole workspace.

mod ask;
mod captions;
mod colour;
mod errors;
mod figures;
mod help;
mod keeping;
mod program;
mod read;
mod report;
mod tidy;
