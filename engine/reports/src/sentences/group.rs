//! What a group has in common.

use figures::overview::Need;

use super::Said;
use super::train_next::goal;
use crate::amounts::{counted, short};
use crate::wording::capital;

/// What would help the members of a group. Names nobody.
#[must_use]
pub fn need(need: &Need, members: usize) -> Said {
    let best = match need.best_for.len() {
        0 => "for each of them something else is likelier to help most".to_owned(),
        1 => "for 1 of them nothing else is likelier to help most".to_owned(),
        many => format!("for {many} of them nothing else is likelier to help most"),
    };
    let line = format!("{}: {best}.", capital(&goal(need.doing)));
    let numbers = format!(
        "Worth {} net submissions a round on average over {}; known of {}.",
        short(need.gain),
        counted(members, "member", "members"),
        counted(need.members, "member", "members"),
    );
    Said::new(line, numbers)
}
