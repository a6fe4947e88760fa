//! Searching heard words for wanted ones by their sound, as a noisy channel.
//!
//! For a window of heard words and a wanted one, two stories compete: the words were said as
//! heard, or the wanted one was said and misheard. Their odds are the chance of each in its
//! surroundings (`word_model`) times the chance of hearing the one for the other, which falls
//! with the distance of their sounds (`sound_distance`). So ordinary words that fit their
//! surroundings stay what they are, and odd ones that sound like a term become it.

mod edges;
mod skeleton;

use std::sync::Arc;

use rustc_hash::FxHashMap;

use crate::phoneme::Phoneme;
use crate::sound_distance::{self, Cost};
use crate::word_model::Spoken;
use edges::{Beside, Edges};

/// The generic costs of mishearing. They hold for no word in particular.
#[derive(Clone, Copy, Debug)]
pub struct Hearing {
    /// Nats lost per whole sound of distance.
    pub per_sound: f64,
    /// Nats that any mishearing costs at all.
    pub at_all: f64,
    /// Nats for taking one word more or less than was said.
    pub per_boundary: f64,
    /// Distance allowed per sound of the wanted word.
    pub reach: f64,
    /// Nats gained for each sound of the wanted word beyond six, up to twelve, and lost for each
    /// one short of it: short words are found by chance in any talk.
    pub per_length: f64,
    /// The least odds, in nats, of a match.
    pub least: f64,
    /// Nats that a word of the trade gains for having been heard as such.
    pub trust: f64,
    /// The least logarithm of the chance of a heard word: a word stranger than this may well be
    /// another word misheard, of which nothing is known.
    pub strangest: f64,
    /// The same for a word that no dictionary holds: it was hardly said as heard.
    pub unknown: f64,
}

impl Hearing {
    /// For the terms of the lexicon. Chosen on real recogniser output, the same for all words and
    /// speakers.
    pub const TERMS: Hearing = Hearing {
        per_sound: 8.5,
        at_all: 0.0,
        per_boundary: 1.0,
        reach: 0.36,
        per_length: 1.0,
        least: -1.5,
        trust: 4.0,
        strangest: -9.0,
        unknown: -13.0,
    };

    /// For the athletes' names: there are two, they are known, and they are said often, so a worse
    /// likeness is enough.
    pub const NAMES: Hearing = Hearing {
        per_sound: 7.0,
        at_all: -1.0,
        per_boundary: 2.0,
        reach: 0.4,
        per_length: 0.0,
        least: -2.0,
        trust: 4.0,
        strangest: -8.5,
        unknown: -12.0,
    };
}

/// A word or phrase looked for.
#[derive(Clone, Debug)]
pub(crate) struct Target {
    /// What it stands for, in the terms of whoever looks for it.
    pub(crate) what: usize,
    /// As written when put right.
    pub(crate) text: Arc<str>,
    /// Its first and last word.
    pub(crate) first: Spoken,
    pub(crate) last: Spoken,
    /// The logarithm of the chance of its later words after its first.
    pub(crate) inner: f64,
    /// How many words it has.
    pub(crate) words: usize,
    /// How it sounds.
    pub(crate) sounds: Vec<Phoneme>,
}

/// What must be known of a target before its sounds are held against those of a window.
#[derive(Clone, Copy, Debug)]
struct Outline {
    /// Its first and last word among the edges.
    ends: (u16, u16),
    words: u16,
    sounds: u16,
    inner: f32,
}

/// Targets, found by their skeletons.
#[derive(Clone, Debug, Default)]
pub(crate) struct Targets {
    all: Vec<Target>,
    edges: Edges,
    outlines: Vec<Outline>,
    /// Targets by key: a stretch of `listed`.
    keys: FxHashMap<skeleton::Key, (u32, u32)>,
    listed: Vec<u16>,
}

