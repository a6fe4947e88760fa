//! Finding the athletes' names in heard words.

use std::ops::Range;

use academy::Athlete;

use crate::spelling;

/// A stretch of words that names one of the two athletes.
#[derive(Clone, Debug, PartialEq)]
pub struct NameFind {
    /// The places of the words; never empty.
    pub words: Range<usize>,
    /// Who is named.
    pub athlete: Athlete,
    /// The chance, 0 to 1, that the name was said.
    pub probability: f64,
    /// Whether the words are the name as written.
    pub exact: bool,
}

/// Where the two athletes are named in `words`, from left to right, without overlap.
#[must_use]
pub fn find_names(words: &[&str], names: [&str; 2]) -> Vec<NameFind> {
    let tokens = spelling::tokens(words);
    let names = names.map(spelling::words_of);
    let mut finds: Vec<NameFind> = Vec::new();
    let mut at = 0;
    while at < tokens.len() {
        let named = Athlete::BOTH.into_iter().find(|athlete| {
            let name = &names[athlete.index()];
            let heard = tokens.get(at..at + name.len());
            !name.is_empty()
                && heard.is_some_and(|heard| heard.iter().map(|t| &t.text).eq(name.iter()))
        });
        match named {
            Some(athlete) => {
                let last = at + names[athlete.index()].len() - 1;
                let words = tokens[at].word..tokens[last].word + 1;
                finds.push(NameFind { words, athlete, probability: 0.99, exact: true });
                at = last + 1;
            }
            None => at += 1,
        }
    }
    finds
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_as_written_are_found() {
        let words = ["Petra's", "up,", "and", "IDRIS", "waits"];
        let finds = find_names(&words, ["Petra", "Idris"]);
        let found: Vec<_> = finds.iter().map(|f| (f.words.clone(), f.athlete, f.exact)).collect();
        assert_eq!(found, [(0..1, Athlete::First, true), (3..4, Athlete::Second, true)]);
        assert!(find_names(&words, ["", "-"]).is_empty());
    }
}
