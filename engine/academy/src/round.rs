//! A round: who met, what kind it was meant to be, how long it lasted.

use crate::person::{Athlete, Person};
use crate::time::Time;

/// What a round was meant to be.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub enum RoundKind {
    /// Light, exchanging positions, submissions let go.
    #[default]
    Flow,
    /// Working on a position.
    Positional,
    /// Full resistance.
    Hard,
    /// A match under a rule book.
    Competition,
}

impl RoundKind {
    /// All kinds.
    pub const ALL: [RoundKind; 4] =
        [RoundKind::Flow, RoundKind::Positional, RoundKind::Hard, RoundKind::Competition];

    /// The id used in files and on the command line.
    #[must_use]
    pub const fn id(self) -> &'static str {
        match self {
            RoundKind::Flow => "flow",
            RoundKind::Positional => "positional",
            RoundKind::Hard => "hard",
            RoundKind::Competition => "competition",
        }
    }

    /// The kind with this id.
    #[must_use]
    pub fn from_id(id: &str) -> Option<Self> {
        RoundKind::ALL.into_iter().find(|kind| kind.id() == id)
    }
}

/// Why a round cannot be.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum RoundError {
    /// A name is empty.
    #[error("an athlete has no name")]
    NoName,
    /// Both athletes have the same name.
    #[error("both athletes are called {0}: give one of them another name")]
    SameName(String),
    /// The round has no length.
    #[error("the round has no length")]
    NoLength,
}

/// A round between two different people, of a length above zero.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Round {
    athletes: [Person; 2],
    kind: RoundKind,
    length: Time,
}

impl Round {
    /// A round between two people.
    ///
    /// # Errors
    /// A missing name, twice the same name (letter case aside), or no length.
    pub fn new(athletes: [Person; 2], kind: RoundKind, length: Time) -> Result<Self, RoundError> {
        let [first, second] = &athletes;
        if first.name.trim().is_empty() || second.name.trim().is_empty() {
            return Err(RoundError::NoName);
        }
        if first.name.trim().to_lowercase() == second.name.trim().to_lowercase() {
            return Err(RoundError::SameName(first.name.clone()));
        }
        if length == Time::ZERO {
            return Err(RoundError::NoLength);
        }
        Ok(Round { athletes, kind, length })
    }

    /// The two people, in order.
    #[must_use]
    pub fn athletes(&self) -> &[Person; 2] {
        &self.athletes
    }

    /// The person behind an athlete of this round.
    #[must_use]
    pub fn person(&self, athlete: Athlete) -> &Person {
        &self.athletes[athlete.index()]
    }

    /// The name of an athlete of this round.
    #[must_use]
    pub fn name(&self, athlete: Athlete) -> &str {
        &self.person(athlete).name
    }

    /// The athlete with this name, letter case aside.
    #[must_use]
    pub fn athlete(&self, name: &str) -> Option<Athlete> {
        let name = name.to_lowercase();
        Athlete::BOTH.into_iter().find(|athlete| self.name(*athlete).to_lowercase() == name)
    }

    /// What the round was meant to be.
    #[must_use]
    pub const fn kind(&self) -> RoundKind {
        self.kind
    }

    /// How long the round lasted.
    #[must_use]
    pub const fn length(&self) -> Time {
        self.length
    }
}
