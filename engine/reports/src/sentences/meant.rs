//! Whether a round was what it was meant to be.

use figures::meant::{Evidence, Meant, Measure, Reading};

use super::Said;
use crate::amounts::{counted, every, seconds, share, short};
use crate::wording::{capital, kind};

/// A round beside its kind. Names nobody: it is about both.
#[must_use]
pub fn meant(meant: &Meant) -> Said {
    let kind = kind(meant.kind);
    let line = match meant.reading {
        Reading::MostlyPins => format!(
            "It was meant as a {kind}, and more than half of it was pins: ask both how it felt."
        ),
        Reading::OneSided => format!(
            "It was meant as a {kind}, and one of them was on top nearly all along: was that the plan?"
        ),
        Reading::Unlike => {
            // The oddest measure, and the next where it is far out as well.
            let odd: Vec<String> = (meant.evidence.iter().take(2).enumerate())
                .filter(|(at, one)| *at == 0 || is_odd(one))
                .map(|(_, one)| odd(one))
                .collect();
            format!(
                "For a {kind} here it stands out: {}. Some rounds do by chance: a reason to look, \
                 no verdict.",
                odd.join(", ")
            )
        }
        Reading::Alike => {
            format!("It looks like the other rounds here that were meant as a {kind}.")
        }
        Reading::NothingToCompare => {
            format!(
                "There are too few other rounds here meant as a {kind} to say whether it was one."
            )
        }
    };
    let numbers: Vec<String> = meant.evidence.iter().map(|one| evidence(one).numbers).collect();
    let chance = meant.chance.map_or_else(String::new, |chance| {
        format!("Of rounds like the others, {} are as odd as this one. ", share(chance))
    });
    let measured =
        if numbers.is_empty() { "Nothing is known of it.".to_owned() } else { numbers.join(" ") };
    Said::new(line, format!("{chance}{measured}"))
}

/// One measure of a round beside the others of its kind.
#[must_use]
pub fn evidence(evidence: &Evidence) -> Said {
    let value = amount(evidence.measure, evidence.value);
    let name = capital(name(evidence.measure));
    let line = match evidence.others {
        Some(others) if is_odd(evidence) => {
            let side = if others.below > 0.5 { "more" } else { "less" };
            format!("{name}: {value}, {side} than in nearly all others of its kind.")
        }
        Some(_) => format!("{name}: {value}, as in others of its kind."),
        None => format!("{name}: {value}."),
    };
    let numbers = match evidence.others {
        Some(others) => {
            let [low, middle, high] = others.quartiles.map(|one| plain(evidence.measure, one));
            format!(
                "{name} {}; the middle half of {} lies from {low} to {high}, the middle one at \
                 {middle}.",
                plain(evidence.measure, evidence.value),
                counted(others.rounds, "other", "others"),
            )
        }
        None => format!("{name} {}.", plain(evidence.measure, evidence.value)),
    };
    Said::new(line, numbers)
}

/// Whether nearly all others lie on one side of it.
fn is_odd(evidence: &Evidence) -> bool {
    evidence.others.is_some_and(|others| others.below.min(1.0 - others.below) <= 0.05)
}

/// "fewer changes than usual (about every 50 seconds)"
fn odd(evidence: &Evidence) -> String {
    let more = evidence.others.is_some_and(|others| others.below > 0.5);
    let words = match (evidence.measure, more) {
        (Measure::Changes, true) => "more changes",
        (Measure::Changes, false) => "fewer changes",
        (Measure::Pinned, true) => "more time in pins",
        (Measure::Pinned, false) => "less time in pins",
        (Measure::LongestPin, true) => "a longer pin",
        (Measure::LongestPin, false) => "shorter pins",
        (Measure::GiveAndTake, true) => "a top more evenly shared",
        (Measure::GiveAndTake, false) => "a top less evenly shared",
        (Measure::Attempts, true) => "more submission attempts",
        (Measure::Attempts, false) => "fewer submission attempts",
        (Measure::Releases, true) => "more submissions let go",
        (Measure::Releases, false) => "fewer submissions let go",
        (Measure::Taps, true) => "more taps",
        (Measure::Taps, false) => "fewer taps",
    };
    format!("{words} than usual ({})", amount(evidence.measure, evidence.value))
}

const fn name(measure: Measure) -> &'static str {
    match measure {
        Measure::Changes => "changes",
        Measure::Pinned => "time in pins",
        Measure::LongestPin => "the longest pin",
        Measure::GiveAndTake => "give and take",
        Measure::Attempts => "submission attempts",
        Measure::Releases => "submissions let go",
        Measure::Taps => "taps",
    }
}

/// The value as people say it.
fn amount(measure: Measure, value: f64) -> String {
    match measure {
        Measure::Pinned => share(value),
        Measure::LongestPin => seconds(value),
        Measure::GiveAndTake => format!("{} of 1", short(value)),
        _ => every(value).unwrap_or_else(|| "none".to_owned()),
    }
}

/// The value in its unit.
fn plain(measure: Measure, value: f64) -> String {
    match measure {
        Measure::Pinned => share(value),
        Measure::LongestPin => format!("{value:.0} s"),
        Measure::GiveAndTake => short(value),
        _ => format!("{} a minute", short(value)),
    }
}
