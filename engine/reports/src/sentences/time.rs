//! Where the time goes, how often things change, how long they are held, and who was on top.

use figures::figure::Figure;
use figures::round::{Holds, OfPlace};

use super::{FEW, Said};
use crate::amounts::{
    counted, counted_about, every, minutes, part, rate, rate_limits, seconds, share, share_limits,
    short,
};
use crate::whose::{Voice, Whose};
use crate::wording::{capital, place};

/// Where the time goes: the three places with most of it; nothing without any time. `rolled` is the
/// known rolling, in seconds.
#[must_use]
pub fn time_by_place(
    whose: &Whose<'_>,
    time: &[OfPlace],
    rounds: usize,
    rolled: f64,
) -> Option<Said> {
    let mut most: Vec<&OfPlace> = time.iter().filter(|one| one.figure.value > 0.0).collect();
    most.sort_by(|one, other| other.figure.value.total_cmp(&one.figure.value));
    let first = most.first()?;
    let rest: Vec<String> = most[1..].iter().take(2).map(|one| place(one.place)).collect();
    let then = match rest.as_slice() {
        [] => String::new(),
        [one] => format!(", then {one}"),
        [one, other, ..] => format!(", then {one} and {other}"),
    };
    let from = format!("{}, {}", counted(rounds, "round", "rounds"), minutes(rolled / 60.0));
    let line = format!(
        "{} of {} time is spent {}{then}.",
        capital(part(first.figure.value)),
        whose.names(),
        place(first.place),
    );
    let numbers = most.iter().take(6).map(|one| {
        format!(
            "{} {} ({})",
            place(one.place),
            share(one.figure.value),
            share_limits(one.figure.interval)
        )
    });
    let numbers = format!("{}. From {from}.", capital(&numbers.collect::<Vec<_>>().join(", ")));
    Some(Said::new(line, numbers))
}

/// Changes per minute. There is no right pace.
#[must_use]
pub fn pace(whose: &Whose<'_>, pace: &Figure) -> Said {
    let line = match every(pace.value) {
        Some(every) => format!(
            "In {} rounds the position or the top changes {every}. That is a way of rolling, not a \
             mark.",
            whose.names()
        ),
        None => format!("In {} rounds no change of position has been seen yet.", whose.names()),
    };
    let numbers = format!(
        "{} changes a minute ({}), {} in all.",
        short(pace.value),
        rate_limits(pace.interval),
        counted_about(pace.count, "change", "changes"),
    );
    Said::new(line, numbers)
}

/// How long one place is held.
#[must_use]
pub fn hold(whose: &Whose<'_>, holds: &Holds) -> Said {
    let here = capital(&place(holds.place));
    let stays = counted_about(holds.median.count, "stay", "stays");
    let (middle, longest) = (seconds(holds.median.value), seconds(holds.longest));
    let of = whose.names();
    let line = if holds.median.count < 1.5 {
        format!("{here}, {of} one stay so far lasted {longest}.")
    } else if holds.median.count < FEW {
        format!("{here}, only {stays} so far; the longest lasted {longest}.")
    } else {
        format!(
            "{here}, half of {of} stays are over within {middle}; the longest lasted {longest}."
        )
    };
    let limits = holds.median.interval;
    let cut = if holds.cut >= 0.5 {
        format!(
            ", {} cut short by the clock or a pause",
            counted_about(holds.cut, "of them", "of them")
        )
    } else {
        String::new()
    };
    let numbers = format!(
        "Middle of {stays}: {:.0} s ({:.0} to {:.0}); longest {:.0} s{cut}.",
        holds.median.value.round(),
        limits.low().round(),
        limits.high().round(),
        holds.longest.round(),
    );
    Said::new(line, numbers)
}

/// How evenly the top was shared. On top is a description and not a merit.
#[must_use]
pub fn give_and_take(whose: &Whose<'_>, figure: &Figure) -> Said {
    let partners = match whose.voice {
        Voice::You => "you and your partners",
        Voice::Third => "both",
        Voice::Together => "they and their partners",
    };
    let line = match figure.value {
        even if even >= 0.8 => format!("The top was shared about evenly: {partners} got to play."),
        even if even >= 0.5 => {
            format!("One was on top more than the other, but {partners} had a share of it.")
        }
        even if even >= 0.2 => "Mostly one of the two was on top. That can be a choice: good work \
                                is done from underneath too."
            .to_owned(),
        _ => "One of the two was on top nearly all along. That can be a choice: good work is done \
              from underneath too."
            .to_owned(),
    };
    let numbers = format!(
        "{} of 1 ({} to {}); 1 is half and half, 0 is one of them all along. From {} with somebody \
         on top.",
        short(figure.value),
        short(figure.interval.low()),
        short(figure.interval.high()),
        counted_about(figure.count, "stretch", "stretches"),
    );
    Said::new(line, numbers)
}

/// "0.8 a minute (0.4 to 1.5)"
pub(super) fn rate_in_numbers(figure: &Figure) -> String {
    format!("{} ({})", rate(figure.value), rate_limits(figure.interval))
}
