//! The terms of the talk with how they were meant and about whom.

use std::ops::Range;

use academy::Athlete;
use ndarray::ArrayView2;
use talk::lexicon::TermIndex;

use crate::decoder::Heard;
use crate::evidence::{CHANGE_KINDS, MOMENT_KINDS};

/// How a mention was meant.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Manner {
    /// It is happening, or has just happened.
    Happening,
    /// It is being tried.
    Tried,
    /// It was tried and failed.
    Failed,
    /// It is about to happen.
    AboutTo,
    /// The coach would like to see it.
    Wished,
    /// What would be if.
    Hypothetical,
    /// Grappling in general.
    General,
    /// Taught in class.
    Taught,
    /// It happened at another time.
    Earlier,
    /// It is said not to be so.
    Negated,
}

impl Manner {
    /// Every manner.
    pub const ALL: [Manner; 10] = [
        Manner::Happening,
        Manner::Tried,
        Manner::Failed,
        Manner::AboutTo,
        Manner::Wished,
        Manner::Hypothetical,
        Manner::General,
        Manner::Taught,
        Manner::Earlier,
        Manner::Negated,
    ];

    /// Whether it speaks of something that takes place in the round at that time.
    #[must_use]
    pub const fn takes_place(self) -> bool {
        matches!(self, Manner::Happening | Manner::Tried | Manner::Failed)
    }
}

/// A stretch of the talk that names a term.
#[derive(Clone, Debug, PartialEq)]
pub struct Mention {
    /// Which words, as indices over the talk's words.
    pub words: Range<usize>,
    /// The term.
    pub term: TermIndex,
    /// Chance that the words mean the term at all.
    pub probability: f64,
    /// Chance of each manner, in the order of [`Manner::ALL`]; they sum to 1.
    pub manners: [f64; 10],
    /// Chance that it is about each athlete; what is left to 1 is open.
    pub athletes: [f64; 2],
}

impl Mention {
    /// The likeliest manner.
    #[must_use]
    pub fn manner(&self) -> Manner {
        let best = (0..10).max_by(|a, b| self.manners[*a].total_cmp(&self.manners[*b]));
        Manner::ALL[best.unwrap_or(0)]
    }

    /// Chance that it speaks of something that takes place in the round at that time.
    #[must_use]
    pub fn takes_place(&self) -> f64 {
        (Manner::ALL.iter().zip(self.manners))
            .filter(|(manner, _)| manner.takes_place())
            .map(|(_, chance)| chance)
            .sum()
    }
}

/// Words that tell how general talk is meant, looked for before the term within its sentence or a
/// few words around it. Common practice of English; the reader decides whether talk is general.
const CUES: [(Manner, &[&str]); 6] = [
    (Manner::Negated, &["no", "not", "don't", "doesn't", "didn't", "never", "without", "nobody"]),
    (Manner::Wished, &["love", "like", "want", "wish", "wanted", "hope", "need"]),
    (Manner::Hypothetical, &["if", "when", "could", "would", "might", "maybe", "unless"]),
    (Manner::AboutTo, &["gonna", "going", "about", "ready", "coming", "soon"]),
    (
        Manner::Taught,
        &[
            "class",
            "taught",
            "showed",
            "drilled",
            "drill",
            "week",
            "monday",
            "tuesday",
            "wednesday",
            "thursday",
            "friday",
            "topic",
            "month",
        ],
    ),
    (Manner::Earlier, &["last", "earlier", "before", "yesterday", "again", "ago"]),
];

/// Words before a term among which its cues are looked for, and after it.
const CUES_BEFORE: usize = 8;
const CUES_AFTER: usize = 4;
/// A denial stands closer.
const NEGATION_BEFORE: usize = 3;

/// The mentions of a heard talk. Whether a mention speaks of the round, and about whom, is what
/// the network says of its words; the manners of general talk follow from cue words.
#[must_use]
pub fn mentions(heard: &Heard) -> Vec<Mention> {
    let seen = &heard.seen.words;
    let place = |word: usize| seen.partition_point(|seen| seen.word < word);
    (heard.seen.terms.iter())
        .map(|find| {
            let rows = place(find.words.start)..place(find.words.end);
            let said = Said::of([&heard.outputs.words[0], &heard.outputs.words[1]], rows.clone());
            let tokens = |rows: Range<usize>| -> Vec<&str> {
                seen[rows].iter().map(|word| word.token.as_str()).collect()
            };
            let before = tokens(rows.start.saturating_sub(CUES_BEFORE)..rows.start);
            let after = tokens(rows.end..(rows.end + CUES_AFTER).min(seen.len()));
            Mention {
                words: find.words.clone(),
                term: find.term,
                probability: find.probability,
                manners: said.manners(&before, &after),
                athletes: said.athletes,
            }
        })
        .collect()
}

/// What the network says of a stretch of words.
struct Said {
    about_the_round: f64,
    changed: f64,
    tried: f64,
    failed: f64,
    athletes: [f64; 2],
}

