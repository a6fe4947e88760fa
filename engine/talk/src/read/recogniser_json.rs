//! JSON as general speech recognisers write it.
//!
//! Read are, at the top, an object with `segments` (each with `words`, or only `text`, `start`
//! and `end`), with flat `words` or `result`, or with `transcription` (`text` and `offsets` in
//! milliseconds); or a bare array of segments or words. A word is `word` (or `text`, or
//! `punctuated_word`, which wins) with `start` and `end` in seconds, as numbers or as texts like
//! "1.4s"; a word without times gets them from its neighbours. `speaker` names the voice. Other
//! fields are ignored.

use super::draft::{DraftCue, DraftWord};
use super::error::{ReadError, ReadWarning, WarningCause};
use super::lines::{LATEST, LineCounter};
use super::spread::implied_end;
use academy::{Span, Time};
use serde::de::{self, Deserialize, Deserializer};
use serde_json::value::RawValue;
use std::fmt;

/// Flat words begin a new cue after a pause of this many milliseconds ...
const PAUSE: u64 = 700;
/// ... or after this many words.
const WORDS_IN_CUE: usize = 16;

#[derive(serde::Deserialize)]
struct File<'a> {
    #[serde(borrow)]
    segments: Option<Vec<&'a RawValue>>,
    #[serde(borrow)]
    transcription: Option<Vec<&'a RawValue>>,
    #[serde(borrow, alias = "result")]
    words: Option<Vec<&'a RawValue>>,
}

/// A segment or a word: they differ only in what is there.
#[derive(serde::Deserialize)]
struct Entry<'a> {
    #[serde(default, alias = "start_time", alias = "startTime")]
    start: Option<Seconds>,
    #[serde(default, alias = "end_time", alias = "endTime")]
    end: Option<Seconds>,
    offsets: Option<Offsets>,
    text: Option<String>,
    word: Option<String>,
    punctuated_word: Option<String>,
    speaker: Option<Speaker>,
    #[serde(borrow)]
    words: Option<Vec<&'a RawValue>>,
}

#[derive(serde::Deserialize)]
struct Offsets {
    from: u64,
    to: u64,
}

/// A speaker's name or number.
#[derive(serde::Deserialize)]
#[serde(untagged)]
enum Speaker {
    Name(String),
    Number(u64),
}

/// A moment in seconds, as a number or a text.
struct Seconds(Time);

impl<'de> Deserialize<'de> for Seconds {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        struct Visitor;
        impl de::Visitor<'_> for Visitor {
            type Value = Seconds;
            fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                f.write_str("a time in seconds, not negative and below 3.6 thousand million")
            }
            fn visit_f64<E: de::Error>(self, value: f64) -> Result<Seconds, E> {
                let time = Time::from_seconds(value);
                if value >= 0.0 && time <= LATEST {
                    Ok(Seconds(time))
                } else {
                    Err(E::invalid_value(de::Unexpected::Float(value), &self))
                }
            }
            fn visit_u64<E: de::Error>(self, value: u64) -> Result<Seconds, E> {
                self.visit_f64(value as f64)
            }
            fn visit_i64<E: de::Error>(self, value: i64) -> Result<Seconds, E> {
                self.visit_f64(value as f64)
            }
            fn visit_str<E: de::Error>(self, text: &str) -> Result<Seconds, E> {
                let number = text.trim().trim_end_matches('s').parse::<f64>();
                match number {
                    Ok(number) => self.visit_f64(number),
                    Err(_) => Err(E::invalid_value(de::Unexpected::Str(text), &self)),
                }
            }
        }
        deserializer.deserialize_any(Visitor)
    }
}

