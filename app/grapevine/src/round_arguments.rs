//! What can be typed about a round: its talk, its two athletes, its length and kind. The doc comments
//! here are help.

use std::path::PathBuf;

use academy::{Person, Pronoun, Round, RoundKind, Time};
use clap::{Args, ValueEnum};

use crate::commands::error::CommandError;

/// The talk, and who met when for how long.
#[derive(Debug, Args)]
pub(crate) struct RoundArguments {
    /// The captions of the talk: a file, or - for standard input
    #[arg(value_name = "TALK")]
    pub(crate) talk: PathBuf,

    /// The two athletes, each with the pronoun they use where you know it: he, she or they
    #[arg(long, num_args = 2, required = true, value_names = ["NAME[:PRONOUN]", "NAME[:PRONOUN]"],
          value_parser = person)]
    pub(crate) between: Vec<Person>,

    /// How long the round lasted, as m:ss; later talk is left out [default: to the end of the talk
    /// and 5 s more]
    #[arg(long, value_name = "M:SS", value_parser = time)]
    pub(crate) length: Option<Time>,

    /// What the round was meant to be
    #[arg(long, value_enum, default_value_t = Kind::Flow)]
    pub(crate) kind: Kind,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub(crate) enum Kind {
    /// Light, exchanging positions, submissions let go
    Flow,
    /// Working on a position
    Positional,
    /// Full resistance
    Hard,
    /// A match under a rule book
    Competition,
}

impl From<Kind> for RoundKind {
    fn from(kind: Kind) -> RoundKind {
        match kind {
            Kind::Flow => RoundKind::Flow,
            Kind::Positional => RoundKind::Positional,
            Kind::Hard => RoundKind::Hard,
            Kind::Competition => RoundKind::Competition,
        }
    }
}

impl RoundArguments {
    /// The round; without a length it lasts to the end of the talk and a little more, since the
    /// last words are seldom the last second.
    pub(crate) fn round(&self, end_of_talk: Time) -> Result<Round, CommandError> {
        let length = self.length.unwrap_or_else(|| end_of_talk.later(AFTER_THE_LAST_WORD_MILLIS));
        let kind = RoundKind::from(self.kind);
        // clap takes exactly two.
        let [first, second] = [self.between[0].clone(), self.between[1].clone()];
        Ok(Round::new([first, second], kind, length)?)
    }
}

/// A round whose length nobody gives goes on for so long after the last word.
const AFTER_THE_LAST_WORD_MILLIS: u64 = 5_000;

/// "Petra:she", "Petra".
pub(crate) fn person(text: &str) -> Result<Person, String> {
    let (name, pronoun) = match text.rsplit_once(':') {
        None => (text, None),
        Some((name, pronoun)) => match Pronoun::parse(pronoun.trim()) {
            Some(pronoun) => (name, Some(pronoun)),
            None => return Err(format!("\"{pronoun}\" is not he, she or they")),
        },
    };
    let name = name.trim();
    if name.is_empty() {
        return Err("there is no name".to_owned());
    }
    Ok(Person { name: name.to_owned(), pronoun })
}

fn time(text: &str) -> Result<Time, String> {
    let expected = "write it as m:ss, for example 5:00";
    // Bare seconds are read too, but "5" would be a strange round: more likely minutes are meant.
    match Time::parse(text) {
        Some(_) if !text.contains(':') => Err(format!("is that minutes or seconds? {expected}")),
        Some(Time::ZERO) => Err(format!("a round has some length; {expected}")),
        Some(time) => Ok(time),
        None => Err(expected.to_owned()),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn people_are_read_with_and_without_pronoun() {
        let read = |text| person(text).map(|person| (person.name, person.pronoun));
        assert_eq!(read("Petra:she"), Ok(("Petra".to_owned(), Some(Pronoun::She))));
        assert_eq!(read(" Ana Maria "), Ok(("Ana Maria".to_owned(), None)));
        assert_eq!(read("Petra:shee"), Err("\"shee\" is not he, she or they".to_owned()));
        assert_eq!(read(":she"), Err("there is no name".to_owned()));
    }
}
