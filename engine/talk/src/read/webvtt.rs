//! WebVTT, by the parser rules of the W3C text (section "Parsing" of *WebVTT: The Web Video Text
//! Tracks Format*): a wrong signature fails the file, a wrong timing line drops its cue only.
//!
//! Stricter than that text in two things: bytes that are not UTF-8 are an error instead of
//! replacement characters, and times past one million hours cannot be read.

use super::cue_text::CueText;
use super::draft::DraftCue;
use super::error::{ReadError, ReadWarning, WarningCause};
use super::lines::{LATEST, Line, Lines};
use academy::{Span, Time};

/// Reads a file whose byte order mark is taken off.
pub(super) fn read(
    text: &str,
    warnings: &mut Vec<ReadWarning>,
) -> Result<Vec<DraftCue>, ReadError> {
    let mut lines = Lines::new(text);
    let first = lines.next().map_or("", |line| line.text);
    let rest = first.strip_prefix("WEBVTT");
    if !rest.is_some_and(|rest| rest.is_empty() || rest.starts_with([' ', '\t'])) {
        let mut all = Lines::new(text);
        let found = all.find(|line| line.text.trim_start().starts_with("WEBVTT"));
        return Err(ReadError::Signature { line: found.map_or(1, |line| line.number) });
    }
    let mut reader = Reader { lines, warnings, cues: Vec::new(), payload: String::new() };
    reader.block(true);
    while reader.block(false) {}
    Ok(reader.cues)
}

struct Reader<'a, 'w> {
    lines: Lines<'a>,
    warnings: &'w mut Vec<ReadWarning>,
    cues: Vec<DraftCue>,
    /// The lines of the block at hand; kept to save allocations.
    payload: String,
}

/// The span of a cue and the line that gives it.
struct Timing {
    span: Span,
    backwards: bool,
    line: usize,
}

impl Reader<'_, '_> {
    /// The algorithm "collect a WebVTT block". Returns whether there was anything left to read.
    fn block(&mut self, in_header: bool) -> bool {
        self.payload.clear();
        let mut cue: Option<Timing> = None;
        let mut seen_arrow = false;
        let mut first_line = 0;
        let mut count = 0;
        loop {
            let before = self.lines.clone();
            let Some(line) = self.lines.next() else { break };
            count += 1;
            if line.text.contains("-->") {
                if in_header || !(count == 1 || (count == 2 && !seen_arrow)) {
                    self.lines = before;
                    break;
                }
                seen_arrow = true;
                cue = timing(line);
                if cue.is_some() {
                    self.payload.clear();
                } else {
                    self.warn(line.number, WarningCause::CueLeftOut);
                }
            } else if line.text.is_empty() {
                break;
            } else {
                if self.payload.is_empty() {
                    first_line = line.number;
                } else {
                    self.payload.push('\n');
                }
                self.payload.push_str(line.text);
            }
        }
        match cue {
            Some(timing) => self.cue(&timing),
            None if !seen_arrow && !in_header && self.is_stray() => {
                self.warn(first_line, WarningCause::StrayText);
            }
            None => {}
        }
        count > 0
    }

    /// Whether the block has text and is none of the kinds without talk.
    fn is_stray(&self) -> bool {
        let is_of_kind = |kind: &&str| {
            let rest = self.payload.strip_prefix(*kind);
            rest.is_some_and(|rest| rest.is_empty() || rest.starts_with([' ', '\t', '\n']))
        };
        !self.payload.is_empty() && !["NOTE", "STYLE", "REGION"].iter().any(is_of_kind)
    }

    fn cue(&mut self, timing: &Timing) {
        if timing.backwards {
            self.warn(timing.line, WarningCause::EndsBeforeStart);
        }
        let earlier = self.cues.last().map_or(Time::ZERO, |cue| cue.span.start());
        if timing.span.start() < earlier {
            self.warn(timing.line, WarningCause::OutOfOrder);
        }
        let mut text = CueText::new(timing.span);
        if self.payload.contains('\0') {
            text.read(&self.payload.replace('\0', "\u{FFFD}"));
        } else {
            text.read(&self.payload);
        }
        if text.unused_times {
            self.warn(timing.line, WarningCause::WordTime);
        }
        self.cues.push(text.into_cue());
    }

