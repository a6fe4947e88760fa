//! What the search by sound looks for: every spoken form with its pronunciations, and the
//! inflections that are really said.

use std::collections::HashMap;

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
    known: HashMap<String, (Spoken, Vec<Vec<Phoneme>>)>,
}

impl Cache {
    fn get(&mut self, word: &str, lexicon: &Lexicon) -> &(Spoken, Vec<Vec<Phoneme>>) {
        self.known.entry(word.to_owned()).or_insert_with(|| {
            (Spoken::new(word).of_the_lexicon(), lexicon.all_pronunciations(word))
        })
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
        for (at, form) in self.forms.iter().enumerate() {
            let words: Vec<&str> = form.words.iter().map(|id| self.word(*id)).collect();
            self.push_targets(FormIndex(at), &words, &form.text, &mut cache, &mut targets);
            if !matches!(form.language, Language::English | Language::Own) {
                continue;
            }
            for surface in inflected(&words) {
                let words: Vec<&str> = surface.iter().map(String::as_str).collect();
                self.push_targets(
                    FormIndex(at),
                    &words,
                    &words.join(" "),
                    &mut cache,
                    &mut targets,
                );
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
            sounds = sounds
                .iter()
                .flat_map(|start| {
                    pronunciations.iter().map(move |more| [&start[..], more].concat())
                })
                .take(MOST_PRONUNCIATIONS)
                .collect();
        }
        let (Some(first), Some(last)) = (spoken.first(), spoken.last()) else { return };
        for sounds in sounds {
            targets.push(Target {
                what: form.0,
                text: text.to_owned(),
                first: *first,
                last: *last,
                inner,
                words: words.len(),
                sounds,
            });
        }
    }
}

/// The inflections of a form that occur in talk over rounds: of its first word ("took the back")
/// or of its last ("arm bars").
fn inflected(words: &[&str]) -> Vec<Vec<String>> {
    let mut surfaces = Vec::new();
    let last = words.len() - 1;
    for place in if last == 0 { vec![0] } else { vec![0, last] } {
        for surface in spelling::inflections(words[place]) {
            let spoken = Spoken::new(&surface);
            if spoken.count() == 0 {
                continue;
            }
            let neighbour = if place == 0 { words.get(1) } else { words.get(last - 1) };
            let said = neighbour.is_none_or(|neighbour| {
                let neighbour = Spoken::new(neighbour);
                let (a, b) = if place == 0 { (spoken, neighbour) } else { (neighbour, spoken) };
                b.count_after(a) > 0
            });
            if said {
                let mut changed: Vec<String> = words.iter().map(|w| (*w).to_owned()).collect();
                changed[place] = surface;
                surfaces.push(changed);
            }
        }
    }
    surfaces
}
