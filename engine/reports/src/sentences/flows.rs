//! From where to where.

use figures::flows::Flow;

use super::{FEW, Said};
use crate::amounts::{counted_about, share, share_limits, times};
use crate::whose::Whose;
use crate::wording::{capital, place};

/// One flow: "Under side control, the next is underneath in half guard 7 times of 12."
#[must_use]
pub fn flow(whose: &Whose<'_>, flow: &Flow) -> Said {
    let out = counted_about(flow.share.count, "change", "changes");
    let few = if flow.share.count < FEW { ", few as they are" } else { "" };
    let line = format!(
        "{}, {} went on to be {} {} in {out}{few}.",
        capital(&place(flow.from)),
        whose.name(),
        place(flow.to),
        times(flow.count),
    );
    let numbers = format!(
        "{} of what follows there ({}).",
        share(flow.share.value),
        share_limits(flow.share.interval)
    );
    Said::new(line, numbers)
}

/// The flows as a whole: what happens most; nothing where none was seen.
#[must_use]
pub fn flows(whose: &Whose<'_>, flows: &[Flow]) -> Option<Said> {
    let most: Vec<&Flow> = flows.iter().take(3).collect();
    let first = most.first()?;
    let way = |flow: &Flow| format!("from {} to {}", place(flow.from), place(flow.to));
    let rest: Vec<String> = most[1..].iter().map(|flow| way(flow)).collect();
    let then =
        if rest.is_empty() { String::new() } else { format!(", then {}", rest.join(", and ")) };
    let line = format!(
        "The way {} most often {} is {}{then}.",
        whose.name(),
        whose.name_does("go", "goes"),
        way(first)
    );
    let numbers: Vec<String> = (most.iter())
        .map(|flow| format!("{}: {}", capital(&way(flow)), times(flow.count)))
        .collect();
    let all: f64 = flows.iter().map(|flow| flow.count).sum();
    let all = counted_about(all, "change", "changes");
    Some(Said::new(line, format!("{}. {} in all.", numbers.join(". "), capital(&all))))
}
