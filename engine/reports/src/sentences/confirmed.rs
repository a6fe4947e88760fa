//! How much of it a person confirmed.

use figures::figure::Tally;

use super::Said;
use crate::amounts::{counted, minutes};

/// How much of the time a person told or confirmed. `rolled` is the known rolling in seconds.
#[must_use]
pub fn confirmed(rolled: Tally, rounds: usize) -> Said {
    let from = counted(rounds, "round", "rounds");
    let percent = (rolled.confirmed() * 100.0).round();
    let line = match percent {
        _ if rolled.all <= 0.0 => "Nothing is known of these rounds yet.".to_owned(),
        percent if percent >= 99.0 => {
            format!("All of this was confirmed by a person, from {from}.")
        }
        percent if percent < 1.0 => format!(
            "None of this was confirmed by a person yet: it was heard from the talk over {from}."
        ),
        percent => format!(
            "About {percent:.0} % of this was confirmed by a person; the rest was heard from the \
             talk over {from}."
        ),
    };
    let numbers = format!(
        "{} of rolling known, {} of it confirmed.",
        crate::wording::capital(&minutes(rolled.all / 60.0)),
        minutes(rolled.told / 60.0)
    );
    Said::new(line, numbers)
}
