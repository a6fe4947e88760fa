//! Numbers in words: counts, rates, shares and lengths as people say them, with their limits.

use figures::interval::Interval;

/// "once", "twice", "7 times"; of a guessed count "about 6 times", since guesses add up to parts.
#[must_use]
pub fn times(count: f64) -> String {
    let whole = count.round();
    let about = if (count - whole).abs() > 0.05 { "about " } else { "" };
    match whole as u64 {
        0 if count > 0.05 => "perhaps once".to_owned(),
        0 => "not once".to_owned(),
        1 => format!("{about}once"),
        2 => format!("{about}twice"),
        many => format!("{about}{many} times"),
    }
}

/// "1 round", "12 rounds".
#[must_use]
pub(crate) fn counted(count: usize, one: &str, many: &str) -> String {
    if count == 1 { format!("1 {one}") } else { format!("{count} {many}") }
}

/// A guessed count as a whole number of things: "3 stays", "about 3 stays", "1 stay".
#[must_use]
pub(crate) fn counted_about(count: f64, one: &str, many: &str) -> String {
    let whole = count.round().max(0.0);
    let about = if (count - whole).abs() > 0.05 { "about " } else { "" };
    let name = if whole == 1.0 { one } else { many };
    format!("{about}{whole:.0} {name}")
}

/// A share as a whole percentage: "58 %".
#[must_use]
pub(crate) fn share(value: f64) -> String {
    /// Sums of parts miss the whole by their rounding.
    const ROUNDING: f64 = 1e-9;
    let whole = (value.clamp(0.0, 1.0) * 100.0).round();
    if whole == 0.0 && value > ROUNDING {
        "under 1 %".to_owned()
    } else if whole == 100.0 && value < 1.0 - ROUNDING {
        "over 99 %".to_owned()
    } else {
        format!("{whole:.0} %")
    }
}

/// A share as a part of a whole: "about a third", "most".
#[must_use]
pub(crate) fn part(value: f64) -> &'static str {
    match value {
        value if value < 0.07 => "a little",
        value if value < 0.125 => "about a tenth",
        value if value < 0.175 => "about a seventh",
        value if value < 0.225 => "about a fifth",
        value if value < 0.29 => "about a quarter",
        value if value < 0.365 => "about a third",
        value if value < 0.45 => "about two fifths",
        value if value < 0.55 => "about half",
        value if value < 0.7 => "more than half",
        _ => "most",
    }
}

/// Limits of a share: "31 to 82 %".
#[must_use]
pub(crate) fn share_limits(limits: Interval) -> String {
    // Adding nothing turns a negative zero into nothing.
    let whole = |limit: f64| (limit.clamp(0.0, 1.0) * 100.0).round() + 0.0;
    let (low, high) = (whole(limits.low()), whole(limits.high()));
    format!("{low:.0} to {high:.0} %")
}

/// Minutes: "40 seconds", "1 minute", "12 minutes", "about 2 and a half hours".
#[must_use]
pub(crate) fn minutes(minutes: f64) -> String {
    seconds(minutes * 60.0)
}

/// A length: "8 seconds", "a minute and a half", "12 minutes"; from 20 seconds on in fives, since
/// nobody means the second.
#[must_use]
pub(crate) fn seconds(seconds: f64) -> String {
    let whole = seconds.max(0.0).round();
    let whole = if whole < 20.0 { whole } else { (whole / 5.0).round() * 5.0 };
    if whole < 90.0 {
        return counted(whole as usize, "second", "seconds");
    }
    let minutes = seconds / 60.0;
    if minutes < 2.75 {
        return if minutes < 1.75 {
            "a minute and a half".to_owned()
        } else if minutes < 2.25 {
            "2 minutes".to_owned()
        } else {
            "2 minutes and a half".to_owned()
        };
    }
    if minutes < 120.0 {
        return format!("{minutes:.0} minutes");
    }
    format!("{:.0} hours", minutes / 60.0)
}

/// A length that something takes at most: as [`seconds`], but never less than it is.
#[must_use]
pub(crate) fn within(length: f64) -> String {
    let whole = length.max(0.0).ceil();
    seconds(if (20.0..90.0).contains(&whole) { (whole / 5.0).ceil() * 5.0 } else { whole })
}

