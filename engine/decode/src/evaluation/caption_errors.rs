//! How many words of captions are wrong, before and after they were put right.

use academy::{Athlete, Round};
use talk::{Lexicon, Talk, WordErrors, align};

/// Words said and words wrong, of some group of words.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Wrong {
    /// Words that were said.
    pub said: usize,
    /// Of these, words that the captions lack or have as another word.
    pub wrong: usize,
}

impl Wrong {
    /// Share of wrong words; zero for none said.
    #[must_use]
    pub fn share(self) -> f64 {
        self.wrong as f64 / self.said.max(1) as f64
    }

    /// These words and others together.
    #[must_use]
    pub const fn with(self, other: Wrong) -> Wrong {
        Wrong { said: self.said + other.said, wrong: self.wrong + other.wrong }
    }
}

/// Errors of captions against captions without mistakes.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct CaptionErrors {
    /// Words that belong to a term of the lexicon where they were said.
    pub trade: Wrong,
    /// Words that are an athlete's name where they were said.
    pub names: Wrong,
    /// All words: substituted, deleted and inserted over said.
    pub all: WordErrors,
}

impl CaptionErrors {
    /// These errors and others together.
    #[must_use]
    pub fn with(self, other: CaptionErrors) -> CaptionErrors {
        CaptionErrors {
            trade: self.trade.with(other.trade),
            names: self.names.with(other.names),
            all: self.all.with(other.all),
        }
    }
}

/// Errors of heard captions against what was said, as they are and after correction. Letter case
/// and apostrophes do not count. Quadratic in the number of words.
#[must_use]
pub fn caption_errors(
    said: &Talk,
    heard: &Talk,
    round: &Round,
    lexicon: &Lexicon,
) -> [CaptionErrors; 2] {
    let names = Athlete::BOTH.map(|athlete| round.name(athlete));
    let spoken = words(said);
    let plain: Vec<&str> = spoken.iter().map(String::as_str).collect();
    let (finds, named) = talk::find_terms_and_names(&plain, names, lexicon);
    let mut of_trade = vec![false; spoken.len()];
    let mut of_names = vec![false; spoken.len()];
    for find in finds.iter().filter(|find| find.by == talk::FoundBy::Exact) {
        of_trade[find.words.clone()].fill(true);
    }
    for find in named.iter().filter(|find| find.exact) {
        of_names[find.words.clone()].fill(true);
    }
    let as_heard: Vec<&str> = heard.words().map(|word| word.text.as_str()).collect();
    let (finds, named) = talk::find_terms_and_names(&as_heard, names, lexicon);
    let corrections = talk::corrections(&as_heard, &finds, &named, talk::LEAST_TO_CORRECT);
    let corrected = talk::correct(heard, &corrections);
    [heard, &corrected].map(|captions| {
        let (fates, all) = align(&spoken, &words(captions));
        let count = |group: &[bool]| {
            let fates = fates.iter().zip(group).filter(|(_, in_group)| **in_group);
            fates.fold(Wrong::default(), |sum, (fate, _)| {
                let wrong = usize::from(!matches!(fate, talk::Heard::Right(_)));
                sum.with(Wrong { said: 1, wrong })
            })
        };
        CaptionErrors { trade: count(&of_trade), names: count(&of_names), all }
    })
}

fn words(talk: &Talk) -> Vec<String> {
    (talk.words())
        .flat_map(|word| {
            let lower = word.text.to_lowercase().replace(['\'', '\u{2019}'], "");
            let parts = lower.split(|c: char| !c.is_alphanumeric());
            parts.filter(|part| !part.is_empty()).map(str::to_owned).collect::<Vec<_>>()
        })
        .collect()
}
