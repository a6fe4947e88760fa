//! Habits, with what shrinking does to small samples shown; surest ways and leaks; submissions.

use academy::EventKind;
use figures::habits::{Habit, HowAttemptsEnd, Pooled, SetsApart, Towards, is_good};
use figures::overview::Done;
use figures::tallies::Doing;

use super::{FEW, Said};
use crate::amounts::{
    counted_about, every, minutes, odds, rate, rate_limits, share, share_limits, times,
};
use crate::doings::{clause, habit_name, placed_clause};
use crate::sentences::time::rate_in_numbers;
use crate::whose::Whose;
use crate::wording::capital;

/// How often something is done from a place: "Passing, on top in half guard: 7 times in 5 minutes
/// there, about every 40 seconds."
#[must_use]
pub fn habit(habit: &Habit) -> Said {
    let reads = habit.pooled.map_or(habit.seen.value, |pooled| pooled.value);
    let often = match every(reads) {
        Some(every) if habit.seen.count < 0.05 => {
            format!("; from what others do there, it may come {every}")
        }
        Some(every) => format!(", which reads as {every}"),
        None => String::new(),
    };
    let line = format!("{}: {} there{often}.", capital(&habit_name(habit.doing)), seen(habit));
    Said::new(line, habit_numbers(habit))
}

/// "7 times in 5 minutes"
fn seen(habit: &Habit) -> String {
    format!("{} in {}", times(habit.seen.count), minutes(habit.minutes))
}

/// "7 times in 5 minutes there; reads as 1.2 a minute, 0.6 to 2.1, drawn towards the belt ..."
fn habit_numbers(habit: &Habit) -> String {
    match habit.pooled {
        Some(pooled) => format!(
            "{} there; reads as {}, {}, {}.",
            capital(&seen(habit)),
            rate(pooled.value),
            rate_limits(pooled.interval),
            drawn(&pooled, &rate(pooled.group)),
        ),
        None => format!(
            "{} there: {}. Too few others were there to read it beside them.",
            capital(&seen(habit)),
            rate_in_numbers(&habit.seen),
        ),
    }
}

/// "drawn towards the belt's 1.0 a minute, own rounds counting 60 %"
fn drawn(pooled: &Pooled, group: &str) -> String {
    let whom = match pooled.towards {
        Towards::Belt => "belt",
        Towards::Academy => "academy",
    };
    format!(
        "drawn towards the {whom}\u{2019}s {group}, own rounds counting {}",
        share(pooled.own_weight)
    )
}

/// Something that works for somebody, likely more than for most of the others.
#[must_use]
pub fn surest_way(whose: &Whose<'_>, apart: &SetsApart) -> Said {
    let clause = placed_clause(whose, apart.habit.doing, adverb(apart.habit.doing, true), true);
    set_apart(&format!("Works well: {clause}"), apart)
}

/// Something that keeps going the other way, likely more than for most of the others.
#[must_use]
pub fn leak(whose: &Whose<'_>, apart: &SetsApart) -> Said {
    let clause = placed_clause(whose, apart.habit.doing, adverb(apart.habit.doing, false), true);
    set_apart(&format!("Worth a look: {clause}"), apart)
}

/// Often where more of it is what is meant, seldom where less is.
fn adverb(doing: Doing, better: bool) -> &'static str {
    if is_good(doing).unwrap_or(true) == better { "often" } else { "seldom" }
}

fn set_apart(start: &str, apart: &SetsApart) -> Said {
    let few = if apart.habit.seen.count < FEW { ", few as they are" } else { "" };
    let line = format!("{start} ({}{few}).", seen(&apart.habit));
    let numbers = format!(
        "{} The chance that it is so beside those others: {}.",
        habit_numbers(&apart.habit),
        odds(apart.chance)
    );
    Said::new(line, numbers)
}

/// How submission attempts end: "3 of 4 attempts with a known ending were there: 1 finished, 2 let
/// go by choice."
#[must_use]
pub fn attempts(whose: &Whose<'_>, ends: &HowAttemptsEnd) -> Said {
    let attempts = &ends.attempts;
    let (finished, released) = (attempts.finished.all, attempts.released.all);
    let there = (finished + released).round();
    let few = if ends.caught.count < FEW { " Too few to say more." } else { "" };
    let line = format!(
        "{there:.0} of {} of {} with a known ending {} there: {} finished, {} let go by choice.{few}",
        counted_about(ends.caught.count, "submission attempt", "submission attempts"),
        possession(whose),
        if there == 1.0 { "was" } else { "were" },
        whole(finished),
        whole(released),
    );
    let open = attempts.open.all;
    let open = if open >= 0.5 {
        format!(" Of {} more nobody told how it ended.", whole(open))
    } else {
        String::new()
    };
    let reads = match ends.pooled {
        Some(pooled) => format!(
            "reads as {}, {}, {}",
            share(pooled.value),
            share_limits(pooled.interval),
            drawn(&pooled, &share(pooled.group)),
        ),
        None => format!("{} ({})", share(ends.caught.value), share_limits(ends.caught.interval)),
    };
    let numbers = format!("{there:.0} of {} seen, {reads}.{open}", whole(ends.caught.count));
    Said::new(line, numbers)
}

fn possession(whose: &Whose<'_>) -> String {
    use crate::whose::Voice;
    match whose.voice {
        Voice::You => "yours".to_owned(),
        Voice::Third | Voice::Together => whose.name(),
    }
}

fn whole(count: f64) -> String {
    format!("{:.0}", count.round().max(0.0))
}

/// How often something comes per minute of rolling: "Petra goes for a submission about every 2
/// minutes."
#[must_use]
pub fn done(whose: &Whose<'_>, done: &Done) -> Said {
    let doing = Doing {
        place: figures::Place {
            position: academy::Position::Standing,
            role: figures::Role::Neither,
        },
        kind: done.kind,
        own: done.own,
    };
    let line = match every(done.rate.value) {
        Some(every) => format!("{} {every}.", capital(&clause(whose, doing, "", true))),
        None => format!("{}: not once so far.", capital(crate::doings::gerund(doing))),
    };
    let numbers = format!(
        "{}, {}, {}.",
        capital(done_name(done.kind)),
        times(done.rate.count),
        rate_in_numbers(&done.rate)
    );
    Said::new(line, numbers)
}

const fn done_name(kind: EventKind) -> &'static str {
    match kind {
        EventKind::SubmissionAttempt => "submission attempts",
        EventKind::SubmissionEscape => "submissions got out of",
        EventKind::Release => "submissions let go",
        EventKind::Tap => "taps",
        other => other.name(),
    }
}
