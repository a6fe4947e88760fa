//! Finding the athletes' names in heard words.

use std::collections::HashMap;
use std::ops::Range;

use academy::Athlete;

use crate::by_sound::{self, Hearing, Match, Target, Targets};
use crate::find::Listened;
use crate::lexicon::Lexicon;
use crate::phoneme::Phoneme;
use crate::phonemes::{self, Spelling};
use crate::spelling::{self, Token};
use crate::word_counts::NAME;
use crate::word_model::Spoken;

/// A stretch of words that names one of the two athletes.
#[derive(Clone, Debug, PartialEq)]
pub struct NameFind {
    /// The places of the words; never empty. Finds do not overlap.
    pub words: Range<usize>,
    /// Who is named.
    pub athlete: Athlete,
    /// The chance, 0 to 1, that the name was said.
    pub probability: f64,
    /// Whether the words are the name as written.
    pub exact: bool,
    /// The words as they were probably said: the name as given, and any small word that was
    /// heard as part of it ("anselman" for "Anselm and").
    pub said: String,
}

/// Chance that a name heard as written is the athlete. A name that is also a word of talk over
/// rounds ("Will", "Mark", "Hope") is weighed by its surroundings instead.
const EXACT: f64 = 0.99;

/// Nats by which a capital inside a sentence speaks for a name, where the text has capitals.
const CAPITAL: f64 = 3.0;

/// Nats that repetition of a mishearing is worth, times the logarithm of how often it occurs, and
/// the most that it is worth.
const REPETITION: f64 = 1.5;
const REPEATED: f64 = 3.0;

/// Nats by which the word is preferred to the name: pairs of words alone do not know that "he
/// will" hardly ever goes on as a name.
const WORD_FIRST: f64 = 2.0;

/// Where the two athletes are named in `words`, from left to right, without overlap.
///
/// As written first, then by sound. The names' own words in `words` decide nothing about their
/// spelling: "petra" finds Petra. A name without letters is never found.
#[must_use]
pub fn find_names(words: &[&str], names: [&str; 2], lexicon: &Lexicon) -> Vec<NameFind> {
    find_names_with(words, names, lexicon, &Hearing::NAMES)
}

/// [`find_names`] with other costs of mishearing.
#[must_use]
pub fn find_names_with(
    words: &[&str],
    names: [&str; 2],
    lexicon: &Lexicon,
    hearing: &Hearing,
) -> Vec<NameFind> {
    names_among(words, Listened::to(words, lexicon), names, hearing)
}

/// The names in words that have been listened to.
pub(crate) fn names_among(
    words: &[&str],
    listened: Listened,
    names: [&str; 2],
    hearing: &Hearing,
) -> Vec<NameFind> {
    let Listened { tokens, mut heard, .. } = listened;
    let mut finds = exact(words, &tokens, names);
    let targets = Targets::new(
        Athlete::BOTH
            .into_iter()
            .flat_map(|athlete| targets(athlete, names[athlete.index()]))
            .collect(),
    );
    let name = Spoken::new(NAME);
    for find in &finds {
        for (token, word) in tokens.iter().zip(&mut heard) {
            if find.words.contains(&token.word) {
                word.spoken = name;
                word.trusted = true;
            }
        }
    }
    let unlikely = Hearing { least: hearing.least - REPEATED, ..*hearing };
    let mut matches = by_sound::search(&heard, &targets, &unlikely);
    matches.retain(|found| {
        let last = found.start + found.length - 1;
        let words = tokens[found.start].word..tokens[last].word + 1;
        finds.iter().all(|exact| exact.words.end <= words.start || words.end <= exact.words.start)
    });
    raise_repeated(&mut matches, &tokens, &targets);
    matches.retain(|found| found.odds >= hearing.least);
    for found in by_sound::choose(matches) {
        let target = targets.get(found.target);
        let (mut start, mut end) = (found.start, found.start + found.length);
        // A small word heard as it is stays out of the find: only the name was misheard.
        let mut said = &*target.text;
        while let Some((first, rest)) = said.split_once(' ')
            && start + 1 < end
            && tokens[start].spoken() == first
        {
            (start, said) = (start + 1, rest);
        }
        while let Some((rest, last)) = said.rsplit_once(' ')
            && start + 1 < end
            && tokens[end - 1].spoken() == last
        {
            (end, said) = (end - 1, rest);
        }
        finds.push(NameFind {
            words: tokens[start].word..tokens[end - 1].word + 1,
            athlete: Athlete::BOTH[target.what],
            probability: by_sound::chance(found.odds),
            exact: false,
            said: said.to_owned(),
        });
    }
    finds.sort_by_key(|find| find.words.start);
    finds
}

