//! What a coach keeps about how a student comes on: goals, talks with the student, and words for
//! the student's report.

use jiff::civil::Date;

/// Characters of the words of a goal, a conversation or a message.
pub const MOST_CHARACTERS: usize = 4_000;

/// Something that a student works towards, as agreed with the coach.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Goal {
    /// The day on which it was set.
    pub set: Date,
    /// What it is, in the coach's words.
    pub words: String,
    /// The day on which it was reached.
    pub reached: Option<Date>,
}

/// A talk of the coach with the student about how things are going.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Conversation {
    /// The day.
    pub day: Date,
    /// What was said; may be empty, since that they talked is worth keeping by itself.
    pub words: String,
}

/// Words of the coach for the student's report.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Message {
    /// The day on which they were written.
    pub day: Date,
    /// The words.
    pub words: String,
}

/// Why something about a student's development cannot be kept.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
pub enum DevelopmentError {
    /// A goal or a message says nothing.
    #[error("it needs words")]
    NoWords,
    /// There are more words than [`MOST_CHARACTERS`] hold.
    #[error("it may have {MOST_CHARACTERS} characters at most")]
    LongWords,
    /// A goal would be reached before it was set.
    #[error("a goal is reached on the day on which it was set, or later")]
    ReachedBeforeSet,
}

fn check_words(words: &str, may_be_empty: bool) -> Result<(), DevelopmentError> {
    if words.trim().is_empty() && !may_be_empty {
        return Err(DevelopmentError::NoWords);
    }
    if words.chars().count() > MOST_CHARACTERS {
        return Err(DevelopmentError::LongWords);
    }
    Ok(())
}

impl Goal {
    /// Checks what must hold before a goal is kept.
    ///
    /// # Errors
    /// The first rule that is broken.
    pub fn check(&self) -> Result<(), DevelopmentError> {
        check_words(&self.words, false)?;
        match self.reached {
            Some(reached) if reached < self.set => Err(DevelopmentError::ReachedBeforeSet),
            _ => Ok(()),
        }
    }
}

impl Conversation {
    /// Checks what must hold before a conversation is kept.
    ///
    /// # Errors
    /// The first rule that is broken.
    pub fn check(&self) -> Result<(), DevelopmentError> {
        check_words(&self.words, true)
    }
}

impl Message {
    /// Checks what must hold before a message is kept.
    ///
    /// # Errors
    /// The first rule that is broken.
    pub fn check(&self) -> Result<(), DevelopmentError> {
        check_words(&self.words, false)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_cannot_be_is_refused() {
        let day = |day| Date::new(2026, 11, day).unwrap();
        let goal = |words: &str, reached| Goal { set: day(9), words: words.to_owned(), reached };
        assert_eq!(goal("Frame first", None).check(), Ok(()));
        assert_eq!(goal("Frame first", Some(day(9))).check(), Ok(()));
        let before = goal("Frame first", Some(day(8)));
        assert_eq!(before.check(), Err(DevelopmentError::ReachedBeforeSet));
        assert_eq!(goal(" \n", None).check(), Err(DevelopmentError::NoWords));
        let long = goal(&"é".repeat(MOST_CHARACTERS + 1), None);
        assert_eq!(long.check(), Err(DevelopmentError::LongWords));
        assert_eq!(goal(&"é".repeat(MOST_CHARACTERS), None).check(), Ok(()));

        assert_eq!(Conversation { day: day(9), words: String::new() }.check(), Ok(()));
        let silent = Message { day: day(9), words: String::new() };
        assert_eq!(silent.check(), Err(DevelopmentError::NoWords));
    }
}
