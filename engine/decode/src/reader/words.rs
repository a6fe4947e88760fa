//! What the network sees of a talk: plain words, who they may stand for, which term they belong to.

use academy::{Athlete, Pronoun, Round};
use talk::{Lexicon, Talk};

use super::belts::name_by_belt;

/// How exact the times of a talk's words are.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Timing {
    /// Words were spread within captions of a few seconds.
    Lines,
    /// Words have times of their own.
    Words,
    /// Words were spread within blocks of many seconds.
    Blocks,
}

/// Captions longer than this are blocks: nobody reads a caption for so long.
const BLOCK_SECONDS: f64 = 15.0;

impl Timing {
    /// How exact the times of this talk are: by most of its words.
    #[must_use]
    pub fn of(talk: &Talk) -> Self {
        let mut counts = [0usize; 3];
        for cue in talk.cues() {
            let timed = cue.words.iter().filter(|word| word.timed).count();
            counts[1] += timed;
            let spread = cue.words.len() - timed;
            counts[if cue.span.seconds() > BLOCK_SECONDS { 2 } else { 0 }] += spread;
        }
        match counts {
            [lines, words, blocks] if words >= lines.max(blocks) && words > 0 => Timing::Words,
            [lines, _, blocks] if blocks > lines => Timing::Blocks,
            _ => Timing::Lines,
        }
    }

    /// 0, 1, 2 in the order of the variants.
    #[must_use]
    pub const fn index(self) -> usize {
        match self {
            Timing::Lines => 0,
            Timing::Words => 1,
            Timing::Blocks => 2,
        }
    }
}

/// Whom a word may stand for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Refers {
    /// To neither athlete, as far as the word alone tells.
    No,
    /// It is the name of this athlete.
    Name(Athlete),
    /// It is a pronoun that only this athlete uses.
    Pronoun(Athlete),
    /// It is a pronoun that fits both athletes, or one of unknown pronoun.
    Either,
}

impl Refers {
    /// The kind of reference with the first athlete as "self", as the network numbers them.
    #[must_use]
    pub const fn index(self) -> usize {
        match self {
            Refers::No => 0,
            Refers::Name(Athlete::First) => 1,
            Refers::Name(Athlete::Second) => 2,
            Refers::Pronoun(Athlete::First) => 3,
            Refers::Pronoun(Athlete::Second) => 4,
            Refers::Either => 5,
        }
    }
}

/// The grammatical form of a pronoun or name.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Case {
    /// No pronoun.
    None,
    /// he, she, they
    Subject,
    /// him, her, them
    Object,
    /// his, hers, their, and names with 's
    Possessive,
    /// himself, herself, themselves
    Reflexive,
    /// he's, she'd, they'll
    SubjectAndVerb,
}

impl Case {
    /// 0 to 5 in the order of the variants.
    #[must_use]
    pub const fn index(self) -> usize {
        match self {
            Case::None => 0,
            Case::Subject => 1,
            Case::Object => 2,
            Case::Possessive => 3,
            Case::Reflexive => 4,
            Case::SubjectAndVerb => 5,
        }
    }
}

/// What stands in the network's vocabulary for a name.
pub const NAME: &str = "<name>";
/// What stands in the network's vocabulary for a pronoun.
pub const PRONOUN: &str = "<pron>";
/// What stands in the network's vocabulary for a number in digits.
pub const NUMBER: &str = "#";

/// One word as the network sees it.
#[derive(Clone, Debug, PartialEq)]
pub struct SeenWord {
    /// Letters in lower case; [`NAME`], [`PRONOUN`] and [`NUMBER`] stand for their kind.
    pub token: String,
    /// When it begins, in seconds.
    pub start: f64,
    /// Seconds of silence before it, at most [`LONGEST_GAP`].
    pub gap: f64,
    /// Whom it may stand for.
    pub refers: Refers,
    /// Its grammatical form.
    pub case: Case,
    /// The lexicon term that it is part of, as the term's id.
    pub term: Option<String>,
    /// Index of the word of the talk that it comes from.
    pub word: usize,
}

