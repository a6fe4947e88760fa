//! Writing talk: a [`Talk`] as a captions file.
//!
//! What is written reads back as the same cue times and words. WebVTT keeps the times of timed
//! words and the voices too; the other two kinds have no place for them.

use crate::read::spread::implied_end;
use crate::read::subrip::is_timing_like;
use crate::{Cue, Talk, Word};
use academy::Time;
use std::fmt::Write;

/// The kinds of files that can be written.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum WriteFormat {
    /// WebVTT, with inline times of the words that have their own.
    WebVtt,
    /// SubRip.
    SubRip,
    /// Plain text in blocks: `[0:42] ...`, with the end (`[0:42 - 0:50]`) where the next block does
    /// not begin at it, and a fraction where the time is not a whole second.
    TimedText,
}

/// The talk as the text of a file. A talk without cues is an empty file, except in WebVTT.
#[must_use]
pub fn write(talk: &Talk, format: WriteFormat) -> String {
    match format {
        WriteFormat::WebVtt => webvtt(talk),
        WriteFormat::SubRip => subrip(talk),
        WriteFormat::TimedText => timed_text(talk),
    }
}

/// Appends formatted text; writing to a `String` cannot fail.
macro_rules! put {
    ($out:expr, $($text:tt)*) => {{
        let _ = write!($out, $($text)*);
    }};
}

fn webvtt(talk: &Talk) -> String {
    let mut out = String::from("WEBVTT\n");
    for cue in talk.cues() {
        put!(out, "\n{} --> {}\n", clock(cue.span.start(), '.'), clock(cue.span.end(), '.'));
        if let Some(voice) = &cue.voice {
            let voice = voice.split_whitespace().collect::<Vec<_>>().join(" ");
            put!(out, "<v {}>", escaped(&voice));
        }
        inline_words(cue, &mut out);
        out.push('\n');
    }
    out
}

/// The words with the inline times that the reader would not guess.
///
/// The standard wants inline times after the start of the cue. The first word of a cue with word
/// times, and the only word of a cue in a file with word times, are read as timed at the cue's
/// start, so they need none. Only a cue of several words of which just the first is timed gets a
/// time at its start, since it would be read as untimed else.
fn inline_words(cue: &Cue, out: &mut String) {
    let before = out.len();
    let mut times = 0;
    for (index, word) in cue.words.iter().enumerate() {
        if index > 0 {
            out.push(' ');
        }
        let start = word.span.start();
        if word.timed && (index > 0 || start != cue.span.start()) {
            put!(out, "<{}>", clock(start, '.'));
            times += 1;
        }
        out.push_str(&escaped(&word.text));
        if let Some(end) = told_end(word, cue.words.get(index + 1), cue.span.end()) {
            put!(out, "<{}>", clock(end, '.'));
            times += 1;
        }
    }
    if times == 0 && cue.words.len() > 1 && cue.words[0].timed {
        out.insert_str(before, &format!("<{}>", clock(cue.span.start(), '.')));
    }
}

/// The end of a timed word, if the reader would guess another and can be told.
fn told_end(word: &Word, next: Option<&Word>, cue_end: Time) -> Option<Time> {
    let bound = match next {
        Some(next) if next.timed => next.span.start(),
        // A time before an untimed word would be read as that word's start.
        Some(_) => return None,
        None => cue_end,
    };
    let end = word.span.end();
    let guessed = implied_end(&word.text, word.span.start(), bound);
    (word.timed && end != guessed && end <= bound).then_some(end)
}

/// Text in which `&`, `<` and `>` (and so every `-->`) are character references.
fn escaped(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for c in text.chars() {
        match c {
            '&' => out.push_str("&amp;"),
            '<' => out.push_str("&lt;"),
            '>' => out.push_str("&gt;"),
            '\0' => out.push('\u{FFFD}'),
            _ => out.push(c),
        }
    }
    out
}

fn subrip(talk: &Talk) -> String {
    let mut out = String::new();
    for (index, cue) in talk.cues().iter().enumerate() {
        let (start, end) = (clock(cue.span.start(), ','), clock(cue.span.end(), ','));
        put!(out, "{}\n{start} --> {end}\n{}\n\n", index + 1, subrip_line(cue));
    }
    out
}

