//! Finding terms in heard words.

use std::ops::Range;

use crate::by_sound::{self, HeardWord, Hearing};
use crate::lexicon::{Form, FormIndex, Lexicon, TermIndex};
use crate::spelling::{self, Token};
use crate::word_model::Spoken;

/// How a term was found.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum FoundBy {
    /// The words are one of the term's spoken forms, or an inflection of it.
    Exact,
    /// The words sound like one of the term's spoken forms.
    Sound,
}

/// A stretch of words that names a term.
#[derive(Clone, Debug, PartialEq)]
pub struct Find {
    /// The places of the words; never empty. Finds do not overlap.
    pub words: Range<usize>,
    /// The term named.
    pub term: TermIndex,
    /// The spoken form it was taken for.
    pub form: FormIndex,
    /// The chance, 0 to 1, that the speaker said this term and meant it as a word of the trade.
    pub probability: f64,
    /// How it was found.
    pub by: FoundBy,
    /// The words as they were probably said, in lower case, inflected as heard: what a correction
    /// would write.
    pub said: String,
}

/// Chance that an exact form is meant as a word of the trade. From memory of such talk, not
/// measured: a coach who says "kimura" means it; "side" or "let go" may be plain English.
const EXACT: f64 = 0.97;
const EXACT_EVERYDAY: f64 = 0.6;

/// The terms named in `words`, from left to right, without overlap.
///
/// Exact forms first, the longest at each place; then by sound, where the words as heard are
/// unlikely and sound like a term that fits its surroundings. Words are given as written, with
/// their punctuation. Complexity: see `by_sound`; about 5 ms for the 900 words of six minutes.
#[must_use]
pub fn find_terms(words: &[&str], lexicon: &Lexicon) -> Vec<Find> {
    find_terms_with(words, lexicon, &Hearing::TERMS)
}

/// [`find_terms`] with other costs of mishearing.
#[must_use]
pub fn find_terms_with(words: &[&str], lexicon: &Lexicon, hearing: &Hearing) -> Vec<Find> {
    let tokens = spelling::tokens(words);
    let exact = find_exact(&tokens, lexicon);
    let mut heard = hear(&tokens, lexicon);
    for find in exact.iter().filter(|find| !lexicon.form(find.form).everyday) {
        for (token, word) in tokens.iter().zip(&mut heard) {
            word.trusted |= find.words.contains(&token.word);
        }
    }
    let matches = by_sound::choose(by_sound::search(&heard, lexicon.targets(), hearing));
    let mut finds = Vec::new();
    for found in matches {
        let target = lexicon.targets().get(found.target);
        let last = found.start + found.length - 1;
        let form = FormIndex::new(target.what);
        finds.push(Find {
            words: tokens[found.start].word..tokens[last].word + 1,
            term: lexicon.form(form).term,
            form,
            probability: by_sound::chance(found.odds),
            by: FoundBy::Sound,
            said: target.text.to_lowercase(),
        });
    }
    // "taps yeah" is no mishearing of "taps".
    finds.retain(|sound: &Find| {
        exact.iter().all(|e| !overlap(&e.words, &sound.words) || e.term != sound.term)
    });
    // An exact find gives way only to a sound that is likely and takes in all of its words.
    finds.retain(|sound: &Find| {
        exact.iter().filter(|e| overlap(&e.words, &sound.words)).all(|e| {
            let covers = sound.words.start <= e.words.start && e.words.end <= sound.words.end;
            covers && sound.probability > 0.6
        })
    });
    let unheard = |e: &Find| finds.iter().all(|sound| !overlap(&e.words, &sound.words));
    let kept: Vec<Find> = exact.into_iter().filter(unheard).collect();
    finds.extend(kept);
    finds.sort_by_key(|find| find.words.start);
    finds
}

fn overlap(a: &Range<usize>, b: &Range<usize>) -> bool {
    a.start < b.end && b.start < a.end
}

/// What the search by sound needs to know of each piece.
pub(crate) fn hear(tokens: &[Token], lexicon: &Lexicon) -> Vec<HeardWord> {
    tokens
        .iter()
        .map(|token| {
            let spoken = token.spoken();
            let sounds = lexicon.pronunciations(&spoken).into_iter().next().unwrap_or_default();
            HeardWord { spoken: Spoken::new(&spoken), sounds, trusted: false }
        })
        .collect()
}

pub(crate) fn find_exact(tokens: &[Token], lexicon: &Lexicon) -> Vec<Find> {
    let mut finds = Vec::new();
    let mut at = 0;
    while at < tokens.len() {
        let Some((length, form)) = longest_at(&tokens[at..], lexicon) else {
            at += 1;
            continue;
        };
        let found = lexicon.form(form);
        let probability = if found.everyday { EXACT_EVERYDAY } else { EXACT };
        finds.push(Find {
            words: tokens[at].word..tokens[at + length - 1].word + 1,
            term: found.term,
            form,
            probability,
            by: FoundBy::Exact,
            said: said(&tokens[at..at + length], found),
        });
        at += length;
        // A hyphenated word may hold the end of one form and the start of another.
        while at < tokens.len() && tokens[at].word == tokens[at - 1].word {
            at += 1;
        }
    }
    finds
}

