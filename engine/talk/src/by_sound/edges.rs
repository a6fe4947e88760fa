//! The first and last words of all targets, and their chances beside a heard word, all at once.

use crate::word_model::{self, Spoken};

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

    fn place(&self, record: u16) -> Option<usize> {
        let place = self.of_record.get(usize::from(record)).copied().filter(|p| *p != NONE);
        place.map(usize::from)
    }

    /// Writes the logarithm of the chance of each edge word after `before` into `chances`.
    pub(super) fn after(&self, before: Option<Spoken>, chances: &mut Vec<f32>) {
        let id = before.and_then(Spoken::id);
        let left = id.map_or(0.0, word_model::ln_left);
        chances.clear();
        chances.extend(self.ln_alone.iter().map(|alone| left + alone));
        for pair in id.into_iter().flat_map(word_model::followers) {
            if let Some(place) = self.place(pair.other) {
                chances[place] = pair.chance;
            }
        }
    }

    /// Writes the logarithm of the chance that `next` follows each edge word, at least `least`,
    /// into `chances`; zero where nothing follows.
    pub(super) fn before(&self, next: Option<Spoken>, least: f64, chances: &mut Vec<f32>) {
        chances.clear();
        let Some(next) = next else {
            chances.resize(self.ln_alone.len(), 0.0);
            return;
        };
        let (least, alone) = (least as f32, next.ln_alone());
        chances.extend(self.ln_left.iter().map(|left| (left + alone).max(least)));
        for pair in next.id().into_iter().flat_map(word_model::leaders) {
            if let Some(place) = self.place(pair.other) {
                chances[place] = pair.chance.max(least);
            }
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
        let (mut after, mut before) = (Vec::new(), Vec::new());
        for beside in ["half", "the", "of", "nobodysaysthis"] {
            let beside = Spoken::new(beside);
            edges.after(Some(beside), &mut after);
            edges.before(Some(beside), -30.0, &mut before);
            for (at, word) in places.into_iter().zip(words) {
                let word = Spoken::new(word);
                assert!((f64::from(after[at]) - word.after(Some(beside))).abs() < 1e-4);
                assert!((f64::from(before[at]) - beside.after(Some(word))).abs() < 1e-4);
            }
        }
    }
}