/// Reads a file whose byte order mark is taken off.
pub(super) fn read(
    text: &str,
    warnings: &mut Vec<ReadWarning>,
) -> Result<Vec<DraftCue>, ReadError> {
    let wrong = |error: serde_json::Error| json_error(1, &error);
    let mut reader = Reader { text, lines: LineCounter::new(text.as_bytes()), warnings };
    if text.trim_start().starts_with('[') {
        let entries: Vec<&RawValue> = serde_json::from_str(text).map_err(wrong)?;
        let segments = match entries.first() {
            None => true,
            Some(first) => {
                let line = LineCounter::new(text.as_bytes()).line_of(offset(text, first));
                let first: Entry<'_> = entry(first, line)?;
                first.words.is_some() || (first.text.is_some() && first.word.is_none())
            }
        };
        return if segments { reader.segments(&entries) } else { reader.flat_words(&entries) };
    }
    let file: File<'_> = serde_json::from_str(text).map_err(wrong)?;
    match (file.segments.or(file.transcription), file.words) {
        (None, None) => Err(ReadError::Json {
            line: 1,
            cause: "the JSON has neither \"segments\" nor \"words\"".to_owned(),
        }),
        (None, Some(words)) => reader.flat_words(&words),
        // Both: the flat list is the finer one when the segments have no words of their own.
        (Some(segments), Some(words)) if !words.is_empty() => {
            let bare = segments.first().is_none_or(|first| !first.get().contains("\"words\""));
            if bare { reader.flat_words(&words) } else { reader.segments(&segments) }
        }
        (Some(segments), _) => reader.segments(&segments),
    }
}

/// Where a part of the text begins; the part is borrowed from the text.
fn offset(text: &str, part: &RawValue) -> usize {
    part.get().as_ptr() as usize - text.as_ptr() as usize
}

fn entry<'a>(raw: &'a RawValue, line: usize) -> Result<Entry<'a>, ReadError> {
    serde_json::from_str(raw.get()).map_err(|error| json_error(line, &error))
}

/// An error in a part that begins on `line`.
fn json_error(line: usize, error: &serde_json::Error) -> ReadError {
    let text = error.to_string();
    let cause = text.split(" at line ").next().unwrap_or(&text).to_owned();
    ReadError::Json { line: line + error.line().saturating_sub(1), cause }
}

struct Reader<'a, 'w> {
    text: &'a str,
    lines: LineCounter<'a>,
    warnings: &'w mut Vec<ReadWarning>,
}

