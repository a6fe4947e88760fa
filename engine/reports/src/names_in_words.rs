//! Names in what a coach wrote: who may not be named is not named, wherever the words are shown.

use std::collections::{HashMap, HashSet};
use std::ops::Range;

/// In place of a name that may not be read.
pub const SOMEBODY: &str = "a training partner";

/// First names that stand among the words that coaches say over rounds by chance only: in lower
/// case too they are names.
const NAMES_FIRST: [&str; 8] = ["bella", "ben", "bob", "jan", "lola", "mia", "niklaas", "susan"];

/// The names that a reader may not read: whole, and each part of them that nobody has who may be
/// named.
///
/// Letter case and accents don't count. A single name that is an ordinary word as well (Mark, Rose)
/// is the name where it has a capital, and the word in lower case: "mark this" stays, "Mark this" at
/// the start of a sentence goes, since it may be the name. Initials and small words that go with a
/// name ("de", "van") are not looked for alone.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct HiddenNames {
    /// By their first word, those of most words first.
    by_first: HashMap<String, Vec<Name>>,
}

#[derive(Clone, Debug, PartialEq, Eq)]
struct Name {
    written: String,
    /// The words after the first, each with what stands before it.
    rest: Vec<(String, String)>,
    /// Whether it is the ordinary word unless it has a capital.
    ordinary: bool,
}

impl HiddenNames {
    /// From everybody's name, with whether they may be named.
    pub fn new<'a>(people: impl IntoIterator<Item = (&'a str, bool)>) -> Self {
        let (shown, hidden): (Vec<_>, Vec<_>) = people.into_iter().partition(|(_, shown)| *shown);
        let mut open = HashSet::new();
        for (name, _) in shown {
            open.insert(plain(name));
            open.extend(parts(name).map(plain));
        }
        let mut names = HiddenNames::default();
        let mut known = HashSet::new();
        for (name, _) in hidden {
            let name = name.trim();
            for written in std::iter::once(name).chain(parts(name)) {
                let plain = plain(written);
                if !plain.is_empty() && !open.contains(&plain) && known.insert(plain) {
                    names.add(written);
                }
            }
        }
        for of_first in names.by_first.values_mut() {
            of_first.sort_by_key(|name| std::cmp::Reverse(name.rest.len()));
        }
        names
    }

    fn add(&mut self, written: &str) {
        let places = words(written);
        let Some(first) = places.first() else { return };
        let first = talk::plain_letters(&written[first.clone()]);
        let rest: Vec<(String, String)> = (places.windows(2))
            .map(|two| {
                let before = written[two[0].end..two[1].start].to_owned();
                (before, talk::plain_letters(&written[two[1].clone()]))
            })
            .collect();
        let said = || talk::is_said_over_rounds(&first) && !NAMES_FIRST.contains(&first.as_str());
        let ordinary = rest.is_empty() && said();
        let name = Name { written: written.to_owned(), rest, ordinary };
        self.by_first.entry(first).or_default().push(name);
    }

    /// The first of these names that stands in the text, as its bearer writes it.
    #[must_use]
    pub fn named_in(&self, text: &str) -> Option<&str> {
        self.found_in(text).next().map(|(name, _)| name.written.as_str())
    }

    /// The text without these names.
    #[must_use]
    pub fn taken_out_of(&self, text: &str) -> String {
        // Written anew from left to right: what is put in is never looked through, whatever people
        // are called.
        let mut out = String::with_capacity(text.len());
        let mut done = 0;
        for (_, place) in self.found_in(text) {
            out.push_str(&text[done..place.start]);
            out.push_str(SOMEBODY);
            done = place.end;
        }
        out.push_str(&text[done..]);
        out
    }

    /// Where the names stand, from left to right and without overlap, the longest at each place.
    fn found_in(&self, text: &str) -> impl Iterator<Item = (&Name, Range<usize>)> {
        let places = if self.by_first.is_empty() { Vec::new() } else { words(text) };
        let mut at = 0;
        std::iter::from_fn(move || {
            while let Some(first) = places.get(at) {
                let names = self.by_first.get(&talk::plain_letters(&text[first.clone()]));
                let mut names = names.into_iter().flatten();
                let found = names.find_map(|name| Some((name, name.end(text, &places[at..])?)));
                let Some((name, last)) = found else {
                    at += 1;
                    continue;
                };
                at += name.rest.len() + 1;
                return Some((name, first.start..last));
            }
            None
        })
    }
}

impl Name {
    /// Where the name ends if it begins with the first of these words.
    fn end(&self, text: &str, places: &[Range<usize>]) -> Option<usize> {
        let first = places.first()?;
        if self.ordinary && !text[first.clone()].starts_with(char::is_uppercase) {
            return None;
        }
        let mut end = first.end;
        for (index, (before, word)) in self.rest.iter().enumerate() {
            let place = places.get(index + 1)?;
            let between = &text[end..place.start];
            let together = between == before || joins_names(between) && joins_names(before);
            if !together || talk::plain_letters(&text[place.clone()]) != *word {
                return None;
            }
            end = place.end;
        }
        Some(end)
    }
}

/// Whether signs between two words leave them one name: spaces, a break of the line, a hyphen, an
/// apostrophe.
fn joins_names(between: &str) -> bool {
    let spaces = !between.is_empty() && between.chars().all(char::is_whitespace);
    spaces || matches!(between, "-" | "\u{2010}" | "\u{2011}" | "'" | "\u{2019}")
}

/// What two names have alike if they are the same but for case, accents and spaces.
fn plain(name: &str) -> String {
    let words = words(name).into_iter().map(|place| talk::plain_letters(&name[place]));
    words.collect::<Vec<_>>().join(" ")
}

