//! The book as its users see it: a folder that keeps what they gave.

mod backup;
mod dump;
mod roster_csv;
mod story;
mod uploads;