impl Targets {
    /// Targets ready to be searched for; those beyond 65,535 are left out.
    pub(crate) fn new(mut all: Vec<Target>) -> Self {
        all.retain(|target| (1..=sound_distance::LONGEST).contains(&target.sounds.len()));
        all.truncate(usize::from(u16::MAX));
        let mut edges = Edges::default();
        let outline = |target: &Target| Outline {
            ends: (edges.add(target.first), edges.add(target.last)),
            words: target.words as u16,
            sounds: target.sounds.len() as u16,
            inner: target.inner as f32,
        };
        let outlines = all.iter().map(outline).collect();
        // Key and target in one number, so that sorting is quick.
        let mut pairs: Vec<u64> = Vec::with_capacity(all.len() * 6);
        for (at, target) in all.iter().enumerate() {
            skeleton::keys(&target.sounds, |key| pairs.push(key << 16 | at as u64));
        }
        pairs.sort_unstable();
        pairs.dedup();
        let mut keys = FxHashMap::default();
        keys.reserve(pairs.len() / 2);
        let mut start = 0;
        for same in pairs.chunk_by(|a, b| a >> 16 == b >> 16) {
            let end = start + same.len() as u32;
            keys.insert(same[0] >> 16, (start, end));
            start = end;
        }
        let listed = pairs.into_iter().map(|pair| pair as u16).collect();
        Targets { all, edges, outlines, keys, listed }
    }

    pub(crate) fn get(&self, at: usize) -> &Target {
        &self.all[at]
    }

    fn with_key(&self, key: skeleton::Key) -> &[u16] {
        self.keys.get(&key).map_or(&[], |(from, to)| &self.listed[*from as usize..*to as usize])
    }
}

/// A heard piece of a word.
#[derive(Clone, Debug)]
pub(crate) struct HeardWord {
    pub(crate) spoken: Spoken,
    pub(crate) sounds: Vec<Phoneme>,
    /// Whether neither the dictionary nor talk over rounds holds it.
    pub(crate) unknown: bool,
    /// Part of an exactly heard word of the trade.
    pub(crate) trusted: bool,
}

/// A window that may be a wanted word misheard.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Match {
    pub(crate) start: usize,
    pub(crate) length: usize,
    /// The place of the target.
    pub(crate) target: usize,
    /// The logarithm of the odds that it was said.
    pub(crate) odds: f64,
}

/// The most words of a window.
const WIDEST: usize = 5;

/// The best target for each window of heard words, where any is likely enough.
///
/// Windows overlap; see [`choose`]. Complexity: windows × targets whose skeletons meet; an edit
/// distance only where the surroundings leave room for one.
pub(crate) fn search(heard: &[HeardWord], targets: &Targets, hearing: &Hearing) -> Vec<Match> {
    let mut matches = Vec::new();
    let mut searcher = Searcher::new(targets, hearing);
    // The chances of going on from every last word, for the windows that end at each of the next
    // places; the buffers go round.
    let mut onward: [Vec<f32>; WIDEST] = std::array::from_fn(|_| Vec::new());
    let mut ready = 0;
    let mut opening = Vec::new();
    let mut beside = Beside::new(&targets.edges);
    let as_heard: Vec<f64> = (0..heard.len())
        .map(|at| as_heard_after(&heard[at], at.checked_sub(1).map(|at| &heard[at]), hearing))
        .collect();
    for start in 0..heard.len() {
        let before = start.checked_sub(1).map(|at| heard[at].spoken);
        beside.after(before, &mut opening);
        searcher.window.clear();
        let mut spent = hearing.at_all;
        for length in 1..=WIDEST.min(heard.len() - start) {
            let end = start + length - 1;
            let word = &heard[end];
            if ready <= end {
                let next = heard.get(end + 1);
                let least = next.map_or(0.0, |next| strangest(next, hearing));
                let next = next.map(|next| next.spoken);
                beside.before(next, least, &mut onward[end % WIDEST]);
                ready = end + 1;
            }
            searcher.window.extend(&word.sounds);
            if searcher.window.len() > sound_distance::LONGEST {
                break;
            }
            spent += as_heard[end] + if word.trusted { hearing.trust } else { 0.0 };
            let spent = spent + as_heard.get(end + 1).copied().unwrap_or(0.0);
            let onward = &onward[end % WIDEST];
            if let Some((target, odds)) = searcher.best(length, spent, &opening, onward) {
                matches.push(Match { start, length, target, odds });
            }
        }
    }
    matches
}

