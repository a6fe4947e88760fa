//! Athletes told by their belt: "the brown belt sits", once the talk has said whose belt is brown.

use academy::Athlete;

use super::words::{Case, NAME, Refers, SeenWord};

/// Colours of belts, as said.
const COLOURS: [&str; 10] =
    ["white", "grey", "gray", "yellow", "orange", "green", "blue", "purple", "brown", "black"];

/// Words that may stand between a name and its belt: "Dario he's a white belt", "Quentin who's a
/// brown".
const BETWEEN: [&str; 10] =
    ["<pron>", "is", "who's", "who", "as", "our", "my", "just", "still", "only"];

/// Articles and the like before a belt; they go when a name takes the belt's place.
const DETERMINERS: [&str; 7] = ["a", "the", "our", "my", "this", "that", "another"];

/// Before these, "a white belt" is a belt that somebody had or has, not somebody.
const HAVING: [&str; 12] =
    ["was", "as", "like", "for", "any", "every", "at", "are", "got", "gets", "his", "her"];

/// A belt's colour at this word: "white belt", "brown belts". With `short`, also "a brown".
struct Belt {
    colour: usize,
    /// Words that it takes.
    length: usize,
    plural: bool,
}

fn belt_at(words: &[SeenWord], index: usize, short: bool) -> Option<Belt> {
    let token = |index: usize| words.get(index).map_or("", |word| word.token.as_str());
    let colour = COLOURS.iter().position(|colour| *colour == token(index))?;
    match token(index + 1) {
        "belt" => Some(Belt { colour, length: 2, plural: false }),
        "belts" => Some(Belt { colour, length: 2, plural: true }),
        _ if short => Some(Belt { colour, length: 1, plural: false }),
        _ => None,
    }
}

fn named(word: &SeenWord) -> Option<Athlete> {
    match word.refers {
        Refers::Name(athlete) => Some(athlete),
        _ => None,
    }
}

/// What belt each athlete wears, as far as the talk introduces them by it, and the words after
/// which it has done so.
fn introduced(words: &[SeenWord]) -> ([Option<usize>; 2], Vec<usize>) {
    let mut belts: [Option<usize>; 2] = [None; 2];
    let mut introductions = Vec::new();
    for (index, word) in words.iter().enumerate() {
        let Some(athlete) = named(word) else { continue };
        let token = |index: usize| words.get(index).map_or("", |word| word.token.as_str());
        // "Brendan and Taro a white belt and a brown belt"
        if token(index + 1) == "and"
            && let Some(other) = words.get(index + 2).and_then(named)
            && other != athlete
            && let Some(first) = after_article(words, index + 3)
            && token(first.1) == "and"
            && let Some(second) = after_article(words, first.1 + 1)
        {
            belts[athlete.index()].get_or_insert(first.0);
            belts[other.index()].get_or_insert(second.0);
            introductions.extend([first.1, second.1]);
        }
        // "Dario he's a white belt", "Quentin who's a brown"
        let mut next = index + 1;
        while next < index + 4 && BETWEEN.contains(&token(next)) {
            next += 1;
        }
        if let Some((colour, after)) = after_article(words, next) {
            belts[athlete.index()].get_or_insert(colour);
            introductions.push(after);
        }
        // "our white belt Dario"
        if index >= 2
            && let Some(belt) = belt_at(words, index - 2, false)
            && !belt.plural
        {
            belts[athlete.index()].get_or_insert(belt.colour);
            introductions.push(index);
        }
    }
    (belts, introductions)
}

/// The colour of "a white belt" or "a brown" at this word, and the word after it.
fn after_article(words: &[SeenWord], index: usize) -> Option<(usize, usize)> {
    let article = words.get(index).is_some_and(|word| word.token == "a");
    let belt = belt_at(words, index + 1, true)?;
    (article && !belt.plural).then_some((belt.colour, index + 1 + belt.length))
}

/// Puts the athlete's name in place of their belt, where the talk has said whose belts they are and
/// they differ.
pub(super) fn name_by_belt(words: Vec<SeenWord>) -> Vec<SeenWord> {
    let ([Some(first), Some(second)], introductions) = introduced(&words) else { return words };
    if first == second {
        return words;
    }
    let mut named: Vec<SeenWord> = Vec::with_capacity(words.len());
    let mut index = 0;
    while index < words.len() {
        let wearer = belt_at(&words, index, false).filter(|belt| !belt.plural).and_then(|belt| {
            let athlete = [first, second].iter().position(|colour| *colour == belt.colour)?;
            Some((Athlete::BOTH[athlete], belt.length))
        });
        let before = |back: usize| named.len().checked_sub(back).map(|at| named[at].token.as_str());
        let determined = before(1).is_some_and(|token| DETERMINERS.contains(&token));
        let had = before(2).is_some_and(|token| HAVING.contains(&token) || token == "<pron>");
        match wearer {
            Some((athlete, length))
                if determined && !had && !introductions.contains(&(index + length)) =>
            {
                // `determined` means that there is a word to take away.
                let article = named.pop();
                let word = &words[index];
                named.push(SeenWord {
                    token: NAME.to_owned(),
                    start: article.as_ref().map_or(word.start, |article| article.start),
                    gap: article.as_ref().map_or(word.gap, |article| article.gap),
                    refers: Refers::Name(athlete),
                    case: Case::None,
                    term: None,
                    word: word.word,
                });
                index += length;
            }
            _ => {
                named.push(words[index].clone());
                index += 1;
            }
        }
    }
    named
}

#[cfg(test)]
mod tests {
    use super::super::words::see;
    use super::*;
    use academy::{Person, Pronoun, Round, RoundKind, Time};
    use talk::Lexicon;

    /// The words as the network sees them, with names as 1 and 2.
    fn seen(said: &str) -> String {
        let person = |name: &str| Person { name: name.to_owned(), pronoun: Some(Pronoun::He) };
        let people = [person("Ottokar"), person("Idris")];
        let round = Round::new(people, RoundKind::Flow, Time::from_millis(600_000)).unwrap();
        let talk = talk::read(format!("[0:01] {said}\n").as_bytes()).unwrap().talk;
        let shown = |word: &SeenWord| match word.refers {
            Refers::Name(Athlete::First) => "1".to_owned(),
            Refers::Name(Athlete::Second) => "2".to_owned(),
            _ => word.token.clone(),
        };
        let words = see(&talk, &round, &Lexicon::builtin()).words;
        words.iter().map(shown).collect::<Vec<_>>().join(" ")
    }

    #[test]
    fn a_belt_stands_for_its_wearer_once_the_talk_has_said_who_wears_it() {
        let both = "Ottokar and Idris a white belt and a brown belt";
        assert_eq!(
            seen(&format!("{both} oh there the brown belt sits")),
            "1 and 2 a white belt and a brown belt oh there 2 sits"
        );
        assert_eq!(
            seen(
                "so that's Ottokar he's a white belt and Idris who's a brown and now look how a white belt is on top of the brown belt"
            ),
            "so that's 1 <pron> a white belt and 2 who's a brown and now look how 1 is on top of 2"
        );
    }

    #[test]
    fn belts_in_general_stay_belts() {
        let both = "Ottokar and Idris a white belt and a brown belt";
        for general in [
            "we do not teach that to white belts",
            "when i was a white belt we had no mats",
            "a blue belt would know that",
        ] {
            assert!(seen(&format!("{both} well then {general}")).ends_with(general), "{general}");
        }
        let same = "Ottokar and Idris a white belt and a white belt well then the white belt sits";
        assert!(seen(same).ends_with("the white belt sits"));
    }
}
