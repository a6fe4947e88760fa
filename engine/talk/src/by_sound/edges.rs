//! The first and last words of all targets, and their chances beside a heard word, all at once.

use std::collections::HashMap;

use crate::word_model::{self, Spoken};

/// Distinct words at the edges of targets.
#[derive(Clone, Debug, Default)]
pub(super) struct Edges {
    words: Vec<Spoken>,
    ln_alone: Vec<f32>,
    /// The logarithm of the share each leaves to words never counted after it.
    ln_left: Vec<f32>,
    of_record: HashMap<u16, u16>,
}

impl Edges {
    /// The place of a word among the edges, which it joins if it is new.
    ///
    /// A word without a record of its own is told by its chance alone, which is all that matters.
    pub(super) fn add(&mut self, word: Spoken) -> u16 {
        if let Some(known) = word.id().and_then(|id| self.of_record.get(&id)) {
            return *known;
        }
        let place = self.words.len() as u16;
        if let Some(id) = word.id() {
            self.of_record.insert(id, place);
        }
        self.words.push(word);
        self.ln_alone.push(word.ln_alone() as f32);
        self.ln_left.push(word.id().map_or(0.0, |id| word_model::ln_left(id) as f32));
        place
    }

    /// Writes the logarithm of the chance of each edge word after `before` into `chances`.
    pub(super) fn after(&self, before: Option<Spoken>, chances: &mut Vec<f32>) {
        let id = before.and_then(Spoken::id);
        let left = id.map_or(0.0, |id| word_model::ln_left(id) as f32);
        chances.clear();
        chances.extend(self.ln_alone.iter().map(|alone| left + alone));
        let Some(id) = id else { return };
        for (follower, together) in word_model::followers(id) {
            if let Some(place) = self.of_record.get(&follower) {
                let word = self.words[usize::from(*place)];
                chances[usize::from(*place)] = word.after_seen(id, together) as f32;
            }
        }
    }

    /// The logarithm of the chance that `next` follows each edge word, at least `least`; zero
    /// where nothing follows.
    pub(super) fn before(&self, next: Option<Spoken>, least: f64) -> Vec<f32> {
        let Some(next) = next else { return vec![0.0; self.words.len()] };
        let (least, alone) = (least as f32, next.ln_alone() as f32);
        let mut chances: Vec<f32> =
            self.ln_left.iter().map(|left| (left + alone).max(least)).collect();
        let Some(id) = next.id() else { return chances };
        for (leader, together) in word_model::leaders(id) {
            if let Some(place) = self.of_record.get(&leader) {
                let chance = next.after_seen(leader, together) as f32;
                chances[usize::from(*place)] = chance.max(least);
            }
        }
        chances
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn all_at_once_is_the_same_as_one_by_one() {
        let words = ["half", "guard", "berimbolo", "kimura", "side", "control", "unheardof"];
        let mut edges = Edges::default();
        for word in words {
            edges.add(Spoken::new(word));
        }
        let mut after = Vec::new();
        for beside in ["half", "the", "of", "nobodysaysthis"] {
            let beside = Spoken::new(beside);
            edges.after(Some(beside), &mut after);
            let before = edges.before(Some(beside), -30.0);
            for (at, word) in words.into_iter().enumerate() {
                let word = Spoken::new(word);
                assert!((f64::from(after[at]) - word.after(Some(beside))).abs() < 1e-4);
                assert!((f64::from(before[at]) - beside.after(Some(word))).abs() < 1e-4);
            }
        }
    }
}