/// The logarithm of the chance that a word was said as it was heard.
fn as_heard_after(word: &HeardWord, previous: Option<&HeardWord>, hearing: &Hearing) -> f64 {
    word.spoken.after(previous.map(|word| word.spoken)).max(strangest(word, hearing))
}

/// The least logarithm of the chance of a heard word.
fn strangest(word: &HeardWord, hearing: &Hearing) -> f64 {
    if word.unknown { hearing.unknown } else { hearing.strangest }
}

struct Searcher<'a> {
    targets: &'a Targets,
    hearing: &'a Hearing,
    window: Vec<Phoneme>,
    /// The last window for which each target was looked at, so that none is looked at twice.
    seen: Vec<u32>,
    windows: u32,
}

impl<'a> Searcher<'a> {
    fn new(targets: &'a Targets, hearing: &'a Hearing) -> Self {
        let seen = vec![0; targets.all.len()];
        Searcher { targets, hearing, window: Vec::new(), seen, windows: 0 }
    }

    /// The likeliest target for the window, with its odds. `spent` is the logarithm of the chance
    /// of what was heard.
    fn best(
        &mut self,
        length: usize,
        spent: f64,
        opening: &[f32],
        onward: &[f32],
    ) -> Option<(usize, f64)> {
        let Searcher { targets, hearing, window, seen, windows } = self;
        *windows += 1;
        let mut best: Option<(usize, f64)> = None;
        skeleton::keys(window, |key| {
            for at in targets.with_key(key) {
                let at = usize::from(*at);
                if std::mem::replace(&mut seen[at], *windows) == *windows {
                    continue;
                }
                let target = &targets.outlines[at];
                let (first, last) = target.ends;
                let said = f64::from(opening[usize::from(first)] + onward[usize::from(last)]);
                let boundaries = f64::from((length as u16).abs_diff(target.words));
                let longer = f64::from(target.sounds.min(12)) - 6.0;
                let without_sound =
                    said + f64::from(target.inner) - spent - boundaries * hearing.per_boundary
                        + longer * hearing.per_length;
                let least = best.map_or(hearing.least, |(_, odds)| odds.max(hearing.least));
                if without_sound < least {
                    continue;
                }
                let reach = hearing.reach * f64::from(target.sounds);
                let allowed = ((without_sound - least) / hearing.per_sound).min(reach);
                let limit = (allowed * 100.0) as Cost;
                let sounds = &targets.all[at].sounds;
                if let Some(cost) = sound_distance::within(window, sounds, limit) {
                    let odds = without_sound - hearing.per_sound * f64::from(cost) / 100.0;
                    if odds >= least {
                        best = Some((at, odds));
                    }
                }
            }
        });
        best
    }
}

/// Stated odds are bolder than they turn out to be: the words of a phrase are misheard together,
/// not one by one. Fitted by logistic regression on real recogniser output, the same for names
/// and for terms.
const SLOPE: f64 = 0.54;
const OFFSET: f64 = 0.15;

/// The chance, 0 to 1, that goes with odds given in nats.
pub(crate) fn chance(odds: f64) -> f64 {
    1.0 / (1.0 + (-(OFFSET + SLOPE * odds)).exp())
}

/// Matches that do not overlap, by start: the likeliest first, then what still fits beside it.
pub(crate) fn choose(mut matches: Vec<Match>) -> Vec<Match> {
    matches.sort_by(|a, b| b.odds.total_cmp(&a.odds).then(a.start.cmp(&b.start)));
    let mut chosen: Vec<Match> = Vec::new();
    for found in matches {
        let apart = |other: &Match| {
            found.start + found.length <= other.start || other.start + other.length <= found.start
        };
        if chosen.iter().all(apart) {
            chosen.push(found);
        }
    }
    chosen.sort_by_key(|found| found.start);
    chosen
}