/// Longer silences are told from each other no more, in seconds.
pub const LONGEST_GAP: f64 = 5.0;

/// Finds below this probability are not shown to the network.
const LEAST_PROBABILITY: f64 = 0.5;

/// A talk as the network sees it, with the finds it is based on.
#[derive(Clone, Debug)]
pub struct SeenTalk {
    /// The words, in order.
    pub words: Vec<SeenWord>,
    /// How exact their times are.
    pub timing: Timing,
    /// The lexicon's terms in the talk, by word index.
    pub terms: Vec<talk::Find>,
    /// The athletes' names in the talk, by word index.
    pub names: Vec<talk::NameFind>,
}

/// The words of a talk as the network sees them.
///
/// Linear in the number of words, besides the cost of finding terms and names.
#[must_use]
pub fn see(talk: &Talk, round: &Round, lexicon: &Lexicon) -> SeenTalk {
    let spoken: Vec<&str> = talk.words().map(|word| word.text.as_str()).collect();
    let athletes = Athlete::BOTH.map(|athlete| round.name(athlete));
    let (terms, names) = talk::find_terms_and_names(&spoken, athletes, lexicon);

    let mut term_of: Vec<Option<usize>> = vec![None; spoken.len()];
    for (index, find) in terms.iter().enumerate() {
        if find.probability >= LEAST_PROBABILITY {
            term_of[find.words.clone()].fill(Some(index));
        }
    }
    let mut name_of: Vec<Option<(Athlete, usize)>> = vec![None; spoken.len()];
    for find in names.iter().filter(|find| find.probability >= LEAST_PROBABILITY) {
        name_of[find.words.clone()].fill(Some((find.athlete, find.words.start)));
    }

    let mut words = Vec::with_capacity(spoken.len());
    let mut end = 0.0f64;
    for (index, word) in talk.words().enumerate() {
        let start = word.span.start().seconds();
        let gap = (start - end).clamp(0.0, LONGEST_GAP);
        end = end.max(word.span.end().seconds());
        let term = term_of[index].map(|term| lexicon.term(terms[term].term).id.clone());
        let seen = |token: String, refers, case, gap| SeenWord {
            token,
            start,
            gap,
            refers,
            case,
            term: term.clone(),
            word: index,
        };
        if let Some((athlete, first)) = name_of[index] {
            // A name heard as several words is one name.
            if first == index {
                let case = if word.text.ends_with("'s") { Case::Possessive } else { Case::None };
                words.push(seen(NAME.to_owned(), Refers::Name(athlete), case, gap));
            }
            continue;
        }
        for (part, token) in tokens(&word.text).into_iter().enumerate() {
            let gap = if part == 0 { gap } else { 0.0 };
            words.push(match pronoun(&token) {
                Some((pronoun, case)) => {
                    let refers = pronoun_refers(round, pronoun);
                    seen(PRONOUN.to_owned(), refers, case, gap)
                }
                None => seen(token, Refers::No, Case::None, gap),
            });
        }
    }
    SeenTalk { words: name_by_belt(words), timing: Timing::of(talk), terms, names }
}

/// Splits a written word into plain tokens: runs of letters, with apostrophes inside them, and
/// runs of digits, which all become [`NUMBER`].
fn tokens(text: &str) -> Vec<String> {
    let mut found: Vec<String> = Vec::new();
    let mut token = String::new();
    let letter = |c: char| c.is_ascii_lowercase() || matches!(c, 'à'..='ÿ');
    let lower = text.to_lowercase().replace('\u{2019}', "'");
    let mut rest = lower.chars().peekable();
    while let Some(c) = rest.next() {
        let inside =
            c == '\'' && !token.is_empty() && rest.peek().is_some_and(|next| letter(*next));
        if letter(c) || inside {
            token.push(c);
        } else {
            if !token.is_empty() {
                found.push(std::mem::take(&mut token));
            }
            if c.is_ascii_digit() {
                while rest.next_if(char::is_ascii_digit).is_some() {}
                found.push(NUMBER.to_owned());
            }
        }
    }
    if !token.is_empty() {
        found.push(token);
    }
    found
}

