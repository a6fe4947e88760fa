//! A class: when it was, what it was about.

use jiff::civil::Date;

/// A class that was held or is planned.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Class {
    /// The day.
    pub date: Date,
    /// What it is called, such as "Fundamentals".
    pub title: String,
    /// What was taught.
    pub topic: String,
    /// Whatever the coach wants to remember.
    pub notes: String,
}
