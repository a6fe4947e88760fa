//! The timed text that everything else starts from.

use academy::{Span, Time};

/// One spoken word and when it was said.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Word {
    /// The word as the file gives it, without white space, with its punctuation.
    pub text: String,
    /// When it was said.
    pub span: Span,
    /// Whether the file gave the word's own time; otherwise it was spread within its cue.
    pub timed: bool,
}

/// A stretch of talk as the file gives it: a caption, a line, a block.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Cue {
    /// When it is shown.
    pub span: Span,
    /// Who speaks, where the file says so.
    pub voice: Option<String>,
    /// What is said; never empty.
    pub words: Vec<Word>,
}

/// The timed text of what the coach said: cues sorted by start, words sorted within each cue.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Talk {
    cues: Vec<Cue>,
}

impl Talk {
    /// A talk from cues in any order; cues without words are left out.
    #[must_use]
    pub fn new(mut cues: Vec<Cue>) -> Self {
        cues.retain(|cue| !cue.words.is_empty());
        cues.sort_by_key(|cue| cue.span.start());
        for cue in &mut cues {
            cue.words.sort_by_key(|word| word.span.start());
        }
        Talk { cues }
    }

    /// The cues, by start.
    #[must_use]
    pub fn cues(&self) -> &[Cue] {
        &self.cues
    }

    /// Every word of every cue, in order.
    pub fn words(&self) -> impl Iterator<Item = &Word> {
        self.cues.iter().flat_map(|cue| &cue.words)
    }

    /// The end of the last cue; zero when nothing was said.
    #[must_use]
    pub fn end(&self) -> Time {
        self.cues.iter().map(|cue| cue.span.end()).max().unwrap_or(Time::ZERO)
    }
}
