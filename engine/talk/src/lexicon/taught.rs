//! Words that a coach taught: what is heard, and the term that is meant by it.

use std::ops::Range;

use super::{Language, Lexicon, LexiconFault, TermIndex};
use crate::spelling::{self, Token};

/// A taught word that the lexicon could not take.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct NotTaught {
    /// Its place among those given.
    pub place: usize,
    /// Why: what is meant is no term (it may be a name, see
    /// [`with_names_taught`](crate::with_names_taught)), nothing is heard, or what is heard names
    /// another term already.
    pub fault: LexiconFault,
}

impl Lexicon {
    /// The same lexicon with further words as heard, each with the term meant by it: its id, its
    /// name or any of its forms. An article in front of several heard words stays out of it, unless
    /// the term has one too. Where the words are heard later, they are found as written, and put
    /// right to what was meant.
    ///
    /// Also what could not be taken; the others are. Costs about as much as reading the lexicon,
    /// once for all words.
    #[must_use]
    pub fn with_spoken_forms<T: AsRef<str>>(mut self, taught: &[(T, T)]) -> (Self, Vec<NotTaught>) {
        let mut refused = Vec::new();
        for (place, (heard, meant)) in taught.iter().enumerate() {
            if let Err(fault) = self.teach(heard.as_ref().trim(), meant.as_ref().trim()) {
                refused.push(NotTaught { place, fault });
            }
        }
        if refused.len() < taught.len() {
            self.make_ready();
        }
        (self, refused)
    }

    /// The same lexicon, for which these words were heard rightly: they are taken for no
    /// mishearing of a term or a name.
    #[must_use]
    pub fn with_words_as_said<T: AsRef<str>>(mut self, words: &[T]) -> Self {
        let pieces = words.iter().map(|words| spelling::words_of(words.as_ref()));
        self.as_said.extend(pieces.filter(|pieces| !pieces.is_empty()));
        self
    }

    /// The stretches of words that were heard rightly: see [`Lexicon::with_words_as_said`].
    pub(crate) fn heard_rightly(&self, tokens: &[Token]) -> Vec<Range<usize>> {
        let mut stretches = Vec::new();
        for pieces in &self.as_said {
            for window in tokens.windows(pieces.len()) {
                if window.iter().map(|token| &token.text).eq(pieces) {
                    stretches.push(window[0].word..window[pieces.len() - 1].word + 1);
                }
            }
        }
        stretches
    }

    fn teach(&mut self, heard: &str, meant: &str) -> Result<(), LexiconFault> {
        let (term, said) = match self.find(meant) {
            Some(term) => (term, self.term(term).name.clone()),
            None => {
                let named = self.named(meant);
                let term = named.ok_or_else(|| LexiconFault::NoSuchTerm(meant.to_owned()))?;
                (term, meant.to_owned())
            }
        };
        let heard = match (article_and_rest(heard), article_and_rest(&said)) {
            (Some(rest), None) if spelling::words_of(rest).len() > 1 => rest,
            _ => heard,
        };
        let form = self.add_spoken(term, heard, Language::Own, false, Some(said))?;
        // A mishearing known before counts everywhere from now on.
        let form = &mut self.forms[form.0];
        if form.heard_for.is_some() {
            form.language = Language::Own;
        }
        Ok(())
    }

    /// The term that has a form written like this.
    fn named(&self, text: &str) -> Option<TermIndex> {
        let plain = |piece: &String| {
            let mut readings = self.readings(piece).iter();
            readings.find(|reading| !reading.inflected).map(|reading| reading.word)
        };
        let words: Option<Vec<_>> = spelling::words_of(text).iter().map(plain).collect();
        let form = self.form(self.written(&words?)?);
        // What is only ever heard is not what anybody means.
        form.heard_for.is_none().then_some(form.term)
    }
}

