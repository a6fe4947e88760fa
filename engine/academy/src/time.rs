//! Time in a round: whole milliseconds from its start, and half-open spans.

use std::fmt;

/// A moment, in whole milliseconds from the start of the recording.
///
/// Seconds as floating point appear only inside mathematics and at the edges.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Time(u64);

impl Time {
    /// The start of the recording.
    pub const ZERO: Time = Time(0);

    /// A moment from whole milliseconds.
    #[must_use]
    pub const fn from_millis(millis: u64) -> Self {
        Time(millis)
    }

    /// A moment from seconds, rounded to the nearest millisecond.
    ///
    /// Negative, infinite and undefined values become [`Time::ZERO`]; values beyond the range of
    /// whole milliseconds become the largest moment.
    #[must_use]
    pub fn from_seconds(seconds: f64) -> Self {
        // `as` saturates and maps NaN to zero, which is the documented behaviour.
        Time((seconds * 1000.0).round() as u64)
    }

    /// Whole milliseconds.
    #[must_use]
    pub const fn millis(self) -> u64 {
        self.0
    }

    /// Seconds.
    #[must_use]
    pub fn seconds(self) -> f64 {
        self.0 as f64 / 1000.0
    }

    /// This moment moved later by `millis` milliseconds.
    #[must_use]
    pub const fn later(self, millis: u64) -> Self {
        Time(self.0.saturating_add(millis))
    }

    /// This moment moved earlier by `millis` milliseconds, not before the start.
    #[must_use]
    pub const fn earlier(self, millis: u64) -> Self {
        Time(self.0.saturating_sub(millis))
    }

    /// Milliseconds between two moments, whichever comes first.
    #[must_use]
    pub const fn distance(self, other: Time) -> u64 {
        self.0.abs_diff(other.0)
    }

    /// Reads `m:ss`, `h:mm:ss`, either with a decimal fraction, or plain seconds.
    ///
    /// Minutes may exceed 59 when no hours are given. Returns `None` for anything else.
    #[must_use]
    pub fn parse(text: &str) -> Option<Self> {
        let mut fields: Vec<&str> = text.trim().split(':').collect();
        let last = fields.pop()?;
        let (whole, fraction) = last.split_once(['.', ',']).unwrap_or((last, ""));
        if whole.is_empty() || fraction.len() > 9 || fields.len() > 2 {
            return None;
        }
        let number = |digits: &str| -> Option<u64> {
            let plain = !digits.is_empty() && digits.len() <= 9;
            (plain && digits.bytes().all(|b| b.is_ascii_digit())).then(|| digits.parse().ok())?
        };
        let seconds = number(whole)?;
        if !fields.is_empty() && (whole.len() != 2 || seconds > 59) {
            return None;
        }
        let millis = match fraction {
            "" => 0,
            digits => {
                number(digits)?;
                number(&format!("{digits:0<3}")[..3])?
            }
        };
        let mut total = seconds;
        for (scale, field) in [60, 3600].into_iter().zip(fields.iter().rev()) {
            total += scale * number(field)?;
        }
        if fields.len() == 2 && number(fields[1])? > 59 {
            return None;
        }
        Some(Time(total * 1000 + millis))
    }
}

/// Shown as `m:ss`, or `h:mm:ss` from one hour on; the fraction is cut, not rounded.
/// With a precision (`{:.1}`), that many decimals of the second follow.
impl fmt::Display for Time {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let whole = self.0 / 1000;
        let (hours, minutes, seconds) = (whole / 3600, whole / 60 % 60, whole % 60);
        let mut text = if hours > 0 {
            format!("{hours}:{minutes:02}:{seconds:02}")
        } else {
            format!("{minutes}:{seconds:02}")
        };
        if let Some(digits) = f.precision().filter(|digits| *digits > 0) {
            let fraction = format!("{:03}", self.0 % 1000);
            text.push('.');
            text.extend(fraction.chars().chain(std::iter::repeat('0')).take(digits));
        }
        f.pad_integral(true, "", &text)
    }
}

/// A half-open stretch of time: it holds its start and not its end. Never runs backwards.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub struct Span {
    start: Time,
    end: Time,
}

impl Span {
    /// The span from `start` to `end`, or `None` if it would run backwards.
    #[must_use]
    pub fn new(start: Time, end: Time) -> Option<Self> {
        (start <= end).then_some(Span { start, end })
    }

    /// The span between two moments in either order.
    #[must_use]
    pub fn between(one: Time, other: Time) -> Self {
        Span { start: one.min(other), end: one.max(other) }
    }

    /// First moment of the span.
    #[must_use]
    pub const fn start(self) -> Time {
        self.start
    }

    /// First moment after the span.
    #[must_use]
    pub const fn end(self) -> Time {
        self.end
    }

    /// Length in milliseconds.
    #[must_use]
    pub const fn millis(self) -> u64 {
        self.end.0 - self.start.0
    }

    /// Length in seconds.
    #[must_use]
    pub fn seconds(self) -> f64 {
        self.millis() as f64 / 1000.0
    }

    /// Whether the moment lies in the span (start included, end not).
    #[must_use]
    pub fn contains(self, time: Time) -> bool {
        self.start <= time && time < self.end
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn reads_the_usual_ways_to_write_a_time() {
        for (text, millis) in [
            ("0:00", Some(0)),
            ("5:07", Some(307_000)),
            ("61:00", Some(3_660_000)),
            ("1:01:00", Some(3_660_000)),
            ("1:02:03.5", Some(3_723_500)),
            ("90", Some(90_000)),
            ("7,25", Some(7_250)),
            ("1:7", None),
            ("1:60", None),
            ("1:60:00", None),
            ("1:2:3:4", None),
            (":30", None),
            ("-1:00", None),
            ("five", None),
            ("", None),
        ] {
            assert_eq!(Time::parse(text).map(Time::millis), millis, "{text:?}");
        }
    }

    #[test]
    fn shows_hours_only_when_there_are_some() {
        assert_eq!(Time::from_millis(59_999).to_string(), "0:59");
        assert_eq!(Time::from_millis(3_600_000).to_string(), "1:00:00");
        assert_eq!(format!("{:.1}", Time::from_millis(61_250)), "1:01.2");
        assert_eq!(format!("{:>7}", Time::from_millis(61_250)), "   1:01");
    }

    #[test]
    fn odd_seconds_become_defined_moments() {
        assert_eq!(Time::from_seconds(-3.0), Time::ZERO);
        assert_eq!(Time::from_seconds(f64::NAN), Time::ZERO);
        assert_eq!(Time::from_seconds(1.0005).millis(), 1001);
    }

    proptest! {
        #[test]
        fn shown_times_read_back(millis in 0u64..100_000_000) {
            let time = Time::from_millis(millis);
            prop_assert_eq!(Time::parse(&format!("{time:.3}")), Some(time));
        }

        #[test]
        fn parse_never_panics(text in ".{0,20}") {
            let _ = Time::parse(&text);
        }
    }
}
