//! Reading talk: the bytes of a captions file, of whatever kind, to a [`Talk`].
//!
//! | the file | the answer |
//! |---|---|
//! | of a known kind | [`Reading`]: the whole talk, in order of time, every word with a time |
//! | empty or only white space | [`ReadError::Empty`] |
//! | larger than [`MAX_BYTES`] | [`ReadError::TooLarge`], before anything is read |
//! | binary, or not UTF-8 | [`ReadError::Binary`], [`ReadError::NotUtf8`] |
//! | UTF-16 with a byte order mark | read |
//! | one cue of WebVTT with bad times | the standard drops that cue; a warning says so |
//! | anything else that is malformed | an error with its line; nothing is half read |
//! | times that run backwards | captions and JSON: put in order, with a warning; timed text: an error, because there the order is all that tells where a block ends |
//! | cues that overlap | kept as they are |
//! | cues that end before they start | words are kept, placed from the start on, with a warning |
//! | valid, but nobody speaks | an empty talk, with a warning |
//!
//! Readers take time and memory linear in the size of the file.

mod cue_text;
mod draft;
mod error;
mod lines;
mod recogniser_json;
mod rolling;
pub(crate) mod spread;
pub(crate) mod subrip;
mod timed_text;
mod webvtt;

use crate::Talk;
use academy::Time;
pub use error::{ReadError, ReadWarning, WarningCause};
use lines::{LineCounter, Lines};
use std::borrow::Cow;
use std::fmt;

/// The largest file that is read, in bytes: 16 MiB. Three hours of talk with word times are about
/// 1 MB as WebVTT and 3 to 5 MB as JSON.
pub const MAX_BYTES: usize = 16 * 1024 * 1024;

/// The kinds of files that can be read.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Format {
    /// WebVTT, with inline word times or without.
    WebVtt,
    /// SubRip.
    SubRip,
    /// Plain text with times at line starts.
    TimedText,
    /// A speech recogniser's JSON, with words or segments.
    RecogniserJson,
}

impl fmt::Display for Format {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Format::WebVtt => "WebVTT",
            Format::SubRip => "SubRip",
            Format::TimedText => "timed text",
            Format::RecogniserJson => "recogniser's JSON",
        })
    }
}

/// What a caller may know about a file. The default knows nothing.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct ReadOptions {
    /// The kind of file; if unknown, it is found from the content.
    pub format: Option<Format>,
    /// The length of the round; ends the last block of timed text, which tells no end itself.
    pub length: Option<Time>,
}

/// A file that was read.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Reading {
    /// The talk.
    pub talk: Talk,
    /// What kind of file it was.
    pub format: Format,
    /// What was odd, by line.
    pub warnings: Vec<ReadWarning>,
}

/// Reads a file of talk whose kind is found from its content.
///
/// # Errors
///
/// See the table at the top of this module; each error says what to do.
pub fn read(bytes: &[u8]) -> Result<Reading, ReadError> {
    read_with(bytes, ReadOptions::default())
}

/// Reads a file of talk with what is known about it.
///
/// # Errors
///
/// As [`read()`]. With a format given, the file must be of that kind.
pub fn read_with(bytes: &[u8], options: ReadOptions) -> Result<Reading, ReadError> {
    if bytes.len() > MAX_BYTES {
        return Err(ReadError::TooLarge { bytes: bytes.len() });
    }
    let text = decode(bytes)?;
    let text = text.strip_prefix('\u{FEFF}').unwrap_or(&text);
    let first = Lines::new(text).find(|line| !line.text.trim().is_empty());
    let first = first.ok_or(ReadError::Empty)?;
    let format = options.format.or_else(|| detect(text));
    // WebVTT alone says what a zero byte means.
    if format != Some(Format::WebVtt)
        && let Some(place) = text.find('\0')
    {
        return Err(ReadError::Binary { line: LineCounter::new(text.as_bytes()).line_of(place) });
    }
    let format = format.ok_or(ReadError::UnknownFormat { line: first.number })?;
    let mut warnings = Vec::new();
    let drafts = match format {
        Format::WebVtt => webvtt::read(text, &mut warnings),
        Format::SubRip => subrip::read(text, &mut warnings),
        Format::TimedText => timed_text::read(text, options.length),
        Format::RecogniserJson => recogniser_json::read(text, &mut warnings),
    }?;
    let talk = spread::finish(drafts, matches!(format, Format::WebVtt | Format::SubRip));
    if talk.cues().is_empty() {
        warnings.push(ReadWarning { line: 1, cause: WarningCause::NothingSaid });
    }
    Ok(Reading { talk, format, warnings })
}

/// The kind of a text, from its first lines that tell.
fn detect(text: &str) -> Option<Format> {
    let start = text.trim_start();
    if start.starts_with("WEBVTT") {
        return Some(Format::WebVtt);
    }
    let inside = start.strip_prefix(['{', '[']).map(str::trim_start);
    if inside.is_some_and(|rest| rest.is_empty() || rest.starts_with(['{', '}', '"', ']'])) {
        return Some(Format::RecogniserJson);
    }
    Lines::new(text).find_map(|line| {
        if subrip::is_timing_like(line.text) {
            Some(Format::SubRip)
        } else {
            timed_text::is_mark_like(line).then_some(Format::TimedText)
        }
    })
}

/// The text of the bytes: UTF-8, or UTF-16 where a byte order mark says so.
fn decode(bytes: &[u8]) -> Result<Cow<'_, str>, ReadError> {
    let units: fn([u8; 2]) -> u16 = match bytes {
        [0xFF, 0xFE, ..] => u16::from_le_bytes,
        [0xFE, 0xFF, ..] => u16::from_be_bytes,
        _ => {
            return match std::str::from_utf8(bytes) {
                Ok(text) => Ok(Cow::Borrowed(text)),
                Err(error) => {
                    let zero = bytes.iter().take(8192).position(|b| *b == 0);
                    let place = zero.unwrap_or(error.valid_up_to());
                    let line = LineCounter::new(bytes).line_of(place);
                    Err(match zero {
                        Some(_) => ReadError::Binary { line },
                        None => ReadError::NotUtf8 { line },
                    })
                }
            };
        }
    };
    let pairs = bytes.chunks_exact(2);
    let odd = !pairs.remainder().is_empty();
    let mut text = String::with_capacity(bytes.len());
    for unit in char::decode_utf16(pairs.map(|pair| units([pair[0], pair[1]]))) {
        text.push(unit.map_err(|_| damaged(&text))?);
    }
    if odd { Err(damaged(&text)) } else { Ok(Cow::Owned(text)) }
}

/// The error of UTF-16 that goes wrong after `text`.
fn damaged(text: &str) -> ReadError {
    let line = LineCounter::new(text.as_bytes()).line_of(text.len());
    ReadError::NotUtf16 { line }
}
