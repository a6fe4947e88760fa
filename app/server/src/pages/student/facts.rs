//! What is known of a person, in words.

use academy::Member;

use crate::wording;

/// What is known of a person, as pairs of words.
pub(super) fn facts(member: &Member) -> Vec<(&'static str, String)> {
    let mut facts = vec![("Belt", wording::belt(member))];
    if let Some(since) = member.belt_since {
        facts.push(("Wears it since", wording::day(since)));
    }
    if member.role != academy::Role::Student {
        facts.push(("Here as", member.role.id().to_owned()));
    }
    if let Some(joined) = member.joined {
        facts.push(("Here since", wording::day(joined)));
    }
    if let Some(year) = member.birth_year {
        facts.push(("Born in", year.to_string()));
    }
    if let Some(weight) = member.weight {
        facts.push(("Weight", format!("{weight} kg")));
    }
    if let Some(pronoun) = member.pronoun {
        facts.push(("Pronoun", pronoun.subject().to_owned()));
    }
    facts
}