/// What was said where a form was found exactly: the words as heard, unless they were joined or
/// split in another way than the form is written.
fn said(tokens: &[Token], form: &Form) -> String {
    if tokens.len() == form.words.len() {
        let words: Vec<String> = tokens.iter().map(Token::spoken).collect();
        return words.join(" ");
    }
    let mut letters: String = tokens.iter().map(|token| token.text.as_str()).collect();
    if tokens.last().is_some_and(|token| token.possessive) {
        letters.push_str("'s");
    }
    let plain = spelling::words_of(&form.text);
    if plain.len() == 1 { letters } else { plain.join(" ") }
}

/// The longest form that starts with the first of these pieces: how many pieces, and which.
/// Among forms of one length the one with fewest inflected words wins.
fn longest_at(tokens: &[Token], lexicon: &Lexicon) -> Option<(usize, FormIndex)> {
    let mut best: Option<(usize, usize, FormIndex)> = None;
    let mut consider = |length: usize, inflected: usize, form: FormIndex| {
        let better = best.is_none_or(|(l, i, _)| length > l || (length == l && inflected < i));
        if better {
            best = Some((length, inflected, form));
        }
    };
    for reading in lexicon.readings(&tokens[0].text) {
        for form in lexicon.starting_with(reading.word) {
            let words = &lexicon.form(*form).words;
            let Some(rest) = tokens.get(1..words.len()) else { continue };
            let mut inflected = usize::from(reading.inflected);
            let fits = rest.iter().zip(&words[1..]).all(|(token, word)| {
                let readings = lexicon.readings(&token.text);
                let Some(found) = readings.iter().find(|r| r.word == *word) else { return false };
                inflected += usize::from(found.inflected);
                true
            });
            if fits {
                consider(words.len(), inflected, *form);
            }
        }
    }
    // "halfguard" for "half guard", and "under hooks" for "underhooks".
    if let Some(form) = lexicon.written_together(&tokens[0].text) {
        consider(1, 0, form);
    }
    let mut letters = tokens[0].text.clone();
    for (length, token) in tokens.iter().enumerate().take(3).skip(1) {
        letters.push_str(&token.text);
        for reading in lexicon.readings(&letters) {
            let starting = lexicon.starting_with(reading.word);
            let alone = starting.iter().find(|form| lexicon.form(**form).words.len() == 1);
            if let Some(form) = alone {
                consider(length + 1, usize::from(reading.inflected), *form);
            }
        }
    }
    best.map(|(length, _, form)| (length, form))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn found(text: &str) -> Vec<(String, String)> {
        let lexicon = Lexicon::builtin();
        let words: Vec<&str> = text.split_whitespace().collect();
        find_terms(&words, &lexicon)
            .iter()
            .map(|f| (words[f.words.clone()].join(" "), lexicon.term(f.term).id.clone()))
            .collect()
    }

    fn check(text: &str, expected: &[(&str, &str)]) {
        let expected: Vec<(String, String)> =
            expected.iter().map(|(w, t)| ((*w).to_owned(), (*t).to_owned())).collect();
        assert_eq!(found(text), expected, "in {text:?}");
    }

    #[test]
    fn the_longest_form_wins() {
        check("he plays half guard", &[("half guard", "half_guard")]);
        check("Deep half guard, there.", &[("Deep half guard,", "deep_half")]);
        check("it's the knee-cut pass", &[("knee-cut pass", "knee_cut")]);
        check("cross side", &[("cross side", "side_control")]);
    }

    #[test]
    fn inflections_and_joined_words_are_found() {
        check("she passes", &[("passes", "pass")]);
        check("and swept him", &[("swept", "sweep")]);
        check("he took the back", &[("took the back", "back_take")]);
        check("underhooks", &[("underhooks", "underhook")]);
        check("the under hooks", &[("under hooks", "underhook")]);
        check("an arm bar", &[("arm bar", "armbar")]);
        check("halfguard", &[("halfguard", "half_guard")]);
    }

    #[test]
    fn three_languages_are_found() {
        check(
            "isso raspagem da meia-guarda",
            &[("raspagem", "sweep"), ("meia-guarda", "half_guard")],
        );
        check("mata leão", &[("mata leão", "rear_naked_choke")]);
        check("juji gatame", &[("juji gatame", "armbar")]);
    }

    #[test]
    fn no_words_no_finds() {
        check("", &[]);
        check("-- ...", &[]);
        check("and then the weather was good", &[]);
    }
}