/// How often something comes at a rate per minute: "about every 40 seconds", "about every 3
/// minutes". Nothing for a rate that is none.
#[must_use]
pub(crate) fn every(per_minute: f64) -> Option<String> {
    if !(per_minute.is_finite() && per_minute > 1e-6) {
        return None;
    }
    let gap = 60.0 / per_minute;
    let rounded = match gap {
        gap if gap < 20.0 => gap.round().max(1.0),
        gap if gap < 90.0 => (gap / 5.0).round() * 5.0,
        gap => {
            let gap = seconds(gap);
            return Some(format!("about every {}", gap.strip_prefix("a ").unwrap_or(&gap)));
        }
    };
    match rounded as u64 {
        1 => Some("about every second".to_owned()),
        60 => Some("about once a minute".to_owned()),
        many => Some(format!("about every {many} seconds")),
    }
}

/// A rate in figures: "1.2 a minute"; small ones with one more place, so that they are not 0.0.
#[must_use]
pub(crate) fn rate(per_minute: f64) -> String {
    format!("{} a minute", short(per_minute))
}

/// Limits of a rate: "0.6 to 2.1".
#[must_use]
pub(crate) fn rate_limits(limits: Interval) -> String {
    format!("{} to {}", short(limits.low()), short(limits.high()))
}

/// One decimal, two below a half; "any number" where there is no limit.
#[must_use]
pub(crate) fn short(value: f64) -> String {
    if !value.is_finite() {
        "no limit".to_owned()
    } else if value <= -0.005 {
        format!("\u{2212}{}", short(-value))
    } else if value.abs() < 0.005 {
        "0".to_owned()
    } else if value.abs() < 0.5 {
        format!("{value:.2}")
    } else {
        format!("{value:.1}")
    }
}

/// A chance as people weigh it: "2 in 5", "3 in 4", "9 in 10".
#[must_use]
pub(crate) fn odds(chance: f64) -> String {
    const WORDS: [(f64, &str); 13] = [
        (0.05, "1 in 20"),
        (0.1, "1 in 10"),
        (0.2, "1 in 5"),
        (0.25, "1 in 4"),
        (1.0 / 3.0, "1 in 3"),
        (0.4, "2 in 5"),
        (0.5, "1 in 2"),
        (0.6, "3 in 5"),
        (2.0 / 3.0, "2 in 3"),
        (0.75, "3 in 4"),
        (0.8, "4 in 5"),
        (0.9, "9 in 10"),
        (0.95, "19 in 20"),
    ];
    if chance < 0.03 {
        return "less than 1 in 20".to_owned();
    }
    if chance > 0.97 {
        return "more than 19 in 20".to_owned();
    }
    let apart = |chosen: &&(f64, &str)| (chosen.0 - chance).abs();
    let nearest = WORDS.iter().min_by(|one, other| apart(one).total_cmp(&apart(other)));
    nearest.map_or_else(String::new, |nearest| nearest.1.to_owned())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn counts_are_said_as_people_say_them() {
        let said: Vec<String> = [0.0, 0.2, 0.9, 1.0, 2.0, 6.96, 7.3].map(times).into();
        assert_eq!(
            said,
            ["not once", "perhaps once", "about once", "once", "twice", "7 times", "about 7 times"]
        );
    }

    #[test]
    fn rates_are_said_as_gaps() {
        let said: Vec<String> =
            [0.1, 0.4, 0.7, 1.0, 1.5, 4.0, 60.0].map(|rate| every(rate).unwrap()).into();
        assert_eq!(
            said,
            [
                "about every 10 minutes",
                "about every 2 minutes and a half",
                "about every 85 seconds",
                "about once a minute",
                "about every 40 seconds",
                "about every 15 seconds",
                "about every second"
            ]
        );
        assert_eq!(every(0.0), None);
        assert_eq!(every(f64::INFINITY), None);
    }

    #[test]
    fn chances_are_never_certain() {
        let said: Vec<String> = [0.0, 0.41, 0.7, 1.0].map(odds).into();
        assert_eq!(said, ["less than 1 in 20", "2 in 5", "2 in 3", "more than 19 in 20"]);
    }
}