fn pronoun(token: &str) -> Option<(Pronoun, Case)> {
    let case = match token {
        "he" | "she" | "they" => Case::Subject,
        "him" | "her" | "them" => Case::Object,
        "his" | "hers" | "their" => Case::Possessive,
        "himself" | "herself" | "themselves" | "themself" => Case::Reflexive,
        "he's" | "he'd" | "he'll" | "she's" | "she'd" | "she'll" | "they're" | "they'll" => {
            Case::SubjectAndVerb
        }
        _ => return None,
    };
    let pronoun = match token.as_bytes() {
        [b'h', b'e', b'r', ..] | [b's', ..] => Pronoun::She,
        [b'h', ..] => Pronoun::He,
        _ => Pronoun::They,
    };
    Some((pronoun, case))
}

/// Whom a pronoun stands for in a round. "They" may always mean both at once.
fn pronoun_refers(round: &Round, pronoun: Pronoun) -> Refers {
    let [first, second] =
        Athlete::BOTH.map(|athlete| round.person(athlete).pronoun.map(|own| own == pronoun));
    match (first, second) {
        (Some(true), Some(false)) => Refers::Pronoun(Athlete::First),
        (Some(false), Some(true)) => Refers::Pronoun(Athlete::Second),
        (Some(false), Some(false)) if pronoun == Pronoun::They => Refers::No,
        _ => Refers::Either,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use academy::{Person, RoundKind, Time};

    fn round(one: Option<Pronoun>, other: Option<Pronoun>) -> Round {
        let person = |name: &str, pronoun| Person { name: name.to_owned(), pronoun };
        let people = [person("Petra", one), person("Idris", other)];
        Round::new(people, RoundKind::Flow, Time::from_millis(60_000)).unwrap()
    }

    #[test]
    fn words_are_split_into_plain_tokens() {
        assert_eq!(tokens("Knee-slice,"), ["knee", "slice"]);
        assert_eq!(tokens("He\u{2019}s"), ["he's"]);
        assert_eq!(tokens("'round"), ["round"]);
        assert_eq!(tokens("100kg"), ["#", "kg"]);
        assert_eq!(tokens("..."), Vec::<String>::new());
    }

    #[test]
    fn a_pronoun_points_at_the_one_who_uses_it() {
        use Pronoun::{He, She, They};
        let mixed = round(Some(She), Some(He));
        assert_eq!(pronoun_refers(&mixed, He), Refers::Pronoun(Athlete::Second));
        assert_eq!(pronoun_refers(&mixed, They), Refers::No);
        let same = round(Some(He), Some(He));
        assert_eq!(pronoun_refers(&same, He), Refers::Either);
        let unknown = round(None, Some(He));
        assert_eq!(pronoun_refers(&unknown, He), Refers::Either);
    }

    #[test]
    fn names_and_pronouns_are_seen_as_such() {
        let talk = talk::read(b"[0:01] Petra's knee is in, he likes that\n").unwrap().talk;
        let seen = see(&talk, &round(Some(Pronoun::She), Some(Pronoun::He)), &Lexicon::builtin());
        assert_eq!(seen.words[0].token, NAME);
        assert_eq!(seen.words[0].refers, Refers::Name(Athlete::First));
        assert_eq!(seen.words[0].case, Case::Possessive);
        let pronoun = seen.words.iter().find(|word| word.token == PRONOUN).unwrap();
        assert_eq!(pronoun.refers, Refers::Pronoun(Athlete::Second));
    }
}
