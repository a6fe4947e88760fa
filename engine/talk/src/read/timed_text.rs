//! Plain text with times at line starts, as people type it or copy it from a page.
//!
//! A mark is `[0:42]`, `(0:42)` or `0:42` (hours as `1:02:03`, fractions allowed), or a stretch
//! `[0:42 - 1:20]`, at the start of a line, followed by text or alone on its line. The first mark
//! of the file decides how its marks are written; anything else is text, so a spoken "5:00
//! minutes" does not cut a file of `[m:ss]` blocks. A block ends where its mark says, else where
//! the next later mark begins. The last block, if its mark gives no end, ends at the length of
//! the round if the caller knows it, else after the time that its words take at an ordinary rate.

use super::Format;
use super::draft::DraftCue;
use super::error::ReadError;
use super::lines::{Line, Lines, clock};
use super::spread::ORDINARY;
use crate::syllables::syllables;
use academy::{Span, Time};

/// How the marks of a file are written.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Style {
    Square,
    Round,
    /// `0:42 text`
    Bare,
    /// `0:42`, and the text on the lines below.
    BareAlone,
}

/// A mark, and the text after it on its line.
struct Mark<'a> {
    start: Time,
    end: Option<Time>,
    text: &'a str,
}

/// Whether the line begins with a time, or with what is meant to be one, in any style.
pub(super) fn is_mark_like(line: Line<'_>) -> bool {
    [Style::Square, Style::Round, Style::Bare]
        .into_iter()
        .any(|style| !matches!(mark(line, style), Ok(None)))
}

/// Reads a file whose byte order mark is taken off; `length` is that of the round, if known.
pub(super) fn read(text: &str, length: Option<Time>) -> Result<Vec<DraftCue>, ReadError> {
    // Without a single good mark, the error is about the first that was meant to be one.
    let style = style(text).unwrap_or(Style::Square);
    let mut blocks: Vec<Block> = Vec::new();
    for line in Lines::new(text) {
        if let Some(mark) = mark(line, style)? {
            let previous = blocks.last().map_or(Time::ZERO, |block| block.start);
            if mark.start < previous {
                let time = mark.start;
                return Err(ReadError::RunsBackwards { line: line.number, time, previous });
            }
            let text = mark.text.to_owned();
            blocks.push(Block { start: mark.start, end: mark.end, text });
        } else if let Some(block) = blocks.last_mut() {
            block.text.push(' ');
            block.text.push_str(line.text);
        } else if !line.text.trim().is_empty() {
            return Err(ReadError::TextBeforeFirstTime { line: line.number });
        }
    }
    Ok(cues(blocks, length))
}

struct Block {
    start: Time,
    end: Option<Time>,
    text: String,
}

fn cues(blocks: Vec<Block>, length: Option<Time>) -> Vec<DraftCue> {
    let mut cues = Vec::with_capacity(blocks.len());
    // From the end: the next block, and the next that starts later.
    let mut next: Option<Time> = None;
    let mut later: Option<Time> = None;
    for block in blocks.into_iter().rev() {
        if next.is_none_or(|next| block.start < next) {
            later = next;
            next = Some(block.start);
        }
        let end = block.end.or(later).or(length.filter(|length| *length > block.start));
        let end = end.unwrap_or_else(|| {
            let count: u64 = block.text.split_whitespace().map(syllables).sum();
            block.start.later(ORDINARY * count)
        });
        cues.push(DraftCue::plain(Span::between(block.start, end), &block.text));
    }
    cues.reverse();
    cues
}

/// How the first mark of the text is written.
fn style(text: &str) -> Option<Style> {
    let mut lines = Lines::new(text);
    while let Some(line) = lines.next() {
        let first = line.text.trim_start();
        for (style, opening) in [(Style::Square, "["), (Style::Round, "(")] {
            if first.starts_with(opening) && mark(line, style).is_ok_and(|mark| mark.is_some()) {
                return Some(style);
            }
        }
        if let Ok(Some(found)) = mark(line, Style::Bare) {
            // A lone first mark can be an empty block; then the next text is a mark as well.
            let alone = found.text.is_empty()
                && lines
                    .find(|line| !line.text.trim().is_empty())
                    .is_none_or(|next| !matches!(mark(next, Style::Bare), Ok(Some(_))));
            return Some(if alone { Style::BareAlone } else { Style::Bare });
        }
    }
    None
}

