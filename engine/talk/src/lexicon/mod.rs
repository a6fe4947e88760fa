//! The words of the trade: terms, how they are spoken, and what is typical of them.
//!
//! The lexicon is data (`data/lexicon/terms.csv`, described in the README beside it) and is
//! checked when it is loaded.

mod parse;
mod targets;

use rustc_hash::FxHashMap;

use academy::Position;

use crate::by_sound::Targets;
use crate::phoneme::Phoneme;
use crate::spelling;

pub use parse::{LexiconError, LexiconFault};

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

/// Which term of a lexicon: the place in [`Lexicon::terms`].
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct TermIndex(usize);

impl TermIndex {
    /// The place in [`Lexicon::terms`].
    #[must_use]
    pub const fn get(self) -> usize {
        self.0
    }
}

/// Which spoken form of a lexicon: the place in [`Lexicon::forms`].
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct FormIndex(usize);

impl FormIndex {
    pub(crate) const fn new(at: usize) -> Self {
        FormIndex(at)
    }

    /// The place in [`Lexicon::forms`].
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
    pub(crate) words: Vec<WordId>,
}

/// A word that occurs in some spoken form.
pub(crate) type WordId = u16;

/// One reading of a heard piece: the word of the lexicon, and whether it was inflected.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct Reading {
    pub(crate) word: WordId,
    pub(crate) inflected: bool,
}

/// Terms and their spoken forms, ready to be searched.
///
/// Always holds: ids are unique, every form belongs to one term, and no two forms of different
/// terms are written the same.
#[derive(Clone, Debug)]
pub struct Lexicon {
    terms: Vec<Term>,
    ids: FxHashMap<String, TermIndex>,
    forms: Vec<Form>,
    words: Vec<String>,
    readings: FxHashMap<String, Vec<Reading>>,
    /// Forms by their first word, longest first.
    starting: FxHashMap<WordId, Vec<FormIndex>>,
    /// Forms of several words by the letters alone, for words heard as one.
    joined: FxHashMap<String, FormIndex>,
    /// Pronunciations that the data gives because the letters mislead.
    sounds: FxHashMap<String, Vec<Vec<Phoneme>>>,
    /// What the search by sound looks for.
    targets: Targets,
}

impl Lexicon {
    /// The lexicon that comes with the program.
    ///
    /// # Panics
    /// Never: a test loads the built-in data.
    #[must_use]
    pub fn builtin() -> Self {
        let data = include_str!("../../../../data/lexicon/terms.csv");
        Lexicon::parse(data).expect("the built-in lexicon is valid, which a test checks")
    }

    /// Reads a lexicon from CSV as `data/lexicon/README.md` describes.
    ///
    /// # Errors
    /// The first row that breaks a rule, with its line and the cause.
    pub fn parse(csv: &str) -> Result<Self, LexiconError> {
        parse::parse(csv)
    }

    fn empty() -> Self {
        Lexicon {
            terms: Vec::new(),
            ids: FxHashMap::default(),
            forms: Vec::new(),
            words: Vec::new(),
            readings: FxHashMap::default(),
            starting: FxHashMap::default(),
            joined: FxHashMap::default(),
            sounds: FxHashMap::default(),
            targets: Targets::default(),
        }
    }

    /// The same lexicon with one more way of saying a term: what a coach's correction adds.
    ///
    /// # Errors
    /// If there is no such term, the form holds no letters, or it already names another term.
    pub fn with_form(mut self, term: &str, form: &str) -> Result<Self, LexiconFault> {
        let term = self.find(term).ok_or_else(|| LexiconFault::NoSuchTerm(term.to_owned()))?;
        self.add_form(term, form, Language::Own)?;
        self.make_ready();
        Ok(self)
    }

    /// All terms, in the order of the data.
    #[must_use]
    pub fn terms(&self) -> &[Term] {
        &self.terms
    }

    /// All spoken forms; those of one term need not stand together.
    #[must_use]
    pub fn forms(&self) -> &[Form] {
        &self.forms
    }

    /// The term with this index. An index from another lexicon may panic or name another term.
    #[must_use]
    pub fn term(&self, index: TermIndex) -> &Term {
        &self.terms[index.0]
    }

    /// The form with this index. An index from another lexicon may panic or name another form.
    #[must_use]
    pub fn form(&self, index: FormIndex) -> &Form {
        &self.forms[index.0]
    }

    /// The term with this id.
    #[must_use]
    pub fn find(&self, id: &str) -> Option<TermIndex> {
        self.ids.get(id).copied()
    }

    pub(crate) fn word(&self, id: WordId) -> &str {
        &self.words[id as usize]
    }

    pub(crate) fn readings(&self, piece: &str) -> &[Reading] {
        self.readings.get(piece).map_or(&[], Vec::as_slice)
    }

    pub(crate) fn starting_with(&self, word: WordId) -> &[FormIndex] {
        self.starting.get(&word).map_or(&[], Vec::as_slice)
    }