/// A recogniser that mishears a name tends to mishear it the same way again: the same words
/// taken for the same name at several places speak for each other.
fn raise_repeated(matches: &mut [Match], tokens: &[Token], targets: &Targets) {
    let key = |found: &Match| {
        let words = &tokens[found.start..found.start + found.length];
        let letters: String = words.iter().map(|token| token.text.as_str()).collect();
        (letters, targets.get(found.target).what)
    };
    let mut times: HashMap<(String, usize), f64> = HashMap::new();
    for found in matches.iter() {
        *times.entry(key(found)).or_default() += 1.0;
    }
    for found in matches.iter_mut() {
        let times = times.get(&key(found)).map_or(0.0, |times| times.ln());
        found.odds += (REPETITION * times).min(REPEATED);
    }
}

/// The names as written.
fn exact(words: &[&str], tokens: &[Token], names: [&str; 2]) -> Vec<NameFind> {
    let written = names.map(spelling::words_of);
    let mut finds: Vec<NameFind> = Vec::new();
    let mut at = 0;
    while at < tokens.len() {
        let named = Athlete::BOTH.into_iter().find(|athlete| {
            let name = &written[athlete.index()];
            let heard = tokens.get(at..at + name.len());
            !name.is_empty()
                && heard.is_some_and(|heard| heard.iter().map(|t| &t.text).eq(name.iter()))
        });
        let Some(athlete) = named else {
            at += 1;
            continue;
        };
        let last = at + written[athlete.index()].len() - 1;
        let possessive = if tokens[last].possessive { "'s" } else { "" };
        finds.push(NameFind {
            words: tokens[at].word..tokens[last].word + 1,
            athlete,
            probability: certainty(words, tokens, at..last + 1),
            exact: true,
            said: format!("{}{possessive}", names[athlete.index()]),
        });
        at = last + 1;
    }
    finds
}

/// The chance that words written as a name are the name.
///
/// Certain enough for most names; for one that talk over rounds uses as a word, the chance of the
/// name in these surroundings against that of the word.
fn certainty(words: &[&str], tokens: &[Token], place: Range<usize>) -> f64 {
    let [token] = &tokens[place.clone()] else { return EXACT };
    let Some(word) = Spoken::counted(&token.text).filter(|_| !token.possessive) else {
        return EXACT;
    };
    let beside = |at: Option<usize>| {
        at.and_then(|at| tokens.get(at)).map(|token| Spoken::new(&token.spoken()))
    };
    let (before, next) = (beside(place.start.checked_sub(1)), beside(Some(place.end)));
    let chance =
        |said: Spoken| said.after(before) + next.map_or(0.0, |next| next.after(Some(said)));
    let capital =
        |text: &str| text.chars().find(|c| c.is_alphabetic()).is_some_and(char::is_uppercase);
    let inside = token.word > 0 && !words[token.word - 1].ends_with(['.', '!', '?', ':']);
    let written = words[token.word];
    let case = match (capital(written), words.iter().any(|word| capital(word))) {
        (true, _) if inside => CAPITAL,
        (false, true) => -CAPITAL,
        _ => 0.0,
    };
    let odds = chance(Spoken::new(NAME)) - chance(word) + case - WORD_FIRST;
    (1.0 / (1.0 + (-odds).exp())).min(EXACT)
}

