//! The moments that a figure about a habit rests on, for replaying them.

use academy::EventKind;

use crate::known_round::{AthleteId, KnownRound};
use crate::place::Place;
use crate::stretch::{Happening, Lived};
use crate::tallies::Doing;

/// One moment of a habit.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Moment {
    /// Which round of those given, counted from 0.
    pub round: usize,
    /// When, in seconds of its round.
    pub time: f64,
    /// How probable it is, 0 to 1.
    pub weight: f64,
}

/// A moment is watched from so many seconds before it. `common practice`: long enough to see how it
/// came about.
pub const LEAD_IN_SECONDS: f64 = 4.0;

impl Moment {
    /// From when to watch it: [`LEAD_IN_SECONDS`] before, or from the start of the round.
    #[must_use]
    pub fn led_in(self) -> Moment {
        Moment { time: (self.time - LEAD_IN_SECONDS).max(0.0), ..self }
    }
}

/// Whether something told is a moment of a habit. A tap stands for a submission that was caught:
/// one let go by choice is one too ([`crate::game::caught_doing`]).
fn shows(happening: &Happening<'_>, doing: Doing) -> bool {
    let Some(own) = happening.own else { return false };
    let let_go = doing.kind == EventKind::Tap && happening.kind == EventKind::Release;
    (happening.kind, own) == (doing.kind, doing.own) || (let_go && own != doing.own)
}

/// Every moment of a habit in a student's rounds, the surest first, then the latest. Of a tap, those
/// let go by choice are part.
#[must_use]
pub fn moments(rounds: &[KnownRound<'_>], who: AthleteId, doing: Doing) -> Vec<Moment> {
    let mut found = Vec::new();
    for (index, round) in rounds.iter().enumerate() {
        let Some(seat) = round.seat(who) else { continue };
        let lived = Lived::new(round, seat);
        let moves = lived.changes().filter(|change| {
            change.from == doing.place
                && change.what.is_some_and(|what| (what.kind, what.own) == (doing.kind, doing.own))
        });
        found.extend(moves.map(|change| Moment {
            round: index,
            time: change.time,
            weight: change.weight,
        }));
        let told = lived.happenings.iter().filter(|happening| {
            crate::tallies::is_told(happening.kind)
                && happening.place == Some(doing.place)
                && shows(happening, doing)
        });
        found.extend(told.map(|happening| Moment {
            round: index,
            time: happening.time,
            weight: happening.weight,
        }));
    }
    found.sort_by(|one, other| {
        let day = |moment: &Moment| rounds[moment.round].date;
        let by_weight = other.weight.total_cmp(&one.weight);
        let later = day(other).cmp(&day(one)).then(other.time.total_cmp(&one.time));
        by_weight.then(later)
    });
    found
}

/// A student's stays in one place, longest first: each from when it began. Those that are as likely
/// wrong as right are left out.
#[must_use]
pub fn stays_in(rounds: &[KnownRound<'_>], who: AthleteId, place: Place) -> Vec<Moment> {
    let mut found: Vec<(f64, Moment)> = Vec::new();
    for (index, round) in rounds.iter().enumerate() {
        let Some(seat) = round.seat(who) else { continue };
        let lived = Lived::new(round, seat);
        let here = lived.stretches.iter().filter(|stretch| stretch.place == Some(place));
        found.extend(here.filter(|stretch| stretch.weight > 0.5).map(|stretch| {
            let moment = Moment { round: index, time: stretch.start, weight: stretch.weight };
            (stretch.seconds(), moment)
        }));
    }
    found.sort_by(|one, other| other.0.total_cmp(&one.0));
    found.into_iter().map(|(_, moment)| moment).collect()
}
