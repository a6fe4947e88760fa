//! What every reader hands on: cues whose words may still lack their times.

use academy::{Span, Time};

/// A word as the file has it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct DraftWord {
    pub(super) text: String,
    /// When it starts, where the file says so; never before the word before it.
    pub(super) start: Option<Time>,
    /// When it ends, where the file says so.
    pub(super) end: Option<Time>,
}

impl DraftWord {
    pub(super) fn untimed(text: &str) -> Self {
        DraftWord { text: text.to_owned(), start: None, end: None }
    }
}

/// A cue as the file has it.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub(super) struct DraftCue {
    pub(super) span: Span,
    pub(super) words: Vec<DraftWord>,
    /// From which word on which voice speaks; before the first, nobody is named.
    pub(super) voices: Vec<(usize, Option<String>)>,
    /// Index of the first word of every line on the screen, for finding repeated lines.
    pub(super) lines: Vec<usize>,
}

impl DraftCue {
    /// A cue of one line without word times or voice.
    pub(super) fn plain(span: Span, text: &str) -> Self {
        let words = text.split_whitespace().map(DraftWord::untimed).collect();
        DraftCue { span, words, ..DraftCue::default() }
    }

    /// Takes the first `count` words away.
    pub(super) fn drop_first(&mut self, count: usize) {
        self.words.drain(..count);
        let speaking = self.voices.iter().rev().find(|(from, _)| *from <= count).cloned();
        self.voices.retain(|(from, _)| *from > count);
        self.voices.splice(0..0, speaking.map(|(_, voice)| (count, voice)));
        for (from, _) in &mut self.voices {
            *from -= count;
        }
        self.lines.retain(|first| *first >= count);
        for first in &mut self.lines {
            *first -= count;
        }
    }
}
