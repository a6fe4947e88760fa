//! Which words of a talk to put right.

use std::ops::Range;

use crate::find::{Find, FoundBy};
use crate::names::NameFind;
use crate::phonemes;
use crate::spelling::{self, Token};
use crate::word_model::ln_chance;

/// From this chance on a correction is made without asking. Below it the text stays as heard:
/// nothing is changed silently on a guess.
pub const LEAST_TO_CORRECT: f64 = 0.6;

/// One replacement of words, by their places in the whole talk.
#[derive(Clone, Debug, PartialEq)]
pub struct Correction {
    /// The places of the words replaced, as [`words`](crate::Talk::words) counts them; never empty.
    pub words: Range<usize>,
    /// What was probably said, with the capitals of names.
    pub said: String,
    /// The chance, 0 to 1, that it was said.
    pub probability: f64,
}

/// What would be put right, by place, without overlap.
///
/// Where finds overlap the likelier one counts. Words found as written are left alone, apart from
/// words of the trade that were split or joined in another way ("under hook") and the capitals of
/// names. Words that sound like those of the trade and fit as well where they stand are left alone
/// too.
#[must_use]
pub fn corrections(
    words: &[&str],
    finds: &[Find],
    names: &[NameFind],
    least: f64,
) -> Vec<Correction> {
    let correction = |words: &Range<usize>, said: &str, probability| Correction {
        words: words.clone(),
        said: said.to_owned(),
        probability,
    };
    let terms = finds.iter().map(|find| {
        let of = if find.by == FoundBy::Exact { Of::TermAsWritten } else { Of::TermBySound };
        (correction(&find.words, &find.said, find.probability), of)
    });
    let names =
        names.iter().map(|find| (correction(&find.words, &find.said, find.probability), Of::Name));
    let mut all: Vec<(Correction, Of)> = terms.chain(names).collect();
    all.sort_by(|(a, _), (b, _)| {
        b.probability.total_cmp(&a.probability).then(a.words.start.cmp(&b.words.start))
    });
    let mut kept: Vec<(Correction, Of)> = Vec::new();
    for (found, of) in all {
        let overlaps = |(other, _): &(Correction, Of)| {
            found.words.start < other.words.end && other.words.start < found.words.end
        };
        if !found.words.is_empty() && found.words.end <= words.len() && !kept.iter().any(overlaps) {
            kept.push((found, of));
        }
    }
    // A word of the trade found as written holds its place at any chance; whether it was meant
    // as one does not matter for its spelling.
    kept.retain(|(found, of)| {
        (*of == Of::TermAsWritten || found.probability >= least)
            && changes(words, found, *of)
            && !(*of == Of::TermBySound && fits_as_heard(words, found))
    });
    kept.sort_by_key(|(found, _)| found.words.start);
    kept.into_iter().map(|(found, _)| found).collect()
}

/// What a correction puts right.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Of {
    TermAsWritten,
    TermBySound,
    Name,
}

fn tokens_said(correction: &Correction) -> Vec<Token> {
    spelling::tokens(&correction.said.split_whitespace().collect::<Vec<_>>())
}

fn spoken(tokens: &[Token]) -> Vec<String> {
    tokens.iter().map(Token::spoken).collect()
}

/// Whether the words would read differently, punctuation apart, and case as far as it is not that
/// of names.
fn changes(words: &[&str], correction: &Correction, of: Of) -> bool {
    let heard = &words[correction.words.clone()];
    spoken(&spelling::tokens(heard)) != spoken(&tokens_said(correction))
        || match of {
            // A name found as written still takes the case it was given in.
            Of::Name => {
                let named = correction.said.chars().any(char::is_uppercase);
                named && !heard.join(" ").contains(correction.said.as_str())
            }
            // The proper names among the words of the trade have several cases: any will do.
            _ => {
                let capital = |word: &str| word.chars().any(char::is_uppercase);
                let mut pairs = heard.iter().zip(correction.said.split_whitespace());
                let needed = pairs.any(|(heard, said)| capital(said) && !capital(heard));
                // "The x" may be any x.
                needed && correction.probability > LEAST_TO_CORRECT
            }
        }
}

