//! People of an academy as its book keeps them: belts, consent, guardians.

use jiff::civil::Date;

use crate::person::{Person, Pronoun};

/// A belt, from the first to the last; grey to green are worn by children.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Belt {
    /// Everyone's first.
    #[default]
    White,
    /// Children's.
    Grey,
    /// Children's.
    Yellow,
    /// Children's.
    Orange,
    /// Children's.
    Green,
    /// Adults' second.
    Blue,
    /// Adults' third.
    Purple,
    /// Adults' fourth.
    Brown,
    /// Adults' fifth.
    Black,
}

impl Belt {
    /// All belts in order.
    pub const ALL: [Belt; 9] = [
        Belt::White,
        Belt::Grey,
        Belt::Yellow,
        Belt::Orange,
        Belt::Green,
        Belt::Blue,
        Belt::Purple,
        Belt::Brown,
        Belt::Black,
    ];

    /// The id used in files, which is also its name.
    #[must_use]
    pub const fn id(self) -> &'static str {
        match self {
            Belt::White => "white",
            Belt::Grey => "grey",
            Belt::Yellow => "yellow",
            Belt::Orange => "orange",
            Belt::Green => "green",
            Belt::Blue => "blue",
            Belt::Purple => "purple",
            Belt::Brown => "brown",
            Belt::Black => "black",
        }
    }

    /// The belt with this id.
    #[must_use]
    pub fn from_id(id: &str) -> Option<Self> {
        Belt::ALL.into_iter().find(|belt| belt.id() == id)
    }
}

/// What somebody does at the academy, and so what they may see and change in its book.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub enum Role {
    /// Their own pages only.
    #[default]
    Student,
    /// Rounds and classes.
    Assistant,
    /// Everything.
    Coach,
}

impl Role {
    /// All roles, least first.
    pub const ALL: [Role; 3] = [Role::Student, Role::Assistant, Role::Coach];

    /// The id used in files, which is also its name.
    #[must_use]
    pub const fn id(self) -> &'static str {
        match self {
            Role::Student => "student",
            Role::Assistant => "assistant",
            Role::Coach => "coach",
        }
    }

    /// The role with this id.
    #[must_use]
    pub fn from_id(id: &str) -> Option<Self> {
        Role::ALL.into_iter().find(|role| role.id() == id)
    }
}

/// To whom videos and pages of a person may be shown, as that person (or, for a minor, the
/// guardian) said. Nothing said means no.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub struct Consent {
    /// Within the club.
    pub club: bool,
    /// To anybody.
    pub public: bool,
}

/// Who answers for a minor.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Guardian {
    /// Name.
    pub name: String,
    /// How to reach them.
    pub contact: String,
    /// What they allow.
    pub consent: Consent,
}

/// With whom something would be shared.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Audience {
    /// Other people of the academy.
    Club,
    /// Anybody.
    Public,
}

/// Why something that shows a person must not be shared.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum NoConsent {
    /// The person has not agreed.
    #[error("{0} has not agreed to it")]
    Person(String),
    /// A minor has no guardian in the book.
    #[error("{0} is under 18 and no guardian is in the book")]
    NoGuardian(String),
    /// A minor's guardian has not agreed.
    #[error("{0} is under 18 and the guardian has not agreed to it")]
    Guardian(String),
}

/// A person of the academy.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Member {
    /// The name as people say it, unique in the book.
    pub name: String,
    /// The pronoun, where known.
    pub pronoun: Option<Pronoun>,
    /// What they do here.
    pub role: Role,
    /// Belt.
    pub belt: Belt,
    /// Stripes on it, 0 to 4 (10 on a black belt).
    pub stripes: u8,
    /// Since when they wear this belt.
    pub belt_since: Option<Date>,
    /// When they began here.
    pub joined: Option<Date>,
    /// Kilograms.
    pub weight: Option<f64>,
    /// Year of birth.
    pub birth_year: Option<i16>,
    /// Whatever the coach wants to remember.
    pub notes: String,
    /// What they agreed to.
    pub consent: Consent,
    /// Who answers for them.
    pub guardian: Option<Guardian>,
    /// No longer here; kept for the rounds they are in.
    pub left: bool,
}

/// Why a member cannot be kept.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum MemberError {
    /// A name is missing.
    #[error("a person needs a name")]
    NoName,
    /// A name is longer than [`LONGEST_NAME`].
    #[error("a name may have {LONGEST_NAME} characters at most")]
    LongName,
    /// More stripes than the belt has.
    #[error("a {0} belt has no {1} stripes")]
    Stripes(&'static str, u8),
    /// A weight nobody has.
    #[error("a weight is between 10 and 300 kg")]
    Weight,
    /// A year nobody now alive was born in.
    #[error("a year of birth is between 1900 and 2100")]
    BirthYear,
}

