//! The book as its users see it: a folder that keeps what they gave.

mod accounts;
mod backup;
mod child;
mod development;
mod dump;
mod kill;
mod known;
mod roster_csv;
mod story;
mod trouble;
mod undo;
mod uploads;