/// SubRip has no escapes, but most players know character references; they are used only where a
/// reader would take the text for markup or for the times of a cue.
fn subrip_line(cue: &Cue) -> String {
    let line = joined(cue).replace('\0', "\u{FFFD}");
    let mut out = String::with_capacity(line.len());
    let mut rest = line.chars();
    if is_timing_like(&line)
        && let Some(first) = rest.next()
    {
        put!(out, "&#{};", u32::from(first));
    }
    let mut rest = rest.peekable();
    while let Some(c) = rest.next() {
        let next = rest.peek().copied().unwrap_or(' ');
        match c {
            '&' if next.is_ascii_alphanumeric() || next == '#' => out.push_str("&amp;"),
            '<' if next.is_ascii_alphabetic() || next == '/' => out.push_str("&lt;"),
            '{' if next == '\\' => out.push_str("&#123;"),
            _ => out.push(c),
        }
    }
    out
}

fn timed_text(talk: &Talk) -> String {
    let mut out = String::new();
    let cues = talk.cues();
    // Where the first later cue after each place begins; as for the reader, an untold end.
    let mut after = 0;
    for (index, cue) in cues.iter().enumerate() {
        let (start, end) = (cue.span.start(), cue.span.end());
        while cues.get(after).is_some_and(|next| next.span.start() <= start) {
            after += 1;
        }
        let next = cues.get(after).map(|cue| cue.span.start());
        if index > 0 {
            out.push('\n');
        }
        put!(out, "[{}", short(start));
        if next != Some(end) {
            put!(out, " - {}", short(end));
        }
        put!(out, "] {}\n", joined(cue).replace('\0', "\u{FFFD}"));
    }
    out
}

fn joined(cue: &Cue) -> String {
    cue.words.iter().map(|word| word.text.as_str()).collect::<Vec<_>>().join(" ")
}

/// `hh:mm:ss.mmm` with the given decimal mark.
fn clock(time: Time, mark: char) -> String {
    let (whole, millis) = (time.millis() / 1000, time.millis() % 1000);
    let (hours, minutes, seconds) = (whole / 3600, whole / 60 % 60, whole % 60);
    format!("{hours:02}:{minutes:02}:{seconds:02}{mark}{millis:03}")
}

/// `m:ss` or `h:mm:ss`, with milliseconds where there are some.
fn short(time: Time) -> String {
    if time.millis().is_multiple_of(1000) { time.to_string() } else { format!("{time:.3}") }
}

#[cfg(test)]
mod tests {
    use super::*;
    use academy::Span;

    fn at(millis: u64) -> Time {
        Time::from_millis(millis)
    }

    fn cue(span: (u64, u64), voice: Option<&str>, words: &[(&str, u64, u64, bool)]) -> Cue {
        let word = |&(text, start, end, timed): &(&str, u64, u64, bool)| Word {
            text: text.to_owned(),
            span: Span::between(at(start), at(end)),
            timed,
        };
        Cue {
            span: Span::between(at(span.0), at(span.1)),
            voice: voice.map(str::to_owned),
            words: words.iter().map(word).collect(),
        }
    }

    fn talk() -> Talk {
        let said = [("he", 1_000, 1_200, true), ("sits", 1_500, 2_000, true)];
        let unsure = [("<b>", 2_000, 2_500, false), ("-->", 2_500, 3_000, false)];
        Talk::new(vec![
            cue((1_000, 2_000), Some("Ana & Bo"), &said),
            cue((2_000, 3_600_250), None, &unsure),
        ])
    }

    #[test]
    fn webvtt_has_escapes_voices_and_the_times_a_reader_cannot_guess() {
        let expected = "WEBVTT\n\n00:00:01.000 --> 00:00:02.000\n<v Ana &amp; Bo>he<00:00:01.200> \
             <00:00:01.500>sits\n\n00:00:02.000 --> 01:00:00.250\n&lt;b&gt; --&gt;\n";
        assert_eq!(write(&talk(), WriteFormat::WebVtt), expected);
    }

    #[test]
    fn subrip_escapes_only_what_would_be_markup() {
        let expected = "1\n00:00:01,000 --> 00:00:02,000\nhe sits\n\n\
             2\n00:00:02,000 --> 01:00:00,250\n&lt;b> -->\n\n";
        assert_eq!(write(&talk(), WriteFormat::SubRip), expected);
    }

    #[test]
    fn timed_text_tells_an_end_only_where_the_next_block_does_not() {
        let expected = "[0:01] he sits\n\n[0:02 - 1:00:00.250] <b> -->\n";
        assert_eq!(write(&talk(), WriteFormat::TimedText), expected);
    }

    #[test]
    fn a_talk_without_cues_is_a_file_without_cues() {
        assert_eq!(write(&Talk::default(), WriteFormat::WebVtt), "WEBVTT\n");
        assert_eq!(write(&Talk::default(), WriteFormat::SubRip), "");
    }
}