/// What follows an article.
fn article_and_rest(text: &str) -> Option<&str> {
    let (first, rest) = text.split_once(char::is_whitespace)?;
    ["a", "an", "the"].contains(&first.to_lowercase().as_str()).then(|| rest.trim_start())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::find::{FoundBy, find_terms};

    fn taught(pairs: &[(&str, &str)]) -> Lexicon {
        let (lexicon, refused) = Lexicon::builtin().with_spoken_forms(pairs);
        assert_eq!(refused, []);
        lexicon
    }

    /// What is found of a term, how, and the talk as it is put right.
    fn heard(lexicon: &Lexicon, text: &str, term: &str) -> (Vec<(String, FoundBy)>, String) {
        let words: Vec<&str> = text.split_whitespace().collect();
        let finds = find_terms(&words, lexicon);
        let corrections = crate::corrections(&words, &finds, &[], crate::LEAST_TO_CORRECT);
        let file = format!("WEBVTT\n\n00:00.000 --> 00:05.000\n{text}\n");
        let talk = crate::read(file.as_bytes()).unwrap().talk;
        let right = crate::correct(&talk, &corrections);
        let right: Vec<&str> = right.words().map(|word| word.text.as_str()).collect();
        let of_term = finds.iter().filter(|find| lexicon.term(find.term).id == term);
        let found = of_term.map(|find| (words[find.words.clone()].join(" "), find.by)).collect();
        (found, right.join(" "))
    }

    #[test]
    fn a_taught_word_is_found_as_written_and_put_right() {
        let text = "so he has the delivery garden there";
        let before = heard(&Lexicon::builtin(), text, "de_la_riva");
        assert!(before.0.iter().all(|(_, by)| *by == FoundBy::Sound), "{before:?}");
        for meant in ["De la Riva guard", "de la riva guard", "de_la_riva"] {
            let lexicon = taught(&[("the delivery garden", meant)]);
            let (found, right) = heard(&lexicon, text, "de_la_riva");
            assert_eq!(found, [("delivery garden".to_owned(), FoundBy::Exact)]);
            assert!(right.to_lowercase().starts_with("so he has the de la riva"), "{right}");
        }
    }

    #[test]
    fn what_was_heard_rightly_is_put_right_no_more() {
        let text = "he passes and settles in sight control now";
        let (found, right) = heard(&Lexicon::builtin(), text, "side_control");
        assert_eq!((found.len(), right.contains("side control")), (1, true));
        let lexicon = Lexicon::builtin().with_words_as_said(&["Sight control"]);
        assert_eq!(heard(&lexicon, text, "side_control"), (Vec::new(), text.to_owned()));
        // Elsewhere the same sounds mean what they did.
        assert_eq!(heard(&lexicon, "and now side can troll", "side_control").0.len(), 1);
    }

    #[test]
    fn a_mishearing_known_before_counts_everywhere_once_taught() {
        // The lexicon hears "wizard" as the whizzer only near other words of the trade.
        let text = "and that is a wizard I think";
        assert_eq!(heard(&Lexicon::builtin(), text, "overhook").0, []);
        let (found, right) = heard(&taught(&[("wizard", "whizzer")]), text, "overhook");
        assert_eq!(found, [("wizard".to_owned(), FoundBy::Exact)]);
        assert_eq!(right, "and that is a whizzer I think");
    }

    #[test]
    fn what_cannot_be_taught_is_told_and_the_rest_is_taken() {
        let pairs = [
            ("petrol", "Petra"),
            ("the knee cut", "mount"),
            (" - ", "mount"),
            ("~mouse > trap", "mount"),
        ];
        let (lexicon, refused) = Lexicon::builtin().with_spoken_forms(&pairs);
        let refused: Vec<_> = refused.into_iter().map(|r| (r.place, r.fault)).collect();
        assert_eq!(
            refused,
            [
                (0, LexiconFault::NoSuchTerm("Petra".into())),
                (1, LexiconFault::SharedForm("knee cut".into(), "knee_cut".into())),
                (2, LexiconFault::EmptyForm("mount".into())),
            ]
        );
        // Marks of the lexicon's file mean nothing in what is heard.
        let (found, _) = heard(&lexicon, "look at the mouse trap", "mount");
        assert_eq!(found, [("mouse trap".to_owned(), FoundBy::Exact)]);
    }
}