    pub(crate) fn written_together(&self, letters: &str) -> Option<FormIndex> {
        self.joined.get(letters).copied()
    }

    /// The words of the form of several words that has these letters.
    pub(crate) fn written_apart(&self, letters: &str) -> Option<Vec<String>> {
        let form = self.form(self.written_together(letters)?);
        Some(form.words.iter().map(|id| self.word(*id).to_owned()).collect())
    }

    pub(crate) fn given_sounds(&self, word: &str) -> &[Vec<Phoneme>] {
        self.sounds.get(word).map_or(&[], Vec::as_slice)
    }

    /// The form written exactly with these words.
    fn written(&self, words: &[WordId]) -> Option<FormIndex> {
        let starting = self.starting_with(*words.first()?);
        starting.iter().copied().find(|form| self.form(*form).words == words)
    }

    fn add_form(
        &mut self,
        term: TermIndex,
        text: &str,
        language: Language,
    ) -> Result<(), LexiconFault> {
        let (everyday, text) = match text.strip_prefix('~') {
            Some(rest) => (true, rest.trim()),
            None => (false, text.trim()),
        };
        let pieces = spelling::words_of(text);
        if pieces.is_empty() {
            return Err(LexiconFault::EmptyForm(self.term(term).id.clone()));
        }
        let inflected = matches!(language, Language::English | Language::Own);
        let mut words = Vec::with_capacity(pieces.len());
        for piece in &pieces {
            words.push(self.add_word(piece, inflected)?);
        }
        if let Some(known) = self.written(&words) {
            let owner = self.form(known).term;
            // A row may repeat its own name among its forms to mark it as everyday.
            self.forms[known.0].everyday |= everyday;
            return if owner == term {
                Ok(())
            } else {
                Err(LexiconFault::SharedForm(text.to_owned(), self.term(owner).id.clone()))
            };
        }
        let index = FormIndex(self.forms.len());
        if words.len() > 1 {
            self.joined.entry(pieces.concat()).or_insert(index);
        }
        self.starting.entry(words[0]).or_default().push(index);
        self.forms.push(Form { term, text: text.to_owned(), language, everyday, words });
        Ok(())
    }

    /// What must follow any change of the forms.
    fn make_ready(&mut self) {
        self.sort_starting();
        self.targets = self.make_targets();
    }

    pub(crate) fn targets(&self) -> &Targets {
        &self.targets
    }

    /// Longest forms first, so that the first that fits is the one meant.
    fn sort_starting(&mut self) {
        let forms = &self.forms;
        for starting in self.starting.values_mut() {
            starting.sort_by_key(|form| (usize::MAX - forms[form.0].words.len(), *form));
        }
    }

    fn add_word(&mut self, piece: &str, inflected: bool) -> Result<WordId, LexiconFault> {
        let known = self.readings(piece).iter().find(|reading| !reading.inflected);
        if let Some(reading) = known {
            return Ok(reading.word);
        }
        let word = WordId::try_from(self.words.len()).map_err(|_| LexiconFault::TooMany)?;
        self.words.push(piece.to_owned());
        // The plain reading stands first: what is written out wins over what was inflected.
        let plain = Reading { word, inflected: false };
        self.readings.entry(piece.to_owned()).or_default().insert(0, plain);
        if inflected {
            for surface in spelling::inflections(piece) {
                let readings = self.readings.entry(surface).or_default();
                readings.push(Reading { word, inflected: true });
            }
        }
        Ok(word)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_builtin_lexicon_is_valid_and_speaks_three_languages() {
        let lexicon = Lexicon::builtin();
        // FACTS B: the table it started from has 297 rows.
        assert!(lexicon.terms().len() >= 290, "{}", lexicon.terms().len());
        for language in [Language::English, Language::Portuguese, Language::Japanese] {
            let count = lexicon.forms().iter().filter(|form| form.language == language).count();
            assert!(count > 60, "{language:?}: {count}");
        }
        for position in Position::ALL {
            let term = lexicon.find(position.id()).expect("every position is a term");
            if position != Position::Reset {
                assert_eq!(lexicon.term(term).position, Some(position));
            }
        }
        let de_la_riva = lexicon.find("de_la_riva").expect("a guard");
        assert_eq!(lexicon.term(de_la_riva).position, Some(Position::OpenGuard));
    }

    #[test]
    fn a_coachs_form_is_added_and_cannot_steal() {
        let lexicon = Lexicon::builtin().with_form("knee_cut", "the zipper").expect("new form");
        let added = lexicon.forms().last().expect("forms");
        assert_eq!((added.text.as_str(), added.language), ("the zipper", Language::Own));
        assert_eq!(
            lexicon.clone().with_form("mount", "Knee-Cut").err(),
            Some(LexiconFault::SharedForm("Knee-Cut".into(), "knee_cut".into()))
        );
        assert_eq!(
            lexicon.clone().with_form("nothing", "x y").err(),
            Some(LexiconFault::NoSuchTerm("nothing".into()))
        );
        assert!(lexicon.with_form("mount", " - ").is_err());
    }
}
