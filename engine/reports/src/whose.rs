//! Whose figures are told, and to whom: names, pronouns and the forms of verbs that go with them.

use academy::Pronoun;

/// To whom the words are said.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Voice {
    /// To the student: "you get out".
    You,
    /// To the coach about the student: "Petra gets out".
    Third,
    /// About several people together: "the blue belts get out".
    Together,
}

/// Whose figures they are.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Whose<'a> {
    /// The first name, or who they are together ("the blue belts").
    pub name: &'a str,
    /// How to speak about the student; "they" where it is not known.
    pub pronoun: Option<Pronoun>,
    /// To whom the words are said.
    pub voice: Voice,
}

impl Whose<'_> {
    /// "you", "Petra", "the blue belts".
    pub(crate) fn name(&self) -> String {
        match self.voice {
            Voice::You => "you".to_owned(),
            Voice::Third | Voice::Together => self.name.to_owned(),
        }
    }

    /// "your", "Petra's", "the blue belts'".
    pub(crate) fn names(&self) -> String {
        match self.voice {
            Voice::You => "your".to_owned(),
            _ if self.name.ends_with('s') => format!("{}\u{2019}", self.name),
            _ => format!("{}\u{2019}s", self.name),
        }
    }

    /// "you", "she", "they".
    pub(crate) const fn they(&self) -> &'static str {
        match (self.voice, self.pronoun) {
            (Voice::You, _) => "you",
            (Voice::Third, Some(Pronoun::He)) => "he",
            (Voice::Third, Some(Pronoun::She)) => "she",
            _ => "they",
        }
    }

    /// "you", "her", "them".
    pub(crate) const fn them(&self) -> &'static str {
        match (self.voice, self.pronoun) {
            (Voice::You, _) => "you",
            (Voice::Third, Some(Pronoun::He)) => "him",
            (Voice::Third, Some(Pronoun::She)) => "her",
            _ => "them",
        }
    }

    /// "your", "her", "their".
    pub(crate) const fn their(&self) -> &'static str {
        match (self.voice, self.pronoun) {
            (Voice::You, _) => "your",
            (Voice::Third, Some(Pronoun::He)) => "his",
            (Voice::Third, Some(Pronoun::She)) => "her",
            _ => "their",
        }
    }

    /// The form of a verb that goes with the name: "you get", "Petra gets", "the blue belts get".
    pub(crate) const fn name_does<'v>(&self, many: &'v str, one: &'v str) -> &'v str {
        match self.voice {
            Voice::You | Voice::Together => many,
            Voice::Third => one,
        }
    }

    /// The form of a verb that goes with [`Whose::they`]: "she gets", "they get".
    pub(crate) const fn they_do<'v>(&self, many: &'v str, one: &'v str) -> &'v str {
        match (self.voice, self.pronoun) {
            (Voice::Third, Some(Pronoun::He | Pronoun::She)) => one,
            _ => many,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::wording;

    #[test]
    fn verbs_go_with_their_subject() {
        let say = |voice, pronoun, name| {
            let whose = Whose { name, pronoun, voice };
            let (start, they, their) =
                (wording::capital(&whose.name()), whose.they(), whose.their());
            let (one, two) = (whose.name_does("get", "gets"), whose.they_do("move", "moves"));
            format!("{start} {one} out when {they} {two} {their} hips, and {}", whose.names())
        };
        for (voice, pronoun, name, text) in [
            (
                Voice::You,
                Some(Pronoun::She),
                "Petra",
                "You get out when you move your hips, and your",
            ),
            (
                Voice::Third,
                Some(Pronoun::She),
                "Petra",
                "Petra gets out when she moves her hips, and Petra\u{2019}s",
            ),
            (
                Voice::Third,
                None,
                "Idris",
                "Idris gets out when they move their hips, and Idris\u{2019}",
            ),
            (
                Voice::Together,
                None,
                "the blue belts",
                "The blue belts get out when they move their hips, and the blue belts\u{2019}",
            ),
        ] {
            assert_eq!(say(voice, pronoun, name), text);
        }
    }
}
