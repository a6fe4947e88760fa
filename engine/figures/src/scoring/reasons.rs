//! The words for why something counts or doesn't.

use super::tally::Claim;
use super::{Action, Why};

/// Seconds as a coach reads them: whole from ten on, a tenth below.
pub(super) fn seconds(millis: u64) -> String {
    let seconds = millis as f64 / 1000.0;
    if millis.is_multiple_of(1000) || millis >= 10_000 {
        format!("{} s", millis / 1000)
    } else {
        format!("{seconds:.1} s")
    }
}

/// What was done, as in "passed from open guard to side control".
pub(super) fn deed(action: Action, from: &str, to: &str) -> String {
    match action {
        Action::Takedown => format!("took the other down from standing into {to}"),
        Action::Sweep => format!("swept from the bottom of {from} to the top of {to}"),
        Action::Reversal => format!("came up from under {from} to the top of {to}"),
        Action::Pass => format!("passed from {from} to {to}"),
        Action::KneeOnBelly | Action::Mount | Action::BackControl => {
            format!("reached {to} from {from}")
        }
        Action::GuardPull => format!("pulled guard into {to}"),
        Action::GuardRecovery => format!("got back from under {from} to {to}"),
    }
}

/// Why it counts: the deed and how long it was held.
pub(super) fn counts(claim: &Claim, millis: u64, freed: bool) -> String {
    let (deed, held) = (&claim.deed, seconds(millis));
    match (freed, claim.chained, claim.several) {
        (true, ..) => format!("{deed} and, once free of the submission, held it {held}"),
        (_, true, _) => format!("{deed}, {held} on the way to the position that was held"),
        (.., true) => format!("{deed} and kept the control {held}"),
        _ => format!("{deed} and held it {held}"),
    }
}

/// Why it doesn't count; `millis` is how long it lasted, where that matters.
pub(super) fn does_not_count(deed: &str, why: Why, millis: u64, hold: u64) -> String {
    match why {
        Why::TooShort => {
            format!("{deed}, but only for {}; {} are needed", seconds(millis), seconds(hold))
        }
        Why::Caught => {
            format!("{deed}, but was caught in a submission and not free for {}", seconds(hold))
        }
        Why::NoPoints => format!("{deed}: these rules give nothing for it"),
        Why::Again => format!("{deed} again, without having lost the control in between"),
        Why::MovingDown => format!("{deed}, down from a position worth more"),
        Why::Straight => {
            format!(
                "{deed} in the same movement, within {}, so only the movement counts",
                seconds(hold)
            )
        }
        Why::NoGuard if millis > 0 => {
            format!("{deed}, but the guard was in play for only {}", seconds(millis))
        }
        Why::NoGuard => format!("{deed}, but there was no guard in play to pass"),
        Why::OneHook => format!("{deed}: the second hook is missing"),
        Why::BeforePoints => format!("{deed} in the part of the round without points"),
        Why::NotTold => format!("{deed}: nothing tells whether it was a takedown or a guard pull"),
        Why::StartedThere => format!("{deed}: it began there, nothing was reached"),
        Why::AfterSubmission => "after the submission nothing counts".to_owned(),
    }
}
