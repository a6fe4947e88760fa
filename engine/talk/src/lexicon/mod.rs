//! The words of the trade: terms, how they are spoken, and what is typical of them.
//!
//! The lexicon is data (`data/lexicon/terms.csv`, described in the README beside it) and is
//! checked when it is loaded.

mod parse;
mod targets;
mod taught;
mod term;

use rustc_hash::FxHashMap;

use crate::by_sound::Targets;
use crate::phoneme::Phoneme;
use crate::spelling;

pub use parse::{LexiconError, LexiconFault};
pub use taught::NotTaught;
pub use term::{Form, FormIndex, Language, Place, Role, Term, TermIndex, TermKind};

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
    /// Words, by their pieces, that mean no more than they say.
    as_said: Vec<Vec<String>>,
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
            as_said: Vec::new(),
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

    /// The words in lower case, but as the term's name has them where that has capitals.
    pub(crate) fn with_capitals(&self, term: TermIndex, words: &str) -> String {
        let name = &self.term(term).name;
        let proper = || name.split([' ', '-']).filter(|word| word.chars().any(char::is_uppercase));
        let words = words.split(' ').map(|word| {
            let word = word.to_lowercase();
            let known = proper().find(|known| known.to_lowercase() == word);
            known.map_or(word, str::to_owned)
        });
        words.collect::<Vec<_>>().join(" ")
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
        let (text, heard_for) = match text.split_once('>') {
            Some((heard, said)) => (heard.trim(), Some(said.trim().to_owned())),
            None => (text, None),
        };
        self.add_spoken(term, text, language, everyday, heard_for)?;
        Ok(())
    }

    /// Adds a form whose marks have been read, or finds it among those of the term.
    fn add_spoken(
        &mut self,
        term: TermIndex,
        text: &str,
        language: Language,
        everyday: bool,
        heard_for: Option<String>,
    ) -> Result<FormIndex, LexiconFault> {
        let pieces = spelling::words_of(text);
        if pieces.is_empty() || heard_for.as_deref() == Some("") {
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
                Ok(known)
            } else {
                Err(LexiconFault::SharedForm(text.to_owned(), self.term(owner).id.clone()))
            };
        }
        let index = FormIndex(self.forms.len());
        if words.len() > 1 {
            self.joined.entry(pieces.concat()).or_insert(index);
        }
        self.starting.entry(words[0]).or_default().push(index);
        let text = text.to_owned();
        let in_longer = false;
        self.forms.push(Form { term, text, language, everyday, heard_for, words, in_longer });
        Ok(index)
    }

    /// What must follow any change of the forms.
    fn make_ready(&mut self) {
        self.sort_starting();
        self.mark_parts();
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

    /// Marks the forms that are a part of longer ones.
    fn mark_parts(&mut self) {
        let mut of_term: Vec<Vec<usize>> = vec![Vec::new(); self.terms.len()];
        for (at, form) in self.forms.iter().enumerate() {
            of_term[form.term.0].push(at);
        }
        for forms in of_term {
            for at in &forms {
                let part =
                    forms.iter().any(|other| self.forms[*at].is_part_of(&self.forms[*other]));
                self.forms[*at].in_longer = part;
            }
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
    use academy::Position;

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
