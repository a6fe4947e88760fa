//! Rounds made by chance with known habits, to see whether the figures find them again.

use academy::{Athlete, EventKind, Ledger, Position, Source, Spell};
use figures::sampling::Draws;
use figures::tallies::Doing;
use figures::{Place, Role};

use crate::made_rounds::{Told, ledger};

/// What a made-up student does and has done to them, per minute in the place.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Ways {
    pub(crate) pass: f64,
    pub(crate) sweep: f64,
    pub(crate) escape_side: f64,
    pub(crate) escape_mount: f64,
    pub(crate) finish: f64,
    pub(crate) passed: f64,
}

/// Everybody else, and a student without anything special.
pub(crate) const PLAIN: Ways =
    Ways { pass: 1.0, sweep: 0.8, escape_side: 1.0, escape_mount: 0.7, finish: 1.0, passed: 1.0 };

impl Ways {
    /// Ways that differ from the plain ones as people do: every rate by a gamma factor of mean 1 and
    /// this shape, so with a standard deviation of one over its root.
    pub(crate) fn near_plain(shape: f64, draws: &mut Draws) -> Ways {
        let mut near = |rate: f64| rate * draws.gamma(shape, shape).expect("a positive shape");
        Ways {
            pass: near(PLAIN.pass),
            sweep: near(PLAIN.sweep),
            escape_side: near(PLAIN.escape_side),
            escape_mount: near(PLAIN.escape_mount),
            finish: near(PLAIN.finish),
            passed: near(PLAIN.passed),
        }
    }
}

/// A round of so many seconds of a student with these ways, first in the ledger, against a plain
/// one. Every rate is constant while a place lasts.
pub(crate) fn round(ways: Ways, seconds: f64, draws: &mut Draws) -> Ledger {
    let mut spells: Vec<Told> = Vec::new();
    let mut events = Vec::new();
    let (mut time, mut place) = (0.0, Place { position: Position::Standing, role: Role::Neither });
    while time < seconds {
        let ways_out = ways_out(ways, place);
        let all: f64 = ways_out.iter().map(|(rate, _)| rate).sum();
        // No shorter than a hundredth of a second, so that every spell has a length.
        let hold = (-draws.uniform().ln() / all * 60.0).max(0.01);
        let last = time + hold >= seconds;
        let hold = if last { seconds - time } else { hold };
        spells.push((hold, place.position, top(place)));
        time += hold;
        if last {
            break;
        }
        let mut left = draws.uniform() * all;
        let chosen = ways_out.iter().find(|(rate, _)| {
            left -= rate;
            left <= 0.0
        });
        match chosen.or(ways_out.last()).expect("made to be there").1 {
            Some(next) => place = next,
            None => {
                let tapped = if place.role == Role::Top { Athlete::Second } else { Athlete::First };
                events.push((time, EventKind::Tap, Some(tapped)));
                let pause = (seconds - time).min(5.0);
                if pause > 0.0 {
                    spells.push((pause, Position::Reset, None));
                }
                time += pause;
                place = Place { position: Position::Standing, role: Role::Neither };
            }
        }
    }
    ledger_of(spells, events)
}

/// Spells in whole milliseconds: those that vanish are left out, and moments stay inside.
fn ledger_of(spells: Vec<Told>, events: Vec<(f64, EventKind, Option<Athlete>)>) -> Ledger {
    let (mut exact, mut start) = (0.0, 0_u64);
    let mut whole: Vec<Told> = Vec::new();
    for (seconds, position, top) in spells {
        exact += seconds;
        let end = (exact * 1000.0_f64).round() as u64;
        if end > start {
            whole.push(((end - start) as f64 / 1000.0, position, top));
        }
        start = end.max(start);
    }
    let round = |time: f64| (time * 1000.0).round() / 1000.0;
    let events: Vec<_> = events.into_iter().map(|(at, kind, who)| (round(at), kind, who)).collect();
    ledger(&whole, &events)
}

fn top(place: Place) -> Option<Athlete> {
    match place.role {
        Role::Neither => None,
        Role::Top => Some(Athlete::First),
        Role::Bottom => Some(Athlete::Second),
    }
}

