//! One place at one belt.

use figures::Place;
use figures::layers::Layer;

use super::Said;
use crate::amounts::{counted, every, rate, rate_limits, share, share_limits};
use crate::doings::gerund;
use crate::wording::place;

/// What the members of one belt do in one place. It describes the academy and sets no norm.
#[must_use]
pub fn layer(layer: &Layer, here: Place) -> Said {
    let belt = layer.belt.id();
    let members = counted(layer.members, "person", "people");
    let habits: Vec<String> = (layer.habits.iter().take(3))
        .filter_map(|habit| Some(format!("{} {}", gerund(habit.doing), every(habit.rate.value)?)))
        .collect();
    let there = if habits.is_empty() {
        String::new()
    } else {
        format!(" Most often there: {}.", habits.join(", "))
    };
    let line = format!(
        "At {belt} belt ({members}), {} of the time is spent {}.{there}",
        share(layer.share.value),
        place(here)
    );
    let numbers: Vec<String> = (layer.habits.iter().take(5))
        .map(|habit| {
            let (rate, limits) = (rate(habit.rate.value), rate_limits(habit.rate.interval));
            format!("{} {rate} ({limits})", gerund(habit.doing))
        })
        .collect();
    let limits = share_limits(layer.share.interval);
    let rest = if numbers.is_empty() { String::new() } else { format!("; {}", numbers.join(", ")) };
    Said::new(line, format!("{} of the time ({limits}){rest}.", share(layer.share.value)))
}
