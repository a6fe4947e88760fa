//! People of a round.

/// One of the two athletes of a round.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Athlete {
    /// The one named first.
    First,
    /// The one named second.
    Second,
}

impl Athlete {
    /// Both athletes, in order.
    pub const BOTH: [Athlete; 2] = [Athlete::First, Athlete::Second];

    /// The other one.
    #[must_use]
    pub const fn other(self) -> Self {
        match self {
            Athlete::First => Athlete::Second,
            Athlete::Second => Athlete::First,
        }
    }

    /// 0 for the first, 1 for the second.
    #[must_use]
    pub const fn index(self) -> usize {
        match self {
            Athlete::First => 0,
            Athlete::Second => 1,
        }
    }
}

/// The pronoun a person uses.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Pronoun {
    /// he, him, his
    He,
    /// she, her, hers
    She,
    /// they, them, their
    They,
}

impl Pronoun {
    /// Reads `he`, `she` or `they`, in any case.
    #[must_use]
    pub fn parse(text: &str) -> Option<Self> {
        match text.to_ascii_lowercase().as_str() {
            "he" | "him" | "his" => Some(Pronoun::He),
            "she" | "her" | "hers" => Some(Pronoun::She),
            "they" | "them" | "their" => Some(Pronoun::They),
            _ => None,
        }
    }

    /// The form used as a subject.
    #[must_use]
    pub const fn subject(self) -> &'static str {
        match self {
            Pronoun::He => "he",
            Pronoun::She => "she",
            Pronoun::They => "they",
        }
    }
}

/// A person as a round needs them.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Person {
    /// The name as people say it.
    pub name: String,
    /// The pronoun the person uses, where known.
    pub pronoun: Option<Pronoun>,
}