/// Names whose letters mislead, with their sounds (`data/lexicon/given_names.csv`): from general
/// knowledge, more than one row where a name is said in several ways.
const GIVEN_NAMES: &str = include_str!("../../../data/lexicon/given_names.csv");

/// How a name is said according to the list of names whose letters mislead.
fn given(name: &str) -> impl Iterator<Item = Vec<Phoneme>> {
    let rows = GIVEN_NAMES.lines().skip(1).filter_map(|row| row.split_once(','));
    let of_name = rows.filter(move |(known, _)| *known == name);
    of_name.filter_map(|(_, sounds)| Phoneme::parse_all(sounds))
}

/// The ways a name may be said: as the list of names or the dictionary has it, as an English
/// reader would read it, as much of the rest of the world would.
fn pronunciations(name: &str) -> Vec<Vec<Phoneme>> {
    let mut ways: Vec<Vec<Phoneme>> = vec![Vec::new()];
    for word in spelling::words_of(name) {
        let mut of_word: Vec<Vec<Phoneme>> = given(&word).collect();
        of_word.iter_mut().for_each(phonemes::split_rhotic);
        for way in phonemes::pronounce(&word) {
            if !of_word.contains(&way) {
                of_word.push(way);
            }
        }
        for spelling in [Spelling::English, Spelling::Continental] {
            let mut read = phonemes::by_rules(&word, spelling);
            phonemes::split_rhotic(&mut read);
            if !read.is_empty() && !of_word.contains(&read) {
                of_word.push(read);
            }
        }
        ways = ways
            .iter()
            .flat_map(|start| of_word.iter().map(move |more| [&start[..], more].concat()))
            .take(8)
            .collect();
    }
    ways.retain(|sounds| !sounds.is_empty());
    ways
}

/// Small words beside a name that are heard as part of it.
const BEFORE: [&str; 10] = ["and", "so", "for", "of", "on", "to", "with", "now", "but", "oh"];
const AFTER: [&str; 10] = ["is", "and", "has", "in", "on", "to", "just", "the", "a", "was"];

