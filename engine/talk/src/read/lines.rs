//! Lines with their numbers, and clock times, for the readers of text.

use academy::Time;

/// The latest time that is read: one million hours. Anything later is a mistake in the file, and
/// the limit keeps sums of times far from overflow.
pub(super) const LATEST: Time = Time::from_millis(1_000_000 * 3_600_000);

/// A line without its end, and its number from 1.
#[derive(Clone, Copy, Debug)]
pub(super) struct Line<'a> {
    pub(super) number: usize,
    pub(super) text: &'a str,
}

/// The lines of a text, whether they end with CRLF, LF or CR. A clone remembers the place.
#[derive(Clone, Debug)]
pub(super) struct Lines<'a> {
    rest: &'a str,
    number: usize,
}

impl<'a> Lines<'a> {
    pub(super) fn new(text: &'a str) -> Self {
        Lines { rest: text, number: 0 }
    }
}

impl<'a> Iterator for Lines<'a> {
    type Item = Line<'a>;

    fn next(&mut self) -> Option<Line<'a>> {
        if self.rest.is_empty() {
            return None;
        }
        self.number += 1;
        let (text, rest) = match self.rest.find(['\n', '\r']) {
            None => (self.rest, ""),
            Some(end) => {
                let (text, rest) = self.rest.split_at(end);
                (text, rest.strip_prefix("\r\n").unwrap_or(&rest[1..]))
            }
        };
        self.rest = rest;
        Some(Line { number: self.number, text })
    }
}

/// Numbers of lines for growing places in a text, each part counted once.
pub(super) struct LineCounter<'a> {
    bytes: &'a [u8],
    place: usize,
    number: usize,
}

impl<'a> LineCounter<'a> {
    pub(super) fn new(bytes: &'a [u8]) -> Self {
        LineCounter { bytes, place: 0, number: 1 }
    }

    /// The number of the line with the byte at `place`; places must not decrease.
    pub(super) fn line_of(&mut self, place: usize) -> usize {
        let place = place.min(self.bytes.len());
        if let Some(passed) = self.bytes.get(self.place..place) {
            for (index, byte) in passed.iter().enumerate() {
                let lone = *byte == b'\r' && self.bytes.get(self.place + index + 1) != Some(&b'\n');
                self.number += usize::from(*byte == b'\n' || lone);
            }
            self.place = place;
        }
        self.number
    }
}

/// Reads `m:ss` or `h:mm:ss`, with or without a fraction after a full stop or a comma.
pub(super) fn clock(text: &str) -> Option<Time> {
    let plain = text.contains(':') && text.bytes().all(|b| !b.is_ascii_whitespace());
    Time::parse(text).filter(|time| plain && *time <= LATEST)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_kind_of_line_end_counts_once() {
        let found: Vec<_> =
            Lines::new("a\r\nb\nc\rd\r\r\ne").map(|line| (line.number, line.text)).collect();
        assert_eq!(found, [(1, "a"), (2, "b"), (3, "c"), (4, "d"), (5, ""), (6, "e")]);
        let text = "a\r\nb\nc\rd\r\r\ne";
        let mut counter = LineCounter::new(text.as_bytes());
        let numbers: Vec<_> = [0, 3, 5, 7, 11].map(|place| counter.line_of(place)).into();
        assert_eq!(numbers, [1, 2, 3, 4, 6]);
    }

    #[test]
    fn a_clock_time_has_a_colon_and_a_limit() {
        assert_eq!(clock("1:02:03.5"), Some(Time::from_millis(3_723_500)));
        assert_eq!(clock("0:42"), Some(Time::from_millis(42_000)));
        assert_eq!(clock("42"), None);
        assert_eq!(clock(" 0:42"), None);
        assert_eq!(clock("999999999:00:00"), None);
    }
}