impl<'a> Reader<'a, '_> {
    fn line_of(&mut self, part: &RawValue) -> usize {
        self.lines.line_of(offset(self.text, part))
    }

    fn segments(&mut self, segments: &[&'a RawValue]) -> Result<Vec<DraftCue>, ReadError> {
        let mut cues: Vec<DraftCue> = Vec::with_capacity(segments.len());
        for raw in segments {
            let line = self.line_of(raw);
            let segment = entry(raw, line)?;
            let words = match &segment.words {
                Some(words) if !words.is_empty() => self.words(words)?,
                _ => {
                    let text = segment.text.as_deref().or(segment.word.as_deref()).unwrap_or("");
                    text.split_whitespace().map(DraftWord::untimed).collect()
                }
            };
            if words.is_empty() {
                continue;
            }
            let first_start = words.iter().find_map(|word| word.start);
            let last_end = words.iter().filter_map(|word| word.end.or(word.start)).max();
            let (from, to) = match (segment.start, segment.end, segment.offsets) {
                (Some(start), end, _) => (Some(start.0), end.map(|end| end.0)),
                (None, end, None) => (None, end.map(|end| end.0)),
                (None, _, Some(offsets)) => {
                    let time = |millis| Some(Time::from_millis(millis).min(LATEST));
                    (time(offsets.from), time(offsets.to))
                }
            };
            let missing =
                |cause: &str| ReadError::Json { line, cause: format!("a segment has no {cause}") };
            let start = from.or(first_start).ok_or_else(|| missing("\"start\""))?;
            let end = to.or(last_end).ok_or_else(|| missing("\"end\""))?;
            if end < start {
                self.warn(line, WarningCause::EndsBeforeStart);
            }
            if start < cues.last().map_or(Time::ZERO, |cue| cue.span.start()) {
                self.warn(line, WarningCause::OutOfOrder);
            }
            let voice = segment.speaker.map(|speaker| match speaker {
                Speaker::Name(name) => name.split_whitespace().collect::<Vec<_>>().join(" "),
                Speaker::Number(number) => number.to_string(),
            });
            let voices = voice.filter(|voice| !voice.is_empty()).map(|voice| (0, Some(voice)));
            // Words may lie a little outside their segment; a cue holds its words.
            let start = first_start.map_or(start, |first| first.min(start));
            let end = end.max(start).max(last_end.unwrap_or(start));
            cues.push(DraftCue {
                span: Span::between(start, end),
                words,
                voices: voices.into_iter().collect(),
                lines: Vec::new(),
            });
        }
        Ok(cues)
    }

    fn words(&mut self, raws: &[&'a RawValue]) -> Result<Vec<DraftWord>, ReadError> {
        let mut words: Vec<DraftWord> = Vec::with_capacity(raws.len());
        let mut latest = Time::ZERO;
        // Where words carry the space before them, one without it goes on the word before.
        let mut spaced = false;
        for raw in raws {
            let line = self.line_of(raw);
            let entry = entry(raw, line)?;
            let missing = || ReadError::Json { line, cause: "a word has no \"word\"".to_owned() };
            let text = entry.punctuated_word.or(entry.word).or(entry.text).ok_or_else(missing)?;
            let (mut start, mut end) = (entry.start.map(|s| s.0), entry.end.map(|e| e.0));
            if start.is_some_and(|start| start < latest || end.is_some_and(|end| end < start)) {
                self.warn(line, WarningCause::WordTime);
                start = None;
            }
            if start.is_none() {
                end = None;
            }
            latest = start.unwrap_or(latest);
            let leading_space = text.starts_with(char::is_whitespace);
            let mut parts = text.split_whitespace();
            if spaced && !leading_space {
                if let (Some(last), Some(part)) = (words.last_mut(), parts.next()) {
                    last.text.push_str(part);
                    last.end = end.or(last.end).filter(|_| last.start.is_some());
                }
                words.extend(parts.map(DraftWord::untimed));
                continue;
            }
            spaced |= leading_space;
            let before = words.len();
            words.extend(parts.map(DraftWord::untimed));
            if let Some(first) = words.get_mut(before) {
                first.start = start;
            }
            // An end is only told of a word that is timed itself.
            if words.len() == before + 1
                && let Some(last) = words.last_mut()
            {
                last.end = end;
            }
        }
        Ok(words)
    }

    /// Cuts a flat list of words into cues at pauses.
    fn flat_words(&mut self, raws: &[&'a RawValue]) -> Result<Vec<DraftCue>, ReadError> {
        let words = self.words(raws)?;
        if let (Some(raw), None) = (raws.first(), words.iter().find_map(|word| word.start)) {
            let line = LineCounter::new(self.text.as_bytes()).line_of(offset(self.text, raw));
            return Err(ReadError::Json { line, cause: "no word has a \"start\"".to_owned() });
        }
        let mut cues: Vec<DraftCue> = Vec::new();
        let mut free_from = Time::ZERO;
        // Where a word ends is told or guessed, but not past the start of the next.
        let bounds: Vec<Time> = (words.iter().skip(1).map(|word| word.start.unwrap_or(LATEST)))
            .chain([LATEST])
            .collect();
        for (word, bound) in words.into_iter().zip(bounds) {
            let pause = word.start.is_some_and(|start| start >= free_from.later(PAUSE));
            let full = |cue: &DraftCue| cue.words.len() >= WORDS_IN_CUE && word.start.is_some();
            let start = word.start.unwrap_or(free_from);
            let end = word.end.map_or_else(
                || implied_end(&word.text, start, bound),
                |end| end.min(bound).max(start),
            );
            free_from = free_from.max(end);
            match cues.last_mut() {
                Some(cue) if !pause && !full(cue) => {
                    cue.span = Span::between(cue.span.start(), cue.span.end().max(end));
                    cue.words.push(word);
                }
                _ => {
                    let (span, words) = (Span::between(start, end.max(start)), vec![word]);
                    cues.push(DraftCue { span, words, ..DraftCue::default() });
                }
            }
        }
        Ok(cues)
    }

    fn warn(&mut self, line: usize, cause: WarningCause) {
        self.warnings.push(ReadWarning { line, cause });
    }
}
