//! How people are called in a talk: by their first name, where that tells the two apart.

use academy::{Athlete, Person, Round};
use store::SpokenForm;

/// Letters that a first name needs to be listened for: initials are heard everywhere.
const FEWEST_LETTERS: usize = 2;

/// The first word of a name, in small letters.
pub(crate) fn first_name(name: &str) -> String {
    name.split_whitespace().next().unwrap_or_default().to_lowercase()
}

/// The round with the names that the coach says: "Bruna" of Bruna Aldertree. Where both have the
/// same first name, or one is an initial, the whole names.
pub(crate) fn as_spoken(round: &Round) -> Round {
    let firsts = round.athletes().each_ref().map(|person| first_name(&person.name));
    let letters = |name: &String| name.chars().filter(|letter| letter.is_alphabetic()).count();
    if firsts[0] == firsts[1] || firsts.iter().any(|name| letters(name) < FEWEST_LETTERS) {
        return round.clone();
    }
    let called = |person: &Person| Person {
        name: person.name.split_whitespace().next().unwrap_or_default().to_owned(),
        pronoun: person.pronoun,
    };
    let people = round.athletes().each_ref().map(called);
    Round::new(people, round.kind(), round.length()).unwrap_or_else(|_| round.clone())
}

/// What is heard, with what is meant: who was taught by the whole name is meant by the spoken one.
pub(crate) fn taught(forms: &[SpokenForm], whole: &Round, spoken: &Round) -> Vec<(String, String)> {
    let meant = |meant: &str| {
        let athlete = Athlete::BOTH
            .into_iter()
            .find(|athlete| whole.name(*athlete).to_lowercase() == meant.trim().to_lowercase());
        athlete.map_or(meant, |athlete| spoken.name(athlete)).to_owned()
    };
    forms.iter().map(|form| (form.heard.clone(), meant(&form.meant))).collect()
}

#[cfg(test)]
mod tests {
    use academy::{RoundKind, Time};

    use super::*;

    #[test]
    fn first_names_are_listened_for_where_they_tell_the_two_apart() {
        for (names, spoken) in [
            (["Bruna Aldertree", "Joss Pettifer"], ["Bruna", "Joss"]),
            (["Bruna", "Joss Pettifer"], ["Bruna", "Joss"]),
            (["Bruna Aldertree", "bruna Pettifer"], ["Bruna Aldertree", "bruna Pettifer"]),
            (["B. Aldertree", "Joss Pettifer"], ["B. Aldertree", "Joss Pettifer"]),
        ] {
            let people = names.map(|name| Person { name: name.to_owned(), pronoun: None });
            let round = Round::new(people, RoundKind::Flow, Time::from_millis(60_000)).unwrap();
            let called = as_spoken(&round);
            assert_eq!(Athlete::BOTH.map(|athlete| called.name(athlete)), spoken);
        }
    }
}
