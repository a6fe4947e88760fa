//! Finding terms in heard words.

use std::ops::Range;

use rustc_hash::FxHashMap;

use crate::by_sound::{self, HeardWord, Hearing};
use crate::lexicon::{Form, FormIndex, Lexicon, TermIndex};
use crate::names::{self, NameFind};
use crate::spelling::{self, Token};
use crate::word_model::{Spoken, ln_chance};

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
    /// The words as they were probably said, inflected as heard, in lower case but for names: what a
    /// correction would write.
    pub said: String,
}

/// Chance that an exact form is meant as a word of the trade. From memory of such talk, not
/// measured: a coach who says "kimura" means it; "side" or "let go" may be plain English.
const EXACT: f64 = 0.97;
const EXACT_EVERYDAY: f64 = 0.6;

/// Chance that a regular mishearing near words of the trade is one. From memory, not measured.
const HEARD_FOR: f64 = 0.85;
/// So many words away is near, and so likely a find is one to go by.
const NEAR: usize = 10;
const FIRM: f64 = 0.75;

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
    terms_among(&Listened::to(words, lexicon), lexicon, hearing)
}

/// [`find_terms`] and [`find_names`](crate::find_names) at once, for less than both apart.
#[must_use]
pub fn find_terms_and_names(
    words: &[&str],
    names: [&str; 2],
    lexicon: &Lexicon,
) -> (Vec<Find>, Vec<NameFind>) {
    let listened = Listened::to(words, lexicon);
    let finds = terms_among(&listened, lexicon, &Hearing::TERMS);
    let as_said = listened.as_said.clone();
    let mut names = names::names_among(words, listened, names, &Hearing::NAMES);
    names.retain(|name| as_said.iter().all(|said| !overlap(said, &name.words)));
    (finds, names)
}

/// Words with all that both searches need to know of them.
pub(crate) struct Listened {
    pub(crate) tokens: Vec<Token>,
    pub(crate) heard: Vec<HeardWord>,
    exact: Vec<Find>,
    /// Stretches of words that were heard rightly.
    as_said: Vec<Range<usize>>,
}

impl Listened {
    pub(crate) fn to(words: &[&str], lexicon: &Lexicon) -> Self {
        let tokens = spelling::tokens(words);
        let exact = find_exact(&tokens, lexicon);
        let mut heard = hear(&tokens, lexicon);
        // What may be the part heard rightly of a longer form is as open as any other word.
        let surely = |find: &&Find| {
            let form = lexicon.form(find.form);
            let may_be_plain = form.everyday || form.heard_for.is_some() || form.in_longer;
            form.is_taught() || !may_be_plain
        };
        for find in exact.iter().filter(surely) {
            let from = tokens.partition_point(|token| token.word < find.words.start);
            let to = tokens.partition_point(|token| token.word < find.words.end);
            heard[from..to].iter_mut().for_each(|word| word.trusted = true);
        }
        let as_said = lexicon.heard_rightly(&tokens);
        Listened { tokens, heard, exact, as_said }
    }
}

