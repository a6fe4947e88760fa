//! What changed since a day, and whether that is more than chance.

use figures::over_time::{Changed, ChangedOut};
use figures::overview::Changes;
use figures::{Place, Role};

use super::{MORE_THAN_CHANCE, Said};
use crate::amounts::{counted, counted_about, rate, share, short, times};
use crate::doings::placed_clause;
use crate::whose::Whose;
use crate::wording::{capital, day_and_month, place};

/// Changes up to this adjusted p-value are named, with what they are; the rest is not worth a line.
/// `common practice`.
const WORTH_NAMING: f64 = 0.2;

/// How one habit changed.
#[must_use]
pub fn changed(whose: &Whose<'_>, changed: &Changed) -> Said {
    let habit = placed_clause(whose, changed.doing, "", true);
    let how = match changed.ratio.ratio {
        ratio if !ratio.is_finite() => "which was not seen before".to_owned(),
        ratio if ratio <= 0.0 => "not seen since".to_owned(),
        ratio => ratio_in_words(ratio),
    };
    let what = what(changed.better, changed.adjusted);
    let chance = if changed.adjusted <= MORE_THAN_CHANCE {
        if changed.better.is_none() {
            "More than chance, and a matter of style."
        } else {
            "More than chance."
        }
    } else {
        "It may be chance."
    };
    let line = format!("{what}: {habit}, {how}. {chance}");
    let limits = changed.ratio.interval;
    let ratio = if changed.ratio.ratio.is_finite() {
        format!(
            "{} times as often ({} to {})",
            short(changed.ratio.ratio),
            short(limits.low()),
            short(limits.high())
        )
    } else {
        format!("at least {} times as often", short(limits.low()))
    };
    let numbers = format!(
        "{} before ({}), {} since ({}); {ratio}; the chance of so much change by luck, with all \
         that was looked at, is {}.",
        rate(changed.before.value),
        times(changed.before.count),
        rate(changed.since.value),
        times(changed.since.count),
        share(changed.adjusted),
    );
    Said::new(line, numbers)
}

/// The word before a change: what may be chance is called by no name that would stick.
const fn what(better: Option<bool>, adjusted: f64) -> &'static str {
    match (better, adjusted <= MORE_THAN_CHANCE) {
        (Some(true), true) => "Better",
        (Some(true), false) => "Perhaps better",
        (Some(false), true) => "To watch",
        (Some(false), false) => "Perhaps to watch",
        (None, true) => "Different",
        (None, false) => "Perhaps different",
    }
}

/// "about twice as often as before", "about half as often as before".
pub(super) fn ratio_in_words(ratio: f64) -> String {
    match ratio {
        ratio if ratio >= 2.75 => format!("about {ratio:.0} times as often as before"),
        ratio if ratio >= 1.75 => "about twice as often as before".to_owned(),
        ratio if ratio >= 1.35 => "about one and a half times as often as before".to_owned(),
        ratio if ratio >= 1.1 => "a little more often than before".to_owned(),
        ratio if ratio > 0.9 => "about as often as before".to_owned(),
        ratio if ratio > 0.6 => "less often than before".to_owned(),
        ratio if ratio > 0.4 => "about half as often as before".to_owned(),
        ratio if ratio > 0.28 => "about a third as often as before".to_owned(),
        _ => "far less often than before".to_owned(),
    }
}

/// How getting out of one position changed.
#[must_use]
pub fn changed_out(whose: &Whose<'_>, changed: &ChangedOut) -> Said {
    let comparison = &changed.comparison;
    let here = place(Place { position: comparison.position, role: Role::Bottom });
    let better = comparison.excess > 0.0;
    let how = if better { "sooner or more often" } else { "later or less often" };
    let what = what(Some(better), changed.adjusted);
    let chance = if changed.adjusted <= MORE_THAN_CHANCE {
        "More than chance."
    } else {
        "It may be chance."
    };
    let line = format!(
        "{what}: {here}, {} {} out {how} than before. {chance}",
        whose.name(),
        whose.name_does("get", "gets")
    );
    let numbers = format!(
        "{} since, {} before; the chance of so much change by luck, with all that was looked at, is {}.",
        capital(&counted_about(comparison.stays[0], "stay", "stays")),
        counted_about(comparison.stays[1], "stay", "stays"),
        share(changed.adjusted),
    );
    Said::new(line, numbers)
}

/// What changed since a day, the least likely to be chance first, so many at most. Where nothing
/// stands out, one line says so: that is no bad news.
#[must_use]
pub fn what_changed(whose: &Whose<'_>, changes: &Changes, most: usize) -> Vec<Said> {
    let habits = changes.what.habits.iter();
    let outs = changes.what.getting_out.iter();
    let mut all: Vec<(f64, Said)> = habits
        .filter(|one| one.adjusted <= WORTH_NAMING)
        .map(|one| (one.adjusted, changed(whose, one)))
        .chain(
            outs.filter(|one| one.adjusted <= WORTH_NAMING)
                .map(|one| (one.adjusted, changed_out(whose, one))),
        )
        .collect();
    all.sort_by(|one, other| one.0.total_cmp(&other.0));
    all.truncate(most);
    if !all.is_empty() {
        return all.into_iter().map(|(_, said)| said).collect();
    }
    let [before, since] = changes.rounds.map(|rounds| counted(rounds, "round", "rounds"));
    let day = day_and_month(changes.since);
    let line = if changes.rounds.contains(&0) {
        format!("There are rounds on one side of {day} only, so nothing can be compared yet.")
    } else {
        format!("Nothing has changed since {day} by more than rounds differ anyway.")
    };
    vec![Said::new(line, format!("{} before {day}, {since} from then on.", capital(&before)))]
}