/// Rates per minute out of a place, and where to; a tap leads nowhere.
pub(crate) fn ways_out(ways: Ways, place: Place) -> Vec<(f64, Option<Place>)> {
    use Position::{Mount, OpenGuard, SideControl};
    let at = |position, role| Some(Place { position, role });
    let (top, bottom) = (Role::Top, Role::Bottom);
    match (place.position, place.role) {
        (OpenGuard, Role::Bottom) => {
            vec![(ways.passed, at(SideControl, bottom)), (ways.sweep, at(OpenGuard, top))]
        }
        (OpenGuard, _) => {
            vec![(ways.pass, at(SideControl, top)), (PLAIN.sweep, at(OpenGuard, bottom))]
        }
        (SideControl, Role::Bottom) => {
            vec![(ways.escape_side, at(OpenGuard, bottom)), (1.0, at(Mount, bottom))]
        }
        (SideControl, _) => {
            vec![(PLAIN.escape_side, at(OpenGuard, top)), (1.0, at(Mount, top))]
        }
        (Mount, Role::Bottom) => {
            vec![(ways.escape_mount, at(OpenGuard, bottom)), (PLAIN.finish, None)]
        }
        (Mount, _) => vec![(PLAIN.escape_mount, at(OpenGuard, top)), (ways.finish, None)],
        _ => vec![(1.0, at(OpenGuard, top)), (1.0, at(OpenGuard, bottom))],
    }
}

/// What a student with these ways does or has done to them, with the true rates per minute in the
/// place: one habit for each of the ways.
pub(crate) fn true_rates(ways: Ways) -> [(Doing, f64); 6] {
    use Position::{Mount, OpenGuard, SideControl};
    use Role::{Bottom, Top};
    let habit = |position, role, kind, own, rate| {
        (Doing { place: Place { position, role }, kind, own }, rate)
    };
    [
        habit(OpenGuard, Top, EventKind::Pass, true, ways.pass),
        habit(OpenGuard, Bottom, EventKind::Sweep, true, ways.sweep),
        habit(SideControl, Bottom, EventKind::Escape, true, ways.escape_side),
        habit(Mount, Bottom, EventKind::Escape, true, ways.escape_mount),
        habit(Mount, Top, EventKind::Tap, false, ways.finish),
        habit(OpenGuard, Bottom, EventKind::Pass, false, ways.passed),
    ]
}

/// How a reader errs who knows how sure to be: each doubt has a confidence c, drawn evenly from
/// `least` to 1, and with a chance of 1 − c what it covers is wrong.
#[derive(Clone, Copy, Debug)]
pub(crate) enum Doubt {
    /// Each spell by itself: where it is wrong it is any other place.
    Spells { least: f64 },
    /// Four spells together: where they are wrong the other one is on top in each, as after a
    /// reversal that nobody spoke of.
    Tops { least: f64 },
}

/// A round as such a reader has it; pauses and moments are right.
pub(crate) fn doubted(truth: &Ledger, doubt: Doubt, draws: &mut Draws) -> Ledger {
    use Position::{Mount, OpenGuard, Reset, SideControl, Standing};
    let mut places: Vec<(Position, Option<Athlete>)> = vec![(Standing, None)];
    for position in [OpenGuard, SideControl, Mount] {
        places.extend(Athlete::BOTH.map(|top| (position, Some(top))));
    }
    let (least, covers) = match doubt {
        Doubt::Spells { least } => (least, 1),
        Doubt::Tops { least } => (least, 4),
    };
    let (mut confidence, mut wrong) = (1.0, false);
    let spells = truth.spells().iter().enumerate().map(|(at, spell)| {
        if at % covers == 0 {
            confidence = least + (1.0 - least) * draws.uniform();
            wrong = draws.uniform() > confidence;
        }
        let mut guess = Spell { confidence, source: Source::Talk, ..spell.clone() };
        if wrong && spell.position != Reset {
            if covers > 1 {
                guess.top = spell.top.map(Athlete::other);
            } else {
                let is = (spell.position, spell.top);
                let others: Vec<_> = places.iter().filter(|place| **place != is).collect();
                let chosen = (draws.uniform() * others.len() as f64) as usize;
                (guess.position, guess.top) = *others[chosen];
            }
        }
        guess
    });
    Ledger::new(spells.collect(), truth.events().to_vec()).expect("a ledger made to be one")
}