fn terms_among(listened: &Listened, lexicon: &Lexicon, hearing: &Hearing) -> Vec<Find> {
    let Listened { tokens, heard, exact, as_said } = listened;
    let free = |find: &Find| as_said.iter().all(|said| !overlap(said, &find.words));
    let misheard = |find: &Find| lexicon.form(find.form).heard_for.is_some();
    let mut exact = exact.clone();
    exact.retain(|find| free(find) || !misheard(find));
    let matches = by_sound::choose(by_sound::search(heard, lexicon.targets(), hearing));
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
            said: lexicon.with_capitals(lexicon.form(form).term, &target.text),
        });
    }
    finds.retain(free);
    // "taps yeah" is no mishearing of "taps", but "half card" may be one of "half guard".
    finds.retain(|sound: &Find| {
        exact.iter().filter(|e| overlap(&e.words, &sound.words) && e.term == sound.term).all(|e| {
            let more = sound.words.len() > e.words.len();
            more && lexicon.form(e.form).is_part_of(lexicon.form(sound.form))
        })
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
    drop_lonely(&mut finds, lexicon);
    finds
}

/// Regular mishearings are plain English as well: they count only near other words of the trade.
fn drop_lonely(finds: &mut Vec<Find>, lexicon: &Lexicon) {
    let regular = |find: &Find| {
        let form = lexicon.form(find.form);
        form.heard_for.is_some() && !form.is_taught()
    };
    let firm = |find: &&Find| !regular(find) && find.probability >= FIRM;
    let firm: Vec<Range<usize>> =
        finds.iter().filter(firm).map(|find| find.words.clone()).collect();
    finds.retain(|find| {
        let near = find.words.start.saturating_sub(NEAR)..find.words.end + NEAR;
        !regular(find) || firm.iter().any(|other| overlap(other, &near))
    });
}

fn overlap(a: &Range<usize>, b: &Range<usize>) -> bool {
    a.start < b.end && b.start < a.end
}

/// What the search by sound needs to know of each piece. Few words make up most of a talk.
fn hear(tokens: &[Token], lexicon: &Lexicon) -> Vec<HeardWord> {
    let mut known: FxHashMap<String, HeardWord> = FxHashMap::default();
    let hear = |text: &String| {
        let spoken = Spoken::new(text);
        let sounds = lexicon.pronunciations(text).into_iter().next().unwrap_or_default();
        HeardWord { spoken, sounds, unknown: !spoken.is_known(), trusted: false }
    };
    let heard =
        tokens.iter().map(|token| known.entry(token.spoken()).or_insert_with_key(hear).clone());
    heard.collect()
}

fn find_exact(tokens: &[Token], lexicon: &Lexicon) -> Vec<Find> {
    let mut finds = Vec::new();
    let mut at = 0;
    while at < tokens.len() {
        let Some((length, form)) = longest_at(&tokens[at..], lexicon) else {
            at += 1;
            continue;
        };
        let found = lexicon.form(form);
        let heard = &tokens[at..at + length];
        let (probability, by, said) = match &found.heard_for {
            Some(meant) => {
                let (chance, by) = match found.is_taught() {
                    true => (EXACT, FoundBy::Exact),
                    false => (HEARD_FOR, FoundBy::Sound),
                };
                (chance, by, inflected_as(heard, found, meant, lexicon))
            }
            None if found.everyday => (EXACT_EVERYDAY, FoundBy::Exact, said(heard, found, lexicon)),
            None => (EXACT, FoundBy::Exact, said(heard, found, lexicon)),
        };
        let said = lexicon.with_capitals(found.term, &said);
        let words = tokens[at].word..tokens[at + length - 1].word + 1;
        finds.push(Find { words, term: found.term, form, probability, by, said });
        at += length;
        // A hyphenated word may hold the end of one form and the start of another.
        while at < tokens.len() && tokens[at].word == tokens[at - 1].word {
            at += 1;
        }
    }
    finds
}

/// What was meant by a regular mishearing, with the ending that was heard.
fn inflected_as(heard: &[Token], form: &Form, meant: &str, lexicon: &Lexicon) -> String {
    let ending = heard.last().zip(form.words.last()).and_then(|(heard, word)| {
        heard.spoken().strip_prefix(lexicon.word(*word)).map(str::to_owned)
    });
    format!("{meant}{}", ending.unwrap_or_default())
}

/// By so many nats one spelling must be the commoner for the other to be put right.
const CLEARLY: f64 = 2.5;

/// What was said where a form was found exactly: the words as heard, except where the form is
/// more often written together or apart ("under hook", "halfguard").
fn said(tokens: &[Token], form: &Form, lexicon: &Lexicon) -> String {
    let heard: Vec<String> = tokens.iter().map(Token::spoken).collect();
    let together = heard.concat();
    let apart = if heard.len() > 1 {
        heard.clone()
    } else {
        match lexicon.written_apart(&tokens[0].text) {
            Some(words) => words,
            None => return together,
        }
    };
    let known_together = !lexicon.readings(&together).is_empty();
    let known_apart = form.words.len() > 1 || heard.len() == 1;
    let preference =
        ln_chance(None, [together.as_str()]) - ln_chance(None, apart.iter().map(String::as_str));
    let together_as_heard = heard.len() == 1;
    // Both spellings are common: it stays as heard.
    let undecided = known_together && preference.abs() < CLEARLY;
    let join = match undecided {
        true => together_as_heard,
        false => !known_apart || (known_together && preference > 0.0),
    };
    let said = if join { together } else { apart.join(" ") };
    let possessive = tokens.last().is_some_and(|token| token.possessive);
    // What was heard with an apostrophe keeps it.
    match said.strip_suffix('s') {
        Some(stem) if possessive && said != heard.join(" ") => format!("{stem}'s"),
        _ => said,
    }
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
            // "he picks up a single" holds no upa.
            let apart = || tokens[..=length].iter().map(Token::spoken).collect::<Vec<_>>();
            let likely = || {
                ln_chance(None, [letters.as_str()])
                    > ln_chance(None, apart().iter().map(String::as_str))
            };
            if let Some(form) = alone.filter(|_| likely()) {
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

    /// The ids of terms found by sound with at least this chance.
    fn by_sound(text: &str, least: f64) -> Vec<String> {
        let lexicon = Lexicon::builtin();
        let words: Vec<&str> = text.split_whitespace().collect();
        let finds = find_terms(&words, &lexicon);
        let sounded = finds.iter().filter(|f| f.by == FoundBy::Sound && f.probability >= least);
        sounded.map(|f| lexicon.term(f.term).id.clone()).collect()
    }

    #[test]
    fn terms_are_found_by_sound() {
        // STACK section 7 and FACTS B: mishearings of the trade's words, with words around them.
        for (text, term) in [
            ("she's got the back with the seat built", "seatbelt"),
            ("he plays the della reeva guard", "de_la_riva"),
            ("and there's the oma plata from guard", "omoplata"),
            ("he passes to sight control", "side_control"),
            ("goes for the kenora from half guard", "kimura"),
            ("and that's the barren bolo to the back", "berimbolo"),
            ("then the knee sliced pass", "knee_cut"),
            ("straight into closed card", "closed_guard"),
        ] {
            let found = by_sound(text, 0.3);
            let exact = super::tests::found(text);
            let there = found.iter().any(|id| id == term) || exact.iter().any(|(_, id)| id == term);
            assert!(there, "{text}: {found:?}");
        }
    }

    #[test]
    fn ordinary_words_do_not_become_terms() {
        // STACK section 7: hard negatives, and FACTS B: words that sound like terms.
        for text in [
            "put the camera over there please",
            "it takes some self control to breathe slowly",
            "the arrival of the new students was late",
            "come over and have some water",
            "bring a ball next time",
            "the neighbor said we were too loud",
            "he is a wizard with computers",
            "open your mouth and breathe",
            "that is a large amount of money",
            "my role here is to teach",
        ] {
            assert_eq!(by_sound(text, 0.6), Vec::<String>::new(), "in {text:?}");
        }
    }

    #[test]
    fn spellings_follow_what_is_written_more_often() {
        let lexicon = Lexicon::builtin();
        let said = |text: &str| {
            let words: Vec<&str> = text.split_whitespace().collect();
            let finds = find_terms(&words, &lexicon);
            finds.into_iter().map(|f| f.said).collect::<Vec<_>>().join(", ")
        };
        assert_eq!(said("the under hook"), "underhook");
        assert_eq!(said("halfguard"), "half guard");
        assert_eq!(said("swept"), "swept");
    }

    #[test]
    fn a_coachs_form_is_found() {
        let lexicon = Lexicon::builtin().with_form("berimbolo", "rim below").expect("a new form");
        let finds = find_terms(&["nice", "rim", "below"], &lexicon);
        assert_eq!(lexicon.term(finds[0].term).id, "berimbolo");
        assert_eq!((finds[0].words.clone(), finds[0].by), (1..3, FoundBy::Exact));
    }

    #[test]
    fn no_words_no_finds() {
        check("", &[]);
        check("-- ...", &[]);
        check("and then the weather was good", &[]);
    }
}