/// What to look for: the name alone, as a possessive, and with a small word on either side.
fn targets(athlete: Athlete, name: &str) -> Vec<Target> {
    let spoken = Spoken::new(NAME);
    // Either athlete is meant half of the time.
    let share = 0.5f64.ln();
    let mut targets = Vec::new();
    for sounds in pronunciations(name) {
        let alone = Target {
            what: athlete.index(),
            text: name.into(),
            first: spoken,
            last: spoken,
            inner: share,
            words: 1,
            sounds,
        };
        if let Some(hiss) = Phoneme::parse("Z") {
            let sounds = [&alone.sounds[..], &[hiss]].concat();
            targets.push(Target { text: format!("{name}'s").into(), sounds, ..alone.clone() });
        }
        for small in BEFORE {
            let first = Spoken::new(small);
            for way in phonemes::pronounce(small) {
                targets.push(Target {
                    text: format!("{small} {name}").into(),
                    first,
                    inner: share + spoken.after(Some(first)),
                    words: 2,
                    sounds: [way, alone.sounds.clone()].concat(),
                    ..alone.clone()
                });
            }
        }
        for small in AFTER {
            let last = Spoken::new(small);
            for way in phonemes::pronounce(small) {
                targets.push(Target {
                    text: format!("{name} {small}").into(),
                    last,
                    inner: share + last.after(Some(spoken)),
                    words: 2,
                    sounds: [alone.sounds.clone(), way].concat(),
                    ..alone.clone()
                });
            }
        }
        targets.push(alone);
    }
    targets
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    #[test]
    fn names_as_written_are_found() {
        let words = ["Petra's", "up,", "and", "IDRIS", "waits"];
        let lexicon = Lexicon::builtin();
        let finds = find_names(&words, ["Petra", "Idris"], &lexicon);
        let found: Vec<_> = finds.iter().map(|f| (f.words.clone(), f.athlete, f.exact)).collect();
        assert_eq!(found, [(0..1, Athlete::First, true), (3..4, Athlete::Second, true)]);
        assert!(find_names(&words, ["", "-"], &lexicon).is_empty());
    }

    fn probabilities(text: &str, names: [&str; 2]) -> Vec<(String, Athlete, f64)> {
        let words: Vec<&str> = text.split_whitespace().collect();
        let finds = find_names(&words, names, &Lexicon::builtin());
        let heard = |find: &NameFind| words[find.words.clone()].join(" ");
        finds.iter().map(|find| (heard(find), find.athlete, find.probability)).collect()
    }

    #[test]
    fn a_name_that_is_a_word_is_weighed() {
        let chance = |text: &str| {
            let found = probabilities(text, ["Mark", "Will"]);
            found.iter().map(|(_, _, chance)| *chance).fold(0.0, f64::max)
        };
        assert!(chance("and will goes for the kimura") > 0.8);
        assert!(chance("he will get the underhook") < 0.4);
        assert!(chance("So Will has the back") > chance("so he will have the back"));
    }

    #[test]
    fn names_are_found_by_sound() {
        // Mishearings of names by their sounds, made up for this test.
        for (text, names, heard, athlete) in [
            ("and alina's got the mount", ["Halina", "Bruno"], "alina's", Athlete::First),
            ("so brewno is on top", ["Halina", "Bruno"], "brewno", Athlete::Second),
            ("and gore on takes the back", ["Goran", "Mette"], "gore on", Athlete::First),
            ("look at metta passing", ["Goran", "Mette"], "metta", Athlete::Second),
        ] {
            let found = probabilities(text, names);
            let hit = found.iter().find(|(words, who, _)| words == heard && *who == athlete);
            assert!(hit.is_some_and(|(_, _, chance)| *chance > 0.5), "{text}: {found:?}");
        }
        assert_eq!(probabilities("and he sits down in the middle", ["Goran", "Mette"]), []);
    }

    proptest! {
        #[test]
        fn any_words_are_searched(
            words in prop::collection::vec("[a-zA-Z0-9'é -]{0,9}|\\PC{0,4}", 0..20),
            names in ["\\PC{0,8}", "[A-Z][a-z]{1,8}"],
        ) {
            let lexicon = Lexicon::builtin();
            let words: Vec<&str> = words.iter().map(String::as_str).collect();
            let names = [names[0].as_str(), names[1].as_str()];
            let (finds, named) = crate::find::find_terms_and_names(&words, names, &lexicon);
            prop_assert_eq!(&finds, &crate::find::find_terms(&words, &lexicon));
            prop_assert_eq!(&named, &find_names(&words, names, &lexicon));
            let ranges = [
                finds.iter().map(|f| (f.words.clone(), f.probability)).collect::<Vec<_>>(),
                named.iter().map(|f| (f.words.clone(), f.probability)).collect(),
            ];
            for ranges in ranges {
                for (range, probability) in &ranges {
                    prop_assert!(range.start < range.end && range.end <= words.len());
                    prop_assert!((0.0..=1.0).contains(probability));
                }
                prop_assert!(ranges.is_sorted_by(|(a, _), (b, _)| a.start <= b.start));
            }
        }
    }

    #[test]
    fn the_list_of_names_is_well_formed() {
        for row in GIVEN_NAMES.lines().skip(1) {
            let (name, sounds) = row.split_once(',').expect("two cells");
            assert_eq!(spelling::words_of(name), [name], "{row}");
            assert!(Phoneme::parse_all(sounds).is_some(), "{row}");
        }
        // An Irish name whose letters mislead, heard by its sound.
        let found = probabilities("and neve takes the back", ["Niamh", "Bruno"]);
        assert!(found.iter().any(|(_, who, chance)| *who == Athlete::First && *chance > 0.5));
    }

    #[test]
    fn a_small_word_heard_within_a_name_comes_back() {
        let words = ["a", "round", "for", "bruno", "an", "alinan", "good"];
        let finds = find_names(&words, ["Halina", "Bruno"], &Lexicon::builtin());
        assert_eq!(finds[0].said, "Bruno");
    }
}