/// The parts of a name that name somebody alone: the first whatever it is, then those of two letters
/// and more, and with a capital if the first has one; those with a hyphen whole and in pieces.
fn parts(name: &str) -> impl Iterator<Item = &str> {
    let capital = name.trim().starts_with(char::is_uppercase);
    let stands = move |part: &&str| {
        let mut letters = part.chars().filter(|letter| letter.is_alphanumeric());
        let small = letters.next().is_none_or(char::is_lowercase);
        letters.next().is_some() && !(capital && small)
    };
    let first = name.split_whitespace().next();
    let others = name.split_whitespace().skip(1).filter(stands);
    let pieces = name.split(|sign: char| sign.is_whitespace() || matches!(sign, '-' | '\u{2010}'));
    first.into_iter().chain(others).chain(pieces.filter(stands))
}

/// Where the words of a text stand. A letter of a script without capitals is a word of its own,
/// since such scripts may write names and other words together.
fn words(text: &str) -> Vec<Range<usize>> {
    let in_word = |letter: char| {
        letter.is_lowercase() || letter.is_uppercase() || letter.is_numeric() || is_mark(letter)
    };
    let mut places: Vec<Range<usize>> = Vec::new();
    let mut goes_on = false;
    for (at, letter) in text.char_indices() {
        let end = at + letter.len_utf8();
        if in_word(letter) {
            match places.last_mut().filter(|_| goes_on) {
                Some(place) => place.end = end,
                None => places.push(at..end),
            }
            goes_on = true;
        } else {
            if letter.is_alphanumeric() {
                places.push(at..end);
            }
            goes_on = false;
        }
    }
    places
}

/// An accent written after its letter.
fn is_mark(letter: char) -> bool {
    ('\u{300}'..='\u{36f}').contains(&letter)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn hidden(hidden: &[&str]) -> HiddenNames {
        let shown = ["Wren Bittern", "Tove", "Petra de Reed"].map(|name| (name, true));
        HiddenNames::new(hidden.iter().map(|name| (*name, false)).chain(shown))
    }

    fn without(names: &[&str], text: &str) -> String {
        hidden(names).taken_out_of(text).replace(SOMEBODY, "*")
    }

    #[test]
    fn whoever_has_not_agreed_is_not_named() {
        let names = ["Wren Adder", "Ida Sand", "Jo"];
        let words = "Ida\u{2019}s grip, Ida Sand's hips; Tove and Wren watched. Idaho, Jo.";
        assert_eq!(
            without(&names, words),
            "*\u{2019}s grip, *'s hips; Tove and Wren watched. Idaho, *."
        );
        assert_eq!(hidden(&names).taken_out_of("Wren Adder"), "a training partner");
        assert_eq!(hidden(&names).named_in("ask JO"), Some("Jo"));
        assert_eq!(hidden(&names).named_in("a joke by Wren Bittern"), None);
    }

    #[test]
    fn case_accents_and_single_parts_of_a_name_hide_nobody() {
        let names = ["Idris Adder", "Zo\u{eb} van Marsh-Heron", "Kit B"];
        assert_eq!(without(&names, "IDRIS, idris, ask Adder, ADDER'S"), "*, *, ask *, *'S");
        assert_eq!(without(&names, "Idris\n Adder and Idris-Adder"), "* and *");
        assert_eq!(without(&names, "Zoe, ZO\u{cb}, Zoe\u{308}, zoe Van marsh Heron"), "*, *, *, *");
        assert_eq!(without(&names, "Marsh-Heron, Heron"), "*, *");
        // What goes with a name names nobody: neither the small word nor the initial.
        assert_eq!(without(&names, "a van, plan B, Petra de Reed"), "a van, plan B, Petra de Reed");
        // Whoever may be named keeps their name, even where another shares a part of it.
        assert_eq!(without(&["Ash Bittern"], "Bittern, ash bittern"), "Bittern, *");
    }

    #[test]
    fn an_ordinary_word_is_a_name_with_a_capital_only() {
        let names = ["Mark Adder", "Will", "Grace", "Rose", "Mia", "Haruki"];
        let said = "mark this, you will rise with grace; it rose";
        assert_eq!(without(&names, said), said);
        assert_eq!(without(&names, "ask Mark, WILL, Grace and Rose"), "ask *, *, * and *");
        assert_eq!(without(&names, "mark adder, mia and haruki"), "*, * and *");
    }

    #[test]
    fn whatever_people_are_called_it_ends() {
        let names = ["partner", "training", "a", "training partner", "A", "Partner Training"];
        assert_eq!(without(&names, "A partner, Training, a round"), "* partner, *, a round");
        assert_eq!(without(&names, "with a training partner"), "with a *");
        assert_eq!(without(&["", " ", "\u{2019}", "-"], "a - \u{2019} b"), "a - \u{2019} b");
        assert_eq!(
            without(&["\u{6797}\u{5065}"], "\u{ff12}\u{6797}\u{5065}\u{3068}"),
            "\u{ff12}*\u{3068}"
        );
    }

    #[test]
    fn long_texts_and_many_names_are_no_trouble() {
        let names: Vec<String> =
            (0..500).map(|number| format!("Ida{number} Sand{number}")).collect();
        let names = HiddenNames::new(names.iter().map(|name| (name.as_str(), false)));
        let text = "Ida7 holds Sand499 for Ida and idle talk. ".repeat(20_000);
        let told = names.taken_out_of(&text);
        assert_eq!(told.matches(SOMEBODY).count(), 40_000);
        assert!(
            !told.contains("Ida7") && !told.contains("Sand499") && told.contains("for Ida and")
        );
    }
}
