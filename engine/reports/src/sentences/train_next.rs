//! What to train next: never surer than it is.

use academy::EventKind;
use figures::tallies::Doing;
use figures::train_next::Change;

use super::Said;
use crate::amounts::{counted, minutes, odds, rate, short, times};
use crate::whose::{Voice, Whose};
use crate::wording::{capital, place};

/// With fewer rounds a suggestion is said to be a guess. `common practice`: the planted leak of a
/// simulated student is seldom found from fewer.
const FEW_ROUNDS: usize = 10;

/// One thing to train next. `first` is whether nothing else is likelier to be worth most; `rounds`
/// is how many it rests on, which is said with the first.
#[must_use]
pub fn train_next(whose: &Whose<'_>, change: &Change, first: bool, rounds: usize) -> Said {
    let goal = capital(&goal(change.doing));
    let odds = odds(change.best);
    let choice = match (first, change.best) {
        _ if rounds < FEW_ROUNDS && first => {
            let few = counted(rounds, "round", "rounds");
            format!(
                "perhaps what would change most for {}; from {few} that is a guess",
                whose.them()
            )
        }
        _ if rounds < FEW_ROUNDS => "or perhaps this".to_owned(),
        (true, best) if best >= 0.5 => {
            format!("likely the one thing that would change most for {} ({odds})", whose.them())
        }
        (true, _) => format!(
            "likeliest the one thing that would change most for {} ({odds}), though it may be \
             another",
            whose.them()
        ),
        (false, _) => format!("may be the one that would change most ({odds})"),
    };
    let worth = gain(change.gain).map_or_else(String::new, |gain| match whose.voice {
        // A student is told about themselves only.
        Voice::You => format!(" That would be worth {gain}."),
        Voice::Third | Voice::Together => {
            format!(" Where the better quarter here already is, that would be worth {gain}.")
        }
    });
    let line = format!("{goal}: {choice}.{worth}");
    let limits = change.interval;
    let numbers = format!(
        "Now {}, the better quarter from {}; {} in {} there. Worth {} submissions a round, got or \
         not given ({} to {}); best choice with a chance of {:.0} %.",
        rate(change.now),
        rate(change.target),
        times(change.count),
        minutes(change.minutes),
        short(change.gain),
        short(limits.low()),
        short(limits.high()),
        change.best * 100.0,
    );
    Said::new(line, numbers)
}

/// What to aim for: "getting out sooner, under mount"; "being swept less often, on top in half
/// guard".
#[must_use]
pub fn goal(doing: Doing) -> String {
    let words = match (doing.kind, doing.own) {
        (EventKind::Takedown, true) => "taking partners down more often",
        (EventKind::Takedown, false) => "being taken down less often",
        (EventKind::Pass, true) => "passing more often",
        (EventKind::Pass, false) => "being passed less often",
        (EventKind::Sweep, true) => "sweeping more often",
        (EventKind::Sweep, false) => "being swept less often",
        (EventKind::Reversal, true) => "coming up more often",
        (EventKind::Reversal, false) => "being reversed less often",
        (EventKind::Escape, true) => "getting out sooner",
        (EventKind::Escape, false) => "keeping partners there for longer",
        (EventKind::BackTake, true) => "taking the back more often",
        (EventKind::BackTake, false) => "giving the back less often",
        (EventKind::SubmissionEscape, true) => "getting out of submissions more often",
        (EventKind::SubmissionEscape, false) => "keeping submissions once they are on",
        // A tap stands for a submission caught, tapped to or let go.
        (EventKind::Tap, true) => "being caught less often (tapped, or let go)",
        (EventKind::Tap, false) => "finishing more of the submissions tried",
        // Matters of style have no aim.
        _ => return crate::doings::habit_name(doing),
    };
    format!("{words}, {}", place(doing.place))
}

/// A gain in net submissions a round: "about one tap in 5 rounds, got or not given".
fn gain(gain: f64) -> Option<String> {
    if !gain.is_finite() || gain < 0.02 {
        return None;
    }
    let rounds = (1.0 / gain).round();
    if rounds <= 1.0 {
        return Some("about one tap in every round, got or not given".to_owned());
    }
    Some(format!("about one tap in {rounds:.0} rounds, got or not given"))
}
