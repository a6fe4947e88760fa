//! Names that a coach taught: what is heard where an athlete's name was said.

use crate::corrections::Correction;
use crate::spelling;
use crate::timed_words::Talk;

/// The talk with the names that a coach taught put in where they were heard otherwise: of the pairs
/// of what is heard and what is meant, those count that mean one of the two athletes. Do this
/// before anything is found in the talk, and go on with the talk that comes out.
///
/// Complexity: words times pairs.
#[must_use]
pub fn with_names_taught<T: AsRef<str>>(talk: &Talk, names: [&str; 2], taught: &[(T, T)]) -> Talk {
    let spoken = |text: &str| spelling::words_of(text);
    let mut forms: Vec<(Vec<String>, &str)> = (taught.iter())
        .filter_map(|(heard, meant)| {
            let meant = spoken(meant.as_ref());
            let name = names.into_iter().find(|name| !meant.is_empty() && spoken(name) == meant)?;
            let heard = spoken(heard.as_ref());
            (!heard.is_empty() && heard != meant).then_some((heard, name))
        })
        .collect();
    if forms.is_empty() {
        return talk.clone();
    }
    // The longest that fits is the one meant.
    forms.sort_by_key(|(heard, _)| usize::MAX - heard.len());
    let words: Vec<&str> = talk.words().map(|word| word.text.as_str()).collect();
    let tokens = spelling::tokens(&words);
    let mut corrections = Vec::new();
    let mut at = 0;
    while at < tokens.len() {
        let fits = |(heard, _): &&(Vec<String>, &str)| {
            let end = at + heard.len();
            let same = tokens.get(at..end).is_some_and(|tokens| {
                tokens.iter().zip(heard).all(|(token, heard)| token.text == *heard)
            });
            // Whole words only: not the "petrol" of "petrol-blue".
            let whole = |one: usize, other: usize| {
                tokens.get(other).is_none_or(|token| token.word != tokens[one].word)
            };
            same && whole(end - 1, end) && (at == 0 || whole(at, at - 1))
        };
        let Some((heard, name)) = forms.iter().find(fits) else {
            at += 1;
            continue;
        };
        let last = &tokens[at + heard.len() - 1];
        let ending = if last.possessive { "'s" } else { "" };
        corrections.push(Correction {
            words: tokens[at].word..last.word + 1,
            said: format!("{name}{ending}"),
            probability: 1.0,
        });
        at += heard.len();
    }
    crate::correct(talk, &corrections)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn right(text: &str, taught: &[(&str, &str)]) -> String {
        let file = format!("WEBVTT\n\n00:00.000 --> 00:05.000\n{text}\n");
        let talk = crate::read(file.as_bytes()).unwrap().talk;
        let talk = with_names_taught(&talk, ["Petra", "Idris"], taught);
        talk.words().map(|word| word.text.as_str()).collect::<Vec<_>>().join(" ")
    }

    #[test]
    fn a_taught_name_stands_where_it_was_heard_otherwise() {
        let taught = [("petrol", "petra"), ("in dress", "Idris"), ("dress", "Wren")];
        assert_eq!(
            right("Petrol, from in dress's guard. a petrol-blue dress", &taught),
            "Petra, from Idris's guard. a petrol-blue dress"
        );
        assert_eq!(right("petrol", &[("petrol", "mount"), ("", "Petra")]), "petrol");
    }

    #[test]
    fn a_taught_name_is_found() {
        let talk = right("he said petrol sweeps", &[("petrol", "Petra")]);
        let words: Vec<&str> = talk.split(' ').collect();
        let names = crate::find_names(&words, ["Petra", "Idris"], &crate::Lexicon::builtin());
        assert_eq!((names[0].words.clone(), names[0].exact), (2..3, true));
    }
}