/// Whether the words sound no different from what would be put in their place, and fit their
/// surroundings as well: "past the legs" is no mishearing of "passed the legs".
fn fits_as_heard(words: &[&str], correction: &Correction) -> bool {
    let heard = spoken(&spelling::tokens(&words[correction.words.clone()]));
    let said = spoken(&tokens_said(correction));
    let alike = |(heard, said): (&String, &String)| {
        let ways = phonemes::pronounce(said);
        heard == said || phonemes::pronounce(heard).iter().any(|way| ways.contains(way))
    };
    if heard.len() != said.len() || !heard.iter().zip(&said).all(alike) {
        return false;
    }
    let beside = |place: Option<usize>| place.and_then(|place| words.get(place)).copied();
    let before = spelling::tokens(
        &beside(correction.words.start.checked_sub(1)).into_iter().collect::<Vec<_>>(),
    );
    let next =
        spelling::tokens(&beside(Some(correction.words.end)).into_iter().collect::<Vec<_>>());
    let chance = |middle: &[String]| {
        let previous = before.last().map(Token::spoken);
        let next = next.first().map(Token::spoken);
        ln_chance(previous.as_deref(), middle.iter().chain(&next).map(String::as_str))
    };
    chance(&heard) >= chance(&said)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::lexicon::Lexicon;

    #[test]
    fn unlikely_finds_change_nothing() {
        let lexicon = Lexicon::builtin();
        let words = ["a", "camera", "film"];
        let term = lexicon.find("kimura").expect("a term");
        let form = crate::find::find_terms(&["kimura"], &lexicon)[0].form;
        let find = |probability| Find {
            words: 1..2,
            term,
            form,
            probability,
            by: FoundBy::Sound,
            said: "kimura".to_owned(),
        };
        assert!(corrections(&words, &[find(0.59)], &[], LEAST_TO_CORRECT).is_empty());
        assert_eq!(corrections(&words, &[find(0.61)], &[], LEAST_TO_CORRECT).len(), 1);
        // Places beyond the words are ignored.
        let beyond = Find { words: 2..9, ..find(0.9) };
        assert!(corrections(&words, &[beyond], &[], LEAST_TO_CORRECT).is_empty());
    }

    /// A text after all that the lexicon and no names put right.
    fn put_right(text: &str) -> String {
        let words: Vec<&str> = text.split_whitespace().collect();
        let finds = crate::find::find_terms(&words, &Lexicon::builtin());
        let corrections = corrections(&words, &finds, &[], LEAST_TO_CORRECT);
        let talk = crate::read(format!("[0:01] {text}\n").as_bytes()).expect("timed text").talk;
        let talk = crate::correct(&talk, &corrections);
        talk.words().map(|word| word.text.as_str()).collect::<Vec<_>>().join(" ")
    }

    #[test]
    fn plain_english_that_fits_is_left_alone() {
        for text in [
            "and Petra goes past the legs",
            "he is past the legs",
            "she is a wizard with computers",
            "and he picks up a single from there",
            "she plays De La Riva",
            "he is in the x again",
            "the arm lock and the crossface",
        ] {
            assert_eq!(put_right(text), text);
        }
    }

    // Mishearings of FACTS B and of a reader of the program.
    #[test]
    fn regular_mishearings_are_put_right() {
        for (heard, said) in [
            ("looking for the rear naked joke", "looking for the rear naked choke"),
            ("the wizard against the underhook", "the whizzer against the underhook"),
            ("and she hits the turtle dup", "and she hits the turtle up"),
            ("he's in the half card, now", "he's in the half guard, now"),
            ("the della reeva guard", "the De la Riva guard"),
            ("she plays de la riva", "she plays De la Riva"),
            ("and the under hook", "and the underhook"),
        ] {
            assert_eq!(put_right(heard), said);
        }
    }
}
