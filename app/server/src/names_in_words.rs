//! Names in what a coach wrote: who may not be named is not named, wherever the words are shown.

use std::collections::HashMap;

use academy::Member;
use store::MemberId;

use crate::visitor::{SOMEBODY, Visitor};

/// The names that a reader may not read, longest first.
pub(crate) struct Hidden(Vec<String>);

impl Hidden {
    /// Those of everybody whom this reader may not know by name: whole, and the first of them, but
    /// for a first name that somebody has who may be named.
    pub(crate) fn from(visitor: &Visitor, people: &HashMap<MemberId, Member>, year: i16) -> Self {
        let first = |name: &str| name.split_whitespace().next().unwrap_or_default().to_owned();
        let (shown, hidden): (Vec<_>, Vec<_>) = (people.iter())
            .partition(|(id, member)| visitor.shown_name(**id, member, year) == member.name);
        let open: Vec<String> = shown.iter().map(|(_, member)| first(&member.name)).collect();
        let mut names: Vec<String> = Vec::new();
        for (_, member) in hidden {
            names.push(member.name.clone());
            names.push(first(&member.name));
        }
        names.retain(|name| !name.is_empty() && !open.contains(name));
        names.sort_by(|one, other| other.len().cmp(&one.len()).then(one.cmp(other)));
        names.dedup();
        Hidden(names)
    }

    /// The first of these names that stands in the words.
    pub(crate) fn named_in(&self, words: &str) -> Option<&str> {
        self.0.iter().map(String::as_str).find(|name| place(words, name).is_some())
    }

    /// The words without these names.
    pub(crate) fn taken_out_of(&self, words: &str) -> String {
        let mut words = words.to_owned();
        for name in &self.0 {
            while let Some(at) = place(&words, name) {
                words.replace_range(at..at + name.len(), SOMEBODY);
            }
        }
        words
    }
}

/// Where a name stands as a word of its own, written as a name is.
fn place(words: &str, name: &str) -> Option<usize> {
    let joins = |neighbour: Option<char>| neighbour.is_some_and(char::is_alphanumeric);
    (words.match_indices(name).map(|(at, _)| at)).find(|at| {
        let (before, rest) = words.split_at(*at);
        !joins(before.chars().next_back()) && !joins(rest[name.len()..].chars().next())
    })
}

#[cfg(test)]
mod tests {
    use academy::Consent;

    use super::*;

    fn hidden() -> Hidden {
        let member = |name: &str, club| Member {
            name: name.to_owned(),
            birth_year: Some(1990),
            consent: Consent { club, public: false },
            ..Member::default()
        };
        let people = [
            ("Wren Adder", false),
            ("Wren Bittern", true),
            ("Ida Sand", false),
            ("Tove", true),
            ("Jo", false),
        ];
        let people = (1..).map(MemberId).zip(people.map(|(name, club)| member(name, club)));
        Hidden::from(&Visitor::reading_for(MemberId(4)), &people.collect(), 2026)
    }

    #[test]
    fn whoever_has_not_agreed_is_not_named() {
        let hidden = hidden();
        let words = "Ida\u{2019}s grip, Ida Sand's hips; Tove and Wren watched. Idaho, Jo.";
        assert_eq!(
            hidden.taken_out_of(words),
            "a training partner\u{2019}s grip, a training partner's hips; Tove and Wren watched. \
             Idaho, a training partner."
        );
        assert_eq!(hidden.taken_out_of("Wren Adder"), "a training partner");
        assert_eq!(hidden.named_in("ask Jo"), Some("Jo"));
        assert_eq!(hidden.named_in("a joke by Wren Bittern"), None);
    }
}
