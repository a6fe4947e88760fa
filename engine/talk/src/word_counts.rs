//! Counting words and pairs of words in talk, to learn what coaches say.

use std::collections::BTreeMap;
use std::fmt::Write as _;

use crate::spelling;

/// What stands for the name of either athlete among counted words.
pub(crate) const NAME: &str = "<name>";

/// How often words and pairs of neighbouring words occur in talk over rounds.
///
/// The text form is the file `data/lexicon/word_counts.txt`, from which the program's model of
/// such talk is packed when it is built.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct WordCounts {
    words: BTreeMap<String, u32>,
    pairs: BTreeMap<(String, String), u32>,
}

impl WordCounts {
    /// Nothing counted yet.
    #[must_use]
    pub fn new() -> Self {
        WordCounts::default()
    }

    /// Counts the words of one talk, in order; the two athletes' names count as one word, since
    /// the next round has other names.
    pub fn add(&mut self, words: &[&str], names: [&str; 2]) {
        let names: Vec<Vec<String>> = names.iter().map(|name| spelling::words_of(name)).collect();
        let mut previous: Option<String> = None;
        for token in spelling::tokens(words) {
            let is_name = names.iter().any(|name| name.contains(&token.text));
            let word = if is_name { NAME.to_owned() } else { token.spoken() };
            *self.words.entry(word.clone()).or_default() += 1;
            if let Some(before) = previous.replace(word.clone()) {
                *self.pairs.entry((before, word)).or_default() += 1;
            }
        }
    }

    /// The counts as text: a line `word count` for each word, then a line `first second count`
    /// for each pair that occurs more than once. In alphabetical order.
    #[must_use]
    pub fn to_text(&self) -> String {
        let mut text = String::new();
        for (word, count) in &self.words {
            // Writing to a string cannot fail.
            let _ = writeln!(text, "{word} {count}");
        }
        for ((first, second), count) in self.pairs.iter().filter(|(_, count)| **count > 1) {
            let _ = writeln!(text, "{first} {second} {count}");
        }
        text
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_count_as_one_word_and_rare_pairs_are_left_out() {
        let mut counts = WordCounts::new();
        counts.add(&["Petra", "passes,", "Idris's", "guard"], ["Petra", "Idris"]);
        counts.add(&["and", "Ute", "passes", "it's"], ["Ute", "Olga"]);
        assert_eq!(
            counts.to_text(),
            "<name> 3\nand 1\nguard 1\nits 1\npasses 2\n<name> passes 2\n"
        );
    }
}
