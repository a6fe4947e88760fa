//! The first and last words of all targets, and their chances beside a heard word, all at once.

use rustc_hash::FxHashMap;

use crate::word_model::{self, Pair, Spoken};

/// No edge word has this record.
const NONE: u16 = u16::MAX;

/// Distinct words at the edges of targets.
#[derive(Clone, Debug, Default)]
pub(super) struct Edges {
    ln_alone: Vec<f32>,
    /// The logarithm of the share each leaves to words never counted after it.
    ln_left: Vec<f32>,
    /// The place of the edge word with each record.
    of_record: Vec<u16>,
}

impl Edges {
    /// The place of a word among the edges, which it joins if it is new.
    ///
    /// A word without a record of its own is told by its chance alone, which is all that matters.
    pub(super) fn add(&mut self, word: Spoken) -> u16 {
        if self.of_record.is_empty() {
            self.of_record = vec![NONE; word_model::records()];
        }
        let slot = word.id().and_then(|id| self.of_record.get_mut(usize::from(id)));
        let place = self.ln_alone.len() as u16;
        if let Some(slot) = slot {
            if *slot != NONE {
                return *slot;
            }
            *slot = place;
        } else if let Some(known) = self.ln_alone.iter().zip(&self.ln_left).position(|(a, left)| {
            // Words nobody counted differ in nothing but their chance.
            *left == 0.0 && *a == word.ln_alone()
        }) {
            return known as u16;
        }
        self.ln_alone.push(word.ln_alone());
        self.ln_left.push(word.id().map_or(0.0, word_model::ln_left));
        place
    }

    /// The pairs of a word whose other word is an edge word.
    fn among(&self, pairs: impl Iterator<Item = Pair>) -> Vec<OfEdge> {
        let edge = |pair: Pair| {
            let place = self.of_record.get(usize::from(pair.other)).copied();
            place.filter(|place| *place != NONE).map(|place| (place, pair.chance))
        };
        pairs.filter_map(edge).collect()
    }
}

/// A number for one edge word.
type OfEdge = (u16, f32);

/// The chances of all edge words beside one word after another. The same words come again and
/// again in a talk: which pairs they form with edge words is looked up once.
pub(super) struct Beside<'a> {
    edges: &'a Edges,
    followers: FxHashMap<u16, Vec<OfEdge>>,
    leaders: FxHashMap<u16, Vec<OfEdge>>,
}

impl<'a> Beside<'a> {
    pub(super) fn new(edges: &'a Edges) -> Self {
        Beside { edges, followers: FxHashMap::default(), leaders: FxHashMap::default() }
    }

    /// Writes the logarithm of the chance of each edge word after `before` into `chances`.
    pub(super) fn after(&mut self, before: Option<Spoken>, chances: &mut Vec<f32>) {
        let edges = self.edges;
        let id = before.and_then(Spoken::id);
        let left = id.map_or(0.0, word_model::ln_left);
        chances.clear();
        chances.extend(edges.ln_alone.iter().map(|alone| left + alone));
        let Some(id) = id else { return };
        let known = self.followers.entry(id);
        for (place, chance) in known.or_insert_with(|| edges.among(word_model::followers(id))) {
            chances[usize::from(*place)] = *chance;
        }
    }

    /// Writes the logarithm of the chance that `next` follows each edge word, at least `least`,
    /// into `chances`; zero where nothing follows.
    pub(super) fn before(&mut self, next: Option<Spoken>, least: f64, chances: &mut Vec<f32>) {
        let edges = self.edges;
        chances.clear();
        let Some(next) = next else {
            chances.resize(edges.ln_alone.len(), 0.0);
            return;
        };
        let (least, alone) = (least as f32, next.ln_alone());
        chances.extend(edges.ln_left.iter().map(|left| (left + alone).max(least)));
        let Some(id) = next.id() else { return };
        let known = self.leaders.entry(id);
        for (place, chance) in known.or_insert_with(|| edges.among(word_model::leaders(id))) {
            chances[usize::from(*place)] = chance.max(least);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn all_at_once_is_the_same_as_one_by_one() {
        let words = ["half", "guard", "berimbolo", "kimura", "side", "control", "unheardof"];
        let mut edges = Edges::default();
        let places = words.map(|word| usize::from(edges.add(Spoken::new(word))));
        let mut all = Beside::new(&edges);
        let (mut after, mut before) = (Vec::new(), Vec::new());
        for beside in ["half", "the", "of", "nobodysaysthis", "half", "the"] {
            let beside = Spoken::new(beside);
            all.after(Some(beside), &mut after);
            all.before(Some(beside), -30.0, &mut before);
            for (at, word) in places.into_iter().zip(words) {
                let word = Spoken::new(word);
                assert!((f64::from(after[at]) - word.after(Some(beside))).abs() < 1e-4);
                assert!((f64::from(before[at]) - beside.after(Some(word))).abs() < 1e-4);
            }
        }
    }
}
