//! SubRip. It has no standard; this reads what its writers agree on and what is met in the wild:
//! a full stop for the comma, hours left out, numbers missing, no blank line between cues or at
//! the end, blank lines inside a cue, coordinates after the times, HTML-like tags, `{\an8}` marks
//! and HTML character references.
//!
//! What looks like a cue's times and is not, fails the file: nothing is half read.

use super::Format;
use super::draft::{DraftCue, DraftWord};
use super::error::{ReadError, ReadWarning, WarningCause};
use super::lines::{Line, Lines, clock};
use academy::{Span, Time};

/// Reads a file whose byte order mark is taken off.
pub(super) fn read(
    text: &str,
    warnings: &mut Vec<ReadWarning>,
) -> Result<Vec<DraftCue>, ReadError> {
    let mut cues: Vec<DraftCue> = Vec::new();
    // A line of digits is a cue's number if the times follow, and talk if not.
    let mut number: Option<Line<'_>> = None;
    let mut last_number: Option<u64> = None;
    let mut after_blank = true;
    let mut number_after_blank = false;
    for line in Lines::new(text) {
        if is_timing_like(line.text) {
            let span = timing(line, &mut cues, warnings)?;
            if let Some(number) = number.take() {
                last_number = number.text.trim().parse().ok();
            }
            cues.push(DraftCue { span, ..DraftCue::default() });
            after_blank = false;
            continue;
        }
        if let Some(held) = number.take() {
            not_a_cue_number(held, last_number, number_after_blank)?;
            push_text(held, &mut cues)?;
        }
        let trimmed = line.text.trim();
        if !trimmed.is_empty() && trimmed.bytes().all(|b| b.is_ascii_digit()) {
            number = Some(line);
            number_after_blank = after_blank;
        } else if !trimmed.is_empty() {
            push_text(line, &mut cues)?;
        }
        after_blank = trimmed.is_empty();
    }
    if let Some(held) = number {
        not_a_cue_number(held, last_number, number_after_blank)?;
        push_text(held, &mut cues)?;
    }
    Ok(cues)
}

/// Whether a line is meant to be a cue's times: it begins like a number and has an arrow, or has
/// two clock times to the millisecond.
pub(crate) fn is_timing_like(line: &str) -> bool {
    let line = line.trim_start();
    if !line.starts_with(|c: char| c.is_ascii_digit() || c == '-') {
        return false;
    }
    let exact = |word: &str| word.contains([',', '.']) && clock(word).is_some();
    let mut words = line.split_ascii_whitespace();
    line.contains("-->") || (words.next().is_some_and(exact) && words.take(2).any(exact))
}

fn timing(
    line: Line<'_>,
    cues: &mut [DraftCue],
    warnings: &mut Vec<ReadWarning>,
) -> Result<Span, ReadError> {
    let bad = || ReadError::bad_time(line.number, line.text, Format::SubRip);
    let (start, rest) = line.text.split_once("-->").ok_or_else(bad)?;
    let start = clock(start.trim()).ok_or_else(bad)?;
    let end = rest.split_ascii_whitespace().next().and_then(clock).ok_or_else(bad)?;
    let mut warn = |cause| warnings.push(ReadWarning { line: line.number, cause });
    if end <= start {
        warn(WarningCause::EndsBeforeStart);
    }
    if start < cues.last().map_or(Time::ZERO, |cue| cue.span.start()) {
        warn(WarningCause::OutOfOrder);
    }
    Ok(Span::new(start, end).unwrap_or(Span::between(start, start)))
}

/// The next number after a blank line, and then no times: a damaged or cut-off file.
fn not_a_cue_number(line: Line<'_>, last: Option<u64>, after_blank: bool) -> Result<(), ReadError> {
    let number: Option<u64> = line.text.trim().parse().ok();
    match (number, last) {
        (Some(number), Some(last)) if after_blank && last.checked_add(1) == Some(number) => {
            Err(ReadError::MissingTime { line: line.number, number })
        }
        _ => Ok(()),
    }
}

fn push_text(line: Line<'_>, cues: &mut [DraftCue]) -> Result<(), ReadError> {
    let Some(cue) = cues.last_mut() else {
        return Err(ReadError::TextBeforeFirstTime { line: line.number });
    };
    let mut plain = String::with_capacity(line.text.len());
    without_tags(line.text, &mut plain);
    let text = htmlize::unescape(plain.as_str());
    let before = cue.words.len();
    cue.words.extend(text.split_whitespace().map(DraftWord::untimed));
    if cue.words.len() > before {
        cue.lines.push(before);
    }
    Ok(())
}

/// Longest tag that is looked for; keeps a line of many `<` linear.
const LONGEST_TAG: usize = 200;

/// Copies a line without the tags that players know and without `{\...}` marks.
fn without_tags(line: &str, plain: &mut String) {
    let mut rest = line;
    while let Some(start) = rest.find(['<', '{']) {
        plain.push_str(&rest[..start]);
        rest = &rest[start..];
        let close = if rest.starts_with('<') { b'>' } else { b'}' };
        let end = rest.bytes().take(LONGEST_TAG).position(|b| b == close);
        match end {
            Some(end) if is_tag(&rest[..end]) => {
                if rest.starts_with("<br") {
                    plain.push(' ');
                }
                rest = &rest[end + 1..];
            }
            _ => {
                plain.push_str(&rest[..1]);
                rest = &rest[1..];
            }
        }
    }
    plain.push_str(rest);
}

/// Whether `<...` or `{...` (without its last character) is markup.
fn is_tag(tag: &str) -> bool {
    if tag.starts_with("{\\") {
        return true;
    }
    let Some(name) = tag.strip_prefix('<') else { return false };
    let name = name.strip_prefix('/').unwrap_or(name);
    let name = name.split([' ', '/']).next().unwrap_or("");
    ["b", "i", "u", "s", "font", "br"].iter().any(|known| name.eq_ignore_ascii_case(known))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn known_tags_go_and_other_signs_stay() {
        for (line, expected) in [
            ("<i>sweep</i> now", "sweep now"),
            ("<font color=\"#fff\">he</FONT> <B>holds</B>", "he holds"),
            ("{\\an8}over<br/>under", "over under"),
            ("a < b and {c}", "a < b and {c}"),
            ("<guard> pass", "<guard> pass"),
            ("<<<i>x", "<<x"),
            ("<i", "<i"),
        ] {
            let mut plain = String::new();
            without_tags(line, &mut plain);
            assert_eq!(plain, expected, "{line}");
        }
    }

    #[test]
    fn times_are_recognised_even_when_wrong() {
        for (line, like) in [
            ("00:00:01,000 --> 00:00:02,000", true),
            ("00:00:01.000 --> 00:00:02.000 X1:40 X2:600", true),
            ("0:00:1 --> 0:00:02", true),
            ("00:00:01,000 -> 00:00:02,000", true),
            ("--> 00:00:02,000", true),
            ("5:00 minutes to go", false),
            ("guard --> mount", false),
        ] {
            assert_eq!(is_timing_like(line), like, "{line}");
        }
    }
}
