//! Terms and their spoken forms.

use academy::Position;

use super::WordId;

/// What kind of thing a term names.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum TermKind {
    /// A position of the ledger or a finer variant of one.
    Position,
    /// A kind of guard.
    GuardVariant,
    /// A named way of doing something.
    Technique,
    /// A choke or a lock.
    Submission,
    /// A moment: pass, sweep, tap ...
    Event,
    /// A grip or a hold of a limb.
    Grip,
    /// A word of teaching.
    Concept,
}

impl TermKind {
    /// Every kind.
    pub const ALL: [TermKind; 7] = [
        TermKind::Position,
        TermKind::GuardVariant,
        TermKind::Technique,
        TermKind::Submission,
        TermKind::Event,
        TermKind::Grip,
        TermKind::Concept,
    ];

    /// The id used in files.
    #[must_use]
    pub const fn id(self) -> &'static str {
        match self {
            TermKind::Position => "position",
            TermKind::GuardVariant => "guard_variant",
            TermKind::Technique => "technique",
            TermKind::Submission => "submission",
            TermKind::Event => "event",
            TermKind::Grip => "grip",
            TermKind::Concept => "concept",
        }
    }
}

/// The language of a spoken form.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Language {
    /// English, the only one whose inflections are known.
    English,
    /// Portuguese.
    Portuguese,
    /// Japanese in Latin letters.
    Japanese,
    /// Added by the coach; inflected like English.
    Own,
}

/// The part the acting athlete has in a place.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Role {
    /// On top, or behind, or the attacker of a leg.
    Top,
    /// Underneath.
    Bottom,
    /// Nobody is on top.
    Nobody,
}

/// Where something typically starts or leads.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Place {
    /// Anywhere.
    Any,
    /// The opponent gives up.
    Tap,
    /// In a position, with the role of the one who acts where it matters.
    At(Position, Option<Role>),
}

/// Which term of a lexicon: the place in [`terms`](super::Lexicon::terms).
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct TermIndex(pub(super) usize);

impl TermIndex {
    /// The place in [`terms`](super::Lexicon::terms).
    #[must_use]
    pub const fn get(self) -> usize {
        self.0
    }
}

/// Which spoken form of a lexicon: the place in [`forms`](super::Lexicon::forms).
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct FormIndex(pub(super) usize);

impl FormIndex {
    pub(crate) const fn new(at: usize) -> Self {
        FormIndex(at)
    }

    /// The place in [`forms`](super::Lexicon::forms).
    #[must_use]
    pub const fn get(self) -> usize {
        self.0
    }
}

/// An entry of the lexicon.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Term {
    /// Short and stable, in snake_case; positions of the ledger use the ledger's ids.
    pub id: String,
    /// What kind of thing it names.
    pub kind: TermKind,
    /// The name shown to people.
    pub name: String,
    /// For a position the position itself; for a finer variant or a guard the position it is a
    /// form of; else none.
    pub position: Option<Position>,
    /// Where it typically starts, with the role of the one who acts.
    pub from: Vec<Place>,
    /// Where it typically leads.
    pub to: Vec<Place>,
    /// What else is worth knowing; empty if nothing.
    pub note: String,
}

/// One way of saying a term.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Form {
    /// The term it names.
    pub term: TermIndex,
    /// As written in captions.
    pub text: String,
    /// Its language.
    pub language: Language,
    /// Whether people also say it without meaning the term ("side", "let go").
    pub everyday: bool,
    /// What is said where this is heard, if it is a regular mishearing and never said itself
    /// ("whizzer" for "wizard").
    pub heard_for: Option<String>,
    pub(crate) words: Vec<WordId>,
    /// Whether a longer form of the same term begins or ends with these words.
    pub(crate) in_longer: bool,
}

impl Form {
    /// Whether the other form is longer and begins or ends with the words of this one.
    pub(crate) fn is_part_of(&self, other: &Form) -> bool {
        other.words.len() > self.words.len()
            && (other.words.starts_with(&self.words) || other.words.ends_with(&self.words))
    }

    /// Whether a coach taught what is meant where this is heard: then it is, wherever it is heard.
    pub(crate) fn is_taught(&self) -> bool {
        self.language == Language::Own && self.heard_for.is_some()
    }
}
