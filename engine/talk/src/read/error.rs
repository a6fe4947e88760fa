//! What can be wrong with a file of talk, in words that say what to do.

use super::{Format, MAX_BYTES};
use academy::Time;
use thiserror::Error;

/// Why a file could not be read. Shown, it names the line (where there is one), the cause and the
/// way out; the caller puts the file's name in front.
#[derive(Clone, Debug, PartialEq, Eq, Error)]
#[non_exhaustive]
pub enum ReadError {
    /// Nothing but white space.
    #[error("the file is empty; export the captions again")]
    Empty,
    /// More than [`MAX_BYTES`].
    #[error(
        "the file has {bytes} bytes, more than the {MAX_BYTES} that are read; \
         a talk of three hours has about one million, so this is probably another file"
    )]
    TooLarge {
        /// Size of the file.
        bytes: usize,
    },
    /// Not a text file.
    #[error(
        "line {line}: the file is not text (it holds zero bytes); \
         give the captions of the recording, not the recording, and save text as UTF-8"
    )]
    Binary {
        /// Line of the first zero byte.
        line: usize,
    },
    /// Bytes that are not UTF-8.
    #[error("line {line}: the text is not UTF-8; open it in an editor and save it as UTF-8")]
    NotUtf8 {
        /// Line of the first wrong byte.
        line: usize,
    },
    /// A UTF-16 byte order mark, then something that is not UTF-16.
    #[error("line {line}: the text is damaged UTF-16; save it again, best as UTF-8")]
    NotUtf16 {
        /// Line of the first wrong unit.
        line: usize,
    },
    /// None of the kinds that are known.
    #[error(
        "line {line}: this is no kind of captions that is known; expected are WebVTT (begins with \
         WEBVTT), SubRip (1, then 00:00:01,000 --> 00:00:02,000), text with times at line starts \
         ([0:42] ...), or a speech recogniser's JSON with words or segments"
    )]
    UnknownFormat {
        /// First line that is not blank.
        line: usize,
    },
    /// A WebVTT file whose first line is not right.
    #[error(
        "line {line}: a WebVTT file must begin with WEBVTT in its very first line, followed by \
         nothing, a space or a tab; correct that line"
    )]
    Signature {
        /// Where WEBVTT was found.
        line: usize,
    },
    /// Text that belongs to no time.
    #[error("line {line}: there is text before the first time; delete it or put a time before it")]
    TextBeforeFirstTime {
        /// First such line.
        line: usize,
    },
    /// A line that should be a time and is not.
    #[error("line {line}: {found:?} is not a time; write it like {}", example(*.format))]
    BadTime {
        /// The line.
        line: usize,
        /// What stands there, shortened.
        found: String,
        /// The kind of file, which decides what a time looks like.
        format: Format,
    },
    /// A cue number that no time follows.
    #[error("line {line}: the cue number {number} is not followed by a line with its times")]
    MissingTime {
        /// The line of the number.
        line: usize,
        /// The number.
        number: u64,
    },
    /// Times of timed text that go back.
    #[error(
        "line {line}: the time {time} comes after {previous}, but times must not run backwards; \
         correct it, or if it was spoken join the line to the one before"
    )]
    RunsBackwards {
        /// The line.
        line: usize,
        /// Its time.
        time: Time,
        /// The time before it.
        previous: Time,
    },
    /// Broken JSON, or JSON of another shape.
    #[error("line {line}: {cause}; export the recogniser's result again")]
    Json {
        /// The line.
        line: usize,
        /// What is wrong.
        cause: String,
    },
}

fn example(format: Format) -> &'static str {
    match format {
        Format::WebVtt => "00:01.000 --> 00:02.000",
        Format::SubRip => "00:00:01,000 --> 00:00:02,000",
        Format::TimedText => "[0:42] or [1:02:03]",
        Format::RecogniserJson => "1.48, in seconds",
    }
}

impl ReadError {
    /// The line the error is about, from 1; `None` when it is about the whole file.
    #[must_use]
    pub fn line(&self) -> Option<usize> {
        match self {
            ReadError::Empty | ReadError::TooLarge { .. } => None,
            ReadError::Binary { line }
            | ReadError::NotUtf8 { line }
            | ReadError::NotUtf16 { line }
            | ReadError::UnknownFormat { line }
            | ReadError::Signature { line }
            | ReadError::TextBeforeFirstTime { line }
            | ReadError::BadTime { line, .. }
            | ReadError::MissingTime { line, .. }
            | ReadError::RunsBackwards { line, .. }
            | ReadError::Json { line, .. } => Some(*line),
        }
    }

    /// A line that should be a time; `found` is shortened to 40 characters.
    pub(super) fn bad_time(line: usize, found: &str, format: Format) -> Self {
        ReadError::BadTime { line, found: found.trim().chars().take(40).collect(), format }
    }
}

/// Something odd that did not keep the file from being read.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Error)]
#[error("line {line}: {cause}")]
pub struct ReadWarning {
    /// The line, from 1.
    pub line: usize,
    /// What is odd and what was done.
    pub cause: WarningCause,
}

/// What was odd, and what was done about it.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Error)]
#[non_exhaustive]
pub enum WarningCause {
    /// WebVTT: the timing line cannot be read, so the standard drops this one cue.
    #[error("the cue's times cannot be read, so the cue is left out")]
    CueLeftOut,
    /// WebVTT: a block that is neither cue nor comment, which the standard ignores.
    #[error("this text belongs to no cue and is left out")]
    StrayText,
    /// The cue ends before it starts, or at once; its words are kept, from its start on.
    #[error("the cue does not end after its start; its words are placed from its start on")]
    EndsBeforeStart,
    /// The cue starts earlier than the one before it in the file; cues are sorted by start.
    #[error("the cue starts before the one above it; cues are put in order of time")]
    OutOfOrder,
    /// A word's time is outside its cue or before the word before it; it is not used.
    #[error("a word's time is outside its cue or runs backwards, and is not used")]
    WordTime,
    /// The file is well-formed, but nobody says anything in it.
    #[error("nothing is said in this file")]
    NothingSaid,
}