/// Characters of a name.
pub const LONGEST_NAME: usize = 80;

/// Age at which people speak for themselves, in years (common practice; local law rules).
const OF_AGE: i16 = 18;

impl Member {
    /// Checks what must hold before a member is kept.
    ///
    /// # Errors
    /// The first rule that is broken.
    pub fn check(&self) -> Result<(), MemberError> {
        if self.name.trim().is_empty() {
            return Err(MemberError::NoName);
        }
        if self.name.chars().count() > LONGEST_NAME {
            return Err(MemberError::LongName);
        }
        if self.stripes > if self.belt == Belt::Black { 10 } else { 4 } {
            return Err(MemberError::Stripes(self.belt.id(), self.stripes));
        }
        if self.weight.is_some_and(|weight| !(10.0..=300.0).contains(&weight)) {
            return Err(MemberError::Weight);
        }
        if self.birth_year.is_some_and(|year| !(1900..=2100).contains(&year)) {
            return Err(MemberError::BirthYear);
        }
        Ok(())
    }

    /// Whether the person may be under 18 in a year. Only the year of birth is kept, so whoever
    /// turns 18 within the year still counts as a minor. Without a year of birth a guardian in the
    /// book says so.
    #[must_use]
    pub fn is_minor(&self, year: i16) -> bool {
        match self.birth_year {
            Some(born) => year - born <= OF_AGE,
            None => self.guardian.is_some(),
        }
    }

    /// Whether something that shows this person may be shared.
    ///
    /// # Errors
    /// Who has not agreed. A minor needs both their own consent and the guardian's.
    pub fn may_be_shown_to(&self, audience: Audience, year: i16) -> Result<(), NoConsent> {
        let allows = |consent: Consent| match audience {
            Audience::Club => consent.club || consent.public,
            Audience::Public => consent.public,
        };
        if !allows(self.consent) {
            return Err(NoConsent::Person(self.name.clone()));
        }
        if self.is_minor(year) {
            let Some(guardian) = &self.guardian else {
                return Err(NoConsent::NoGuardian(self.name.clone()));
            };
            if !allows(guardian.consent) {
                return Err(NoConsent::Guardian(self.name.clone()));
            }
        }
        Ok(())
    }

    /// The person as a round needs them.
    #[must_use]
    pub fn person(&self) -> Person {
        Person { name: self.name.clone(), pronoun: self.pronoun }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_minor_needs_a_guardian_who_agrees() {
        let consent = Consent { club: true, public: false };
        let mut child = Member {
            name: "Wren".to_owned(),
            birth_year: Some(2012),
            consent,
            ..Member::default()
        };
        let shown = |member: &Member, audience| member.may_be_shown_to(audience, 2026);
        assert_eq!(shown(&child, Audience::Club), Err(NoConsent::NoGuardian("Wren".into())));
        child.guardian = Some(Guardian {
            name: "Ida".to_owned(),
            contact: String::new(),
            consent: Consent::default(),
        });
        assert_eq!(shown(&child, Audience::Club), Err(NoConsent::Guardian("Wren".into())));
        child.guardian.as_mut().unwrap().consent = consent;
        assert_eq!(shown(&child, Audience::Club), Ok(()));
        assert_eq!(shown(&child, Audience::Public), Err(NoConsent::Person("Wren".into())));
        // Of age, the guardian is no longer asked.
        child.birth_year = Some(2000);
        child.guardian = None;
        assert_eq!(shown(&child, Audience::Club), Ok(()));
    }

    #[test]
    fn whoever_turns_eighteen_this_year_still_counts_as_a_minor() {
        let born = |year| Member { birth_year: Some(year), ..Member::default() };
        assert!(born(2008).is_minor(2026));
        assert!(!born(2007).is_minor(2026));
    }

    #[test]
    fn what_cannot_be_is_refused() {
        let named = || Member { name: "Wren".to_owned(), ..Member::default() };
        assert_eq!(named().check(), Ok(()));
        assert_eq!(Member::default().check(), Err(MemberError::NoName));
        let striped = Member { stripes: 5, ..named() };
        assert_eq!(striped.check().unwrap_err().to_string(), "a white belt has no 5 stripes");
        let heavy = Member { weight: Some(f64::NAN), ..named() };
        assert_eq!(heavy.check(), Err(MemberError::Weight));
    }
}