    fn warn(&mut self, line: usize, cause: WarningCause) {
        self.warnings.push(ReadWarning { line, cause });
    }
}

/// The algorithm "collect WebVTT cue timings and settings"; settings say where the cue is drawn
/// and are not needed.
fn timing(line: Line<'_>) -> Option<Timing> {
    let white = |c: char| c.is_ascii_whitespace();
    let (start, rest) = collect_timestamp(line.text.trim_start_matches(white))?;
    let rest = rest.trim_start_matches(white).strip_prefix("-->")?;
    let (end, _settings) = collect_timestamp(rest.trim_start_matches(white))?;
    let span = Span::new(start, end).unwrap_or(Span::between(start, start));
    Some(Timing { span, backwards: end <= start, line: line.number })
}

/// The algorithm "collect a WebVTT timestamp": the time, and what follows it.
pub(super) fn collect_timestamp(text: &str) -> Option<(Time, &str)> {
    fn digits(text: &str) -> (&str, &str) {
        text.split_at(text.bytes().take_while(u8::is_ascii_digit).count())
    }
    fn field(text: &str, length: usize) -> Option<(u64, &str)> {
        let (digits, rest) = digits(text);
        (digits.len() == length).then(|| digits.parse().ok().map(|value| (value, rest)))?
    }
    let (first, rest) = digits(text);
    let value: u64 = first.parse().ok()?;
    let hours_first = first.len() != 2 || value > 59;
    let (second, rest) = field(rest.strip_prefix(':')?, 2)?;
    let (hours, minutes, seconds, rest) = match rest.strip_prefix(':') {
        Some(rest) => {
            let (third, rest) = field(rest, 2)?;
            (value, second, third, rest)
        }
        None if hours_first => return None,
        None => (0, value, second, rest),
    };
    let (millis, rest) = field(rest.strip_prefix('.')?, 3)?;
    if minutes > 59 || seconds > 59 {
        return None;
    }
    let whole = hours.checked_mul(3600)?.checked_add(minutes * 60 + seconds)?;
    let time = Time::from_millis(whole.checked_mul(1000)?.checked_add(millis)?);
    (time <= LATEST).then_some((time, rest))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// FACTS F1, read from the W3C text.
    #[test]
    fn timestamps_are_those_of_the_standard() {
        for (text, millis) in [
            ("00:01.000", Some(1_000)),
            ("0:01.000", None),
            ("1:00:01.000", Some(3_601_000)),
            ("61:00.000", None),
            ("100:00:05.250", Some(360_005_250)),
            ("00:01,000", None),
            ("00:60.000", None),
            ("00:60:00.000", None),
            ("00:01.00", None),
            ("00:01.0000", None),
            ("000:01.000", None),
            ("99999999999999999999:00:00.000", None),
            ("9999999:00:00.000", None),
            ("", None),
        ] {
            let time = collect_timestamp(text).map(|(time, _)| time.millis());
            assert_eq!(time, millis, "{text}");
        }
        assert_eq!(collect_timestamp("00:01.500 x").map(|(_, rest)| rest), Some(" x"));
    }

    #[test]
    fn the_signature_decides_over_the_whole_file() {
        let warnings = &mut Vec::new();
        for (text, fails_at) in [
            ("WEBVTT", None),
            ("WEBVTT\ttalk", None),
            ("WEBVTT \n\n", None),
            ("WEBVTTX", Some(1)),
            ("\nWEBVTT", Some(2)),
            (" WEBVTT", Some(1)),
            ("webvtt", Some(1)),
        ] {
            let line = read(text, warnings).err().and_then(|error| error.line());
            assert_eq!(line, fails_at, "{text:?}");
        }
    }
}
