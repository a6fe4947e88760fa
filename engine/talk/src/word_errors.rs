//! How far heard words are from the words that were said.

/// What became of one word that was said.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Heard {
    /// Heard as it was said, at this place of the heard words.
    Right(usize),
    /// Heard as another word, at this place of the heard words.
    Wrong(usize),
    /// Not heard at all.
    Missing,
}

/// Word errors of a transcript against what was said.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct WordErrors {
    /// Words that were said.
    pub said: usize,
    /// Words heard as other words.
    pub substituted: usize,
    /// Words not heard.
    pub deleted: usize,
    /// Words heard that nobody said.
    pub inserted: usize,
}

impl WordErrors {
    /// The word error rate: substituted, deleted and inserted words over words said.
    ///
    /// Zero when nothing was said and nothing heard; infinite when nothing was said but something
    /// heard. May exceed 1.
    #[must_use]
    pub fn rate(&self) -> f64 {
        let errors = self.substituted + self.deleted + self.inserted;
        if errors == 0 { 0.0 } else { errors as f64 / self.said as f64 }
    }

    /// These errors and others together.
    #[must_use]
    pub fn with(self, other: WordErrors) -> WordErrors {
        WordErrors {
            said: self.said + other.said,
            substituted: self.substituted + other.substituted,
            deleted: self.deleted + other.deleted,
            inserted: self.inserted + other.inserted,
        }
    }
}

/// Aligns heard words with the words said by the smallest number of substitutions, deletions and
/// insertions (Levenshtein distance over words), and says for each word said what became of it.
///
/// Words are compared as given: bring both sides to one spelling first. Where several alignments
/// are equally short, one with a substitution is preferred to one with a deletion and an
/// insertion. O(said × heard) time and memory (one byte each).
#[must_use]
pub fn align<S: AsRef<str>, H: AsRef<str>>(said: &[S], heard: &[H]) -> (Vec<Heard>, WordErrors) {
    const DIAGONAL: u8 = 0;
    const DELETE: u8 = 1;
    const INSERT: u8 = 2;
    let width = heard.len() + 1;
    let mut from = vec![DIAGONAL; (said.len() + 1) * width];
    let mut above: Vec<usize> = (0..width).collect();
    let mut row = vec![0; width];
    from[1..width].fill(INSERT);
    for (i, word) in said.iter().enumerate() {
        row[0] = i + 1;
        from[(i + 1) * width] = DELETE;
        for (j, other) in heard.iter().enumerate() {
            let same = word.as_ref() == other.as_ref();
            let steps = [above[j] + usize::from(!same), above[j + 1] + 1, row[j] + 1];
            let mut best = DIAGONAL;
            for step in [DELETE, INSERT] {
                if steps[step as usize] < steps[best as usize] {
                    best = step;
                }
            }
            row[j + 1] = steps[best as usize];
            from[(i + 1) * width + j + 1] = best;
        }
        std::mem::swap(&mut above, &mut row);
    }
    let mut fates = vec![Heard::Missing; said.len()];
    let mut errors = WordErrors { said: said.len(), ..WordErrors::default() };
    let (mut i, mut j) = (said.len(), heard.len());
    while i > 0 || j > 0 {
        match from[i * width + j] {
            DIAGONAL => {
                (i, j) = (i - 1, j - 1);
                if said[i].as_ref() == heard[j].as_ref() {
                    fates[i] = Heard::Right(j);
                } else {
                    fates[i] = Heard::Wrong(j);
                    errors.substituted += 1;
                }
            }
            DELETE => {
                i -= 1;
                errors.deleted += 1;
            }
            _ => {
                j -= 1;
                errors.inserted += 1;
            }
        }
    }
    (fates, errors)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn check(said: &str, heard: &str, substituted: usize, deleted: usize, inserted: usize) {
        let said: Vec<&str> = said.split_whitespace().collect();
        let heard: Vec<&str> = heard.split_whitespace().collect();
        let (fates, errors) = align(&said, &heard);
        let expected = WordErrors { said: said.len(), substituted, deleted, inserted };
        assert_eq!(errors, expected, "{said:?} / {heard:?}");
        let right = fates.iter().filter(|fate| matches!(fate, Heard::Right(_))).count();
        assert_eq!(right + substituted + deleted, said.len());
    }

    #[test]
    fn published_examples() {
        // FACTS F5 (jiwer.process_words).
        check("the cat sat on the mat", "the cat sit on mat", 1, 1, 0);
        check("he passes the guard", "he passes to guard now", 1, 0, 1);
        check("the little arena guard works", "the de la riva guard works", 2, 0, 1);
        check("the de la riva guard works", "the little arena guard works", 2, 1, 0);
        check("", "", 0, 0, 0);
        check("a b", "", 0, 2, 0);
    }

    #[test]
    fn the_distance_is_levenshteins() {
        // FACTS F7: kitten/sitting 3, saturday/sunday 3, intention/execution 5, ca/abc 3.
        let letters = |word: &str| word.chars().map(String::from).collect::<Vec<_>>();
        for (a, b, distance) in [
            ("kitten", "sitting", 3),
            ("saturday", "sunday", 3),
            ("intention", "execution", 5),
            ("ca", "abc", 3),
        ] {
            let errors = align(&letters(a), &letters(b)).1;
            assert_eq!(errors.substituted + errors.deleted + errors.inserted, distance);
        }
    }

    #[test]
    fn rates_and_sums() {
        // FACTS F5: .333333, .5 and .6.
        let rate = |said: &str, heard: &str| {
            let said: Vec<&str> = said.split(' ').collect();
            let heard: Vec<&str> = heard.split(' ').collect();
            align(&said, &heard).1
        };
        let first = rate("the cat sat on the mat", "the cat sit on mat");
        let second = rate("the little arena guard works", "the de la riva guard works");
        assert!((first.rate() - 0.333_333).abs() < 1e-6);
        assert!((second.rate() - 0.6).abs() < 1e-12);
        assert!((first.with(second).rate() - 5.0 / 11.0).abs() < 1e-12);
    }
}