/// The mark at the start of the line, if it has one in this style.
///
/// # Errors
///
/// In brackets, digits and colons that are no time, or a stretch that runs backwards.
fn mark(line: Line<'_>, style: Style) -> Result<Option<Mark<'_>>, ReadError> {
    let text = line.text.trim();
    let bracketed = match style {
        Style::Square => text.strip_prefix('[').map(|rest| rest.split_once(']')),
        Style::Round => text.strip_prefix('(').map(|rest| rest.split_once(')')),
        Style::Bare | Style::BareAlone => return Ok(bare_mark(text, style)),
    };
    let Some(Some((inside, rest))) = bracketed else { return Ok(None) };
    let time_like = inside.starts_with(|c: char| c.is_ascii_digit()) && inside.contains(':');
    if !time_like {
        return Ok(None);
    }
    let (start, end) = stretch(inside)
        .ok_or_else(|| ReadError::bad_time(line.number, inside, Format::TimedText))?;
    Ok(Some(Mark { start, end, text: rest.trim_start() }))
}

fn bare_mark(text: &str, style: Style) -> Option<Mark<'_>> {
    if !text.starts_with(|c: char| c.is_ascii_digit()) {
        return None;
    }
    if let Some((start, end)) = stretch(text) {
        return Some(Mark { start, end, text: "" });
    }
    if style == Style::BareAlone {
        return None;
    }
    let (first, rest) = text.split_once(char::is_whitespace)?;
    let start = clock(first.strip_suffix(':').unwrap_or(first))?;
    let rest = rest.trim_start();
    // "0:42 - text": the dash only parts the time from the text.
    let dashless = DASHES.iter().find_map(|dash| rest.strip_prefix(dash)?.strip_prefix(' '));
    Some(Mark { start, end: None, text: dashless.unwrap_or(rest) })
}

/// What may stand between the two times of a stretch; longest first.
const DASHES: [&str; 4] = ["-->", "-", "\u{2013}", "\u{2014}"];

/// `0:42`, or `0:42 - 1:20` with any of the usual dashes.
fn stretch(text: &str) -> Option<(Time, Option<Time>)> {
    let parts = DASHES.iter().find_map(|dash| text.split_once(dash));
    let Some((start, end)) = parts else { return Some((clock(text.trim())?, None)) };
    let (start, end) = (clock(start.trim())?, clock(end.trim())?);
    (start <= end).then_some((start, Some(end)))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn marks(text: &str) -> Vec<(u64, u64, String)> {
        let cues = read(text, None).unwrap();
        let said = |cue: &DraftCue| {
            cue.words.iter().map(|word| word.text.as_str()).collect::<Vec<_>>().join(" ")
        };
        let millis = |cue: &DraftCue| (cue.span.start().millis(), cue.span.end().millis());
        cues.iter().map(|cue| (millis(cue).0, millis(cue).1, said(cue))).collect()
    }

    #[test]
    fn the_first_mark_decides_how_marks_look() {
        let block = |start, end, text: &str| (start, end, text.to_owned());
        for text in [
            "[0:05] go now\n5:00 left\n[0:10 - 0:12] stop",
            "(0:05)\ngo now\n5:00 left\n\n(0:10 \u{2013} 0:12) stop",
            "0:05\r\ngo now 5:00\r\nleft\r\n0:10-0:12\r\nstop",
        ] {
            let found = marks(text);
            assert_eq!(found[0], block(5_000, 10_000, &found[0].2), "{text}");
            assert!(["go now 5:00 left"].contains(&found[0].2.as_str()), "{text}");
            assert_eq!(found[1..], [block(10_000, 12_000, "stop")], "{text}");
        }
        assert_eq!(
            marks("0:05 - go\n0:07: stop\n0:09 --> 0:10\n"),
            [block(5_000, 7_000, "go"), block(7_000, 9_000, "stop"), block(9_000, 10_000, "")]
        );
    }

    #[test]
    fn the_last_block_lasts_as_its_words_or_to_the_end_of_the_round() {
        let text = "[0:05] one two three";
        assert_eq!(marks(text)[0].1, 5_000 + 3 * ORDINARY);
        let to_end = read(text, Some(Time::from_millis(60_000))).unwrap();
        assert_eq!(to_end[0].span.end().millis(), 60_000);
        let too_early = read(text, Some(Time::from_millis(4_000))).unwrap();
        assert_eq!(too_early[0].span.end().millis(), 5_000 + 3 * ORDINARY);
    }

    #[test]
    fn lines_at_the_same_second_share_the_time_to_the_next() {
        let found = marks("[0:05] yes\n[0:05] nice\n[0:09] ok");
        assert_eq!((found[0].1, found[1].1), (9_000, 9_000));
    }
}
