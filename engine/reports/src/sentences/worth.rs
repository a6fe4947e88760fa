//! What a place is worth.

use figures::worth::Worth;

use super::Said;
use crate::amounts::minutes;
use crate::whose::Whose;
use crate::wording::{capital, place};

/// Minutes in a place under which a line says that it is mostly the others' number. `common
/// practice`: as much as the group counts for ([`figures::game::GROUP_MINUTES`]).
const MOSTLY_THE_OTHERS: f64 = figures::game::GROUP_MINUTES;

/// What being in a place tends to bring in the rest of a round.
#[must_use]
pub fn worth(whose: &Whose<'_>, worth: &Worth) -> Said {
    let here = capital(&place(worth.place));
    let them = whose.them();
    let limits = worth.interval;
    let tells = if limits.low() > 0.0 {
        format!("rounds tend to go {} from there", way(whose, true))
    } else if limits.high() < 0.0 {
        format!("rounds tend to go {} from there", way(whose, false))
    } else {
        format!("rounds can go either way for {them} from there")
    };
    let few = if worth.minutes < MOSTLY_THE_OTHERS {
        " Seldom there so far, so that is mostly what others show."
    } else {
        ""
    };
    let line = format!("{here}: {tells}.{few}");
    let there = if worth.minutes < 0.01 {
        "not there yet".to_owned()
    } else {
        format!("{} there", minutes(worth.minutes))
    };
    let numbers = format!(
        "{} submissions in a round to come, got less given ({} to {}); {there}.",
        signed(worth.value),
        signed(limits.low()),
        signed(limits.high()),
    );
    Said::new(line, numbers)
}

fn way(whose: &Whose<'_>, good: bool) -> String {
    if good { format!("{} way", whose.their()) } else { format!("against {}", whose.them()) }
}

/// "+0.4", "0", "\u{2212}0.3"
pub(super) fn signed(value: f64) -> String {
    let text = format!("{:.1}", value.abs());
    match value {
        _ if text == "0.0" => "0".to_owned(),
        value if value < 0.0 => format!("\u{2212}{text}"),
        _ => format!("+{text}"),
    }
}
