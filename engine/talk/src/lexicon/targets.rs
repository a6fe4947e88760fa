//! What the search by sound looks for: every spoken form with its pronunciations, and the
//! inflections that are really said.

use std::sync::Arc;

use rustc_hash::FxHashMap;

use super::{FormIndex, Language, Lexicon};
use crate::by_sound::{Target, Targets};
use crate::phoneme::Phoneme;
use crate::phonemes::{self, Spelling};
use crate::spelling;
use crate::word_model::Spoken;

/// At most this many pronunciations of one form, when its words have several each.
const MOST_PRONUNCIATIONS: usize = 4;

/// Words looked up once.
#[derive(Default)]
struct Cache {
    known: FxHashMap<String, (Spoken, Vec<Vec<Phoneme>>)>,
    /// The inflections of a word that were counted in talk over rounds.
    inflections: FxHashMap<String, Vec<(String, Spoken)>>,
}

impl Cache {
    fn get(&mut self, word: &str, lexicon: &Lexicon) -> &(Spoken, Vec<Vec<Phoneme>>) {
        if !self.known.contains_key(word) {
            let known = (Spoken::new(word).of_the_lexicon(), lexicon.all_pronunciations(word));
            self.known.insert(word.to_owned(), known);
        }
        &self.known[word]
    }

    fn inflections(&mut self, word: &str) -> &[(String, Spoken)] {
        if !self.inflections.contains_key(word) {
            let surfaces = spelling::inflections(word).into_iter();
            let counted = surfaces.filter_map(|s| Spoken::counted(&s).map(|spoken| (s, spoken)));
            self.inflections.insert(word.to_owned(), counted.collect());
        }
        &self.inflections[word]
    }

    /// The inflections of a form that occur in talk over rounds: which word is changed, the first
    /// ("took the back") or the last ("arm bars"), and into what.
    fn inflected(&mut self, words: &[&str]) -> Vec<(usize, String)> {
        let last = words.len() - 1;
        let mut surfaces = Vec::new();
        for place in if last == 0 { vec![0] } else { vec![0, last] } {
            let neighbour = if place == 0 { words.get(1) } else { words.get(last - 1) };
            let beside = neighbour.map(|neighbour| Spoken::counted(neighbour));
            for (surface, spoken) in self.inflections(words[place]) {
                let said = match beside {
                    None => true,
                    Some(None) => false,
                    Some(Some(beside)) if place == 0 => beside.follows(*spoken),
                    Some(Some(beside)) => spoken.follows(beside),
                };
                if said {
                    surfaces.push((place, surface.clone()));
                }
            }
        }
        surfaces
    }
}

impl Lexicon {
    /// The ways of saying a word: as the data gives it, else as the dictionary or the rules do.
    pub(crate) fn pronunciations(&self, word: &str) -> Vec<Vec<Phoneme>> {
        let given = self.given_sounds(word);
        if given.is_empty() { phonemes::pronounce(word) } else { given.to_vec() }
    }

    /// The same, and how somebody says it who knows the word only from reading: English speakers
    /// give the foreign words of the trade English sounds.
    fn all_pronunciations(&self, word: &str) -> Vec<Vec<Phoneme>> {
        let mut ways = self.pronunciations(word);
        if !self.given_sounds(word).is_empty() && word.bytes().all(|b| b.is_ascii_lowercase()) {
            let mut read = phonemes::by_rules(word, Spelling::English);
            phonemes::split_rhotic(&mut read);
            if !read.is_empty() && !ways.contains(&read) {
                ways.push(read);
            }
        }
        ways
    }

    /// Everything to look for by sound.
    pub(super) fn make_targets(&self) -> Targets {
        let mut cache = Cache::default();
        let mut targets = Vec::new();
        let said = self.forms.iter().enumerate().filter(|(_, form)| form.heard_for.is_none());
        for (at, form) in said {
            let words: Vec<&str> = form.words.iter().map(|id| self.word(*id)).collect();
            self.push_targets(FormIndex(at), &words, &form.text, &mut cache, &mut targets);
            if !matches!(form.language, Language::English | Language::Own) {
                continue;
            }
            for (place, surface) in cache.inflected(&words) {
                let mut words = words.clone();
                words[place] = &surface;
                let text = words.join(" ");
                self.push_targets(FormIndex(at), &words, &text, &mut cache, &mut targets);
            }
        }
        Targets::new(targets)
    }

    fn push_targets(
        &self,
        form: FormIndex,
        words: &[&str],
        text: &str,
        cache: &mut Cache,
        targets: &mut Vec<Target>,
    ) {
        let mut inner = 0.0;
        let mut spoken: Vec<Spoken> = Vec::with_capacity(words.len());
        let mut sounds: Vec<Vec<Phoneme>> = vec![Vec::new()];
        for word in words {
            let (next, pronunciations) = cache.get(word, self);
            if let Some(before) = spoken.last() {
                inner += next.after(Some(*before));
            }
            spoken.push(*next);
            if let [only] = &pronunciations[..] {
                sounds.iter_mut().for_each(|start| start.extend(only));
                continue;
            }
            sounds = sounds
                .iter()
                .flat_map(|start| {
                    pronunciations.iter().map(move |more| [&start[..], more].concat())
                })
                .take(MOST_PRONUNCIATIONS)
                .collect();
        }
        let text: Arc<str> = text.into();
        let (Some(first), Some(last)) = (spoken.first(), spoken.last()) else { return };
        for sounds in sounds {
            targets.push(Target {
                what: form.0,
                text: Arc::clone(&text),
                first: *first,
                last: *last,
                inner,
                words: words.len(),
                sounds,
            });
        }
    }
}