impl Said {
    fn of(views: [&ndarray::Array2<f32>; 2], rows: Range<usize>) -> Self {
        let chance = |view: ArrayView2<'_, f32>, column: usize| {
            let sum: f64 = view.column(column).iter().map(|x| logistic(f64::from(*x))).sum();
            sum / view.nrows().max(1) as f64
        };
        let slices = views.map(|view| view.slice(ndarray::s![rows.clone(), ..]));
        let kinds = CHANGE_KINDS.len() + MOMENT_KINDS.len();
        // Column 0: about the round. Then kinds by self, kinds by the other.
        let by = |kind: usize, athlete: usize| {
            let own = chance(slices[athlete], 1 + kind);
            let seen_by_other = chance(slices[1 - athlete], 1 + kinds + kind);
            (own + seen_by_other) / 2.0
        };
        let either = |kind: usize| 1.0 - (1.0 - by(kind, 0)) * (1.0 - by(kind, 1));
        let any = |range: Range<usize>| 1.0 - range.map(|kind| 1.0 - either(kind)).product::<f64>();
        let attempt = CHANGE_KINDS.len();
        let failures = attempt + 3..attempt + 5;
        let athletes = Athlete::BOTH
            .map(|athlete| (0..kinds).map(|kind| by(kind, athlete.index())).fold(0.0, f64::max));
        let told = athletes[0] + athletes[1];
        let scale = if told > 1.0 { told.recip() } else { 1.0 };
        Said {
            about_the_round: (chance(slices[0], 0) + chance(slices[1], 0)) / 2.0,
            changed: any(0..attempt),
            tried: any(attempt..attempt + 3),
            failed: any(failures),
            athletes: athletes.map(|chance| chance * scale),
        }
    }

    fn manners(&self, before: &[&str], after: &[&str]) -> [f64; 10] {
        let mut manners = [0.0; 10];
        let index = |manner: Manner| Manner::ALL.iter().position(|m| *m == manner).unwrap_or(0);
        let happening = (self.changed + self.tried + self.failed).max(1e-9);
        for (manner, part) in [
            (Manner::Happening, self.changed),
            (Manner::Tried, self.tried),
            (Manner::Failed, self.failed),
        ] {
            manners[index(manner)] = self.about_the_round * part / happening;
        }
        let left = 1.0 - self.about_the_round;
        let cued: Vec<Manner> = (CUES.iter())
            .filter(|(manner, cues)| {
                let (before, after) = match manner {
                    // "not the back" denies; "nobody's in a hurry" further off does not.
                    Manner::Negated => {
                        (&before[before.len().saturating_sub(NEGATION_BEFORE)..], &[][..])
                    }
                    // "I'd love the kimura" is a wish, "north-south, I love that" is praise.
                    Manner::Wished | Manner::Hypothetical | Manner::AboutTo => (before, &[][..]),
                    _ => (before, after),
                };
                before.iter().chain(after).any(|token| cues.contains(token))
            })
            .map(|(manner, _)| *manner)
            .collect();
        // General talk keeps a share: a cue nearby may belong to something else.
        let share = left / (cued.len() as f64 * 3.0 + 1.0);
        manners[index(Manner::General)] += share;
        for manner in cued {
            manners[index(manner)] += 3.0 * share;
        }
        manners
    }
}

fn logistic(x: f64) -> f64 {
    1.0 / (1.0 + (-x).exp())
}

#[cfg(test)]
mod tests {
    use super::*;

    fn said(about_the_round: f64) -> Said {
        Said { about_the_round, changed: 0.2, tried: 0.7, failed: 0.1, athletes: [0.6, 0.1] }
    }

    #[test]
    fn manners_are_a_distribution() {
        for before in [&["if", "not", "last"][..], &[], &["love"]] {
            let sum: f64 = said(0.4).manners(before, &["week"]).iter().sum();
            assert!((sum - 1.0).abs() < 1e-9);
        }
    }

    #[test]
    fn cue_words_tell_how_general_talk_is_meant() {
        let likeliest = |about, before: &[&str], after: &[&str]| {
            let manners = said(about).manners(before, after);
            let best = (0..10).max_by(|a, b| manners[*a].total_cmp(&manners[*b])).unwrap();
            Manner::ALL[best]
        };
        assert_eq!(likeliest(0.1, &["i'd", "love", "to", "see"], &[]), Manner::Wished);
        assert_eq!(likeliest(0.1, &["we", "did"], &["in", "class"]), Manner::Taught);
        assert_eq!(likeliest(0.1, &["people", "hold"], &[]), Manner::General);
        assert_eq!(likeliest(0.9, &["if"], &[]), Manner::Tried);
        assert_eq!(likeliest(0.1, &[], &["i", "love", "that"]), Manner::General);
        assert_eq!(likeliest(0.1, &["that's", "not", "the"], &[]), Manner::Negated);
        let far = ["nobody", "hurries", "here", "good", "old"];
        assert_eq!(likeliest(0.1, &far, &[]), Manner::General);
    }
}
