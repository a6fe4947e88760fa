//! A student's game as rates: how fast they leave each place for each other, and how often one of
//! the two catches the other there. What [`crate::worth`] and [`crate::train_next`] compute with.

use std::collections::BTreeSet;

use academy::{EventKind, Position};

use crate::place::{Place, Role, move_of};
use crate::reward_process::{Chain, ChainError};
use crate::sampling::Draws;
use crate::tallies::{Doing, Tallies};

/// So many minutes of the group's mean stand behind a student's own in every place, so that a move
/// never seen is not taken to be impossible. `common practice`: about as much as one position gets
/// in two or three rounds; a student with half an hour there hardly feels it.
pub const GROUP_MINUTES: f64 = 3.0;

/// What one thing done does to the process.
#[derive(Clone, Copy, Debug, PartialEq)]
enum Effect {
    /// On to another place.
    Move(usize),
    /// A tap: so much gained, and both start again standing.
    Tap(f64),
    /// A submission let go by choice: so much gained, and they go on.
    Release(f64),
}

/// A rate out of one place: a gamma distribution with this shape, and the minutes of its place.
#[derive(Clone, Copy, Debug)]
struct Line {
    habit: Option<Doing>,
    effect: Effect,
    shape: f64,
}

/// A student's game.
#[derive(Clone, Debug)]
pub struct Game {
    places: Vec<Place>,
    lines: Vec<Vec<Line>>,
    minutes: Vec<f64>,
    /// Per minute: one over the length of a round.
    clock: f64,
    start: Vec<f64>,
}

/// One set of rates per minute, by place and line.
pub(crate) type Rates = Vec<Vec<f64>>;

/// The reward process that a set of rates makes.
pub(crate) struct Process {
    pub(crate) values: Vec<f64>,
    chain: Chain,
    rows: Vec<Row>,
}

/// One place of the process: the chances to go on, and the reward of a visit.
#[derive(Clone, Debug)]
struct Row {
    to: Vec<f64>,
    end: f64,
    reward: f64,
}

impl Game {
    /// A student's game, with [`GROUP_MINUTES`] of a group's mean behind it; nothing where neither
    /// has rolled at all.
    ///
    /// Every rate out of a place has a gamma distribution: shape = own count + group's rate × group
    /// minutes, rate = own minutes + group minutes.
    #[must_use]
    pub fn new(own: &Tallies, group: &Tallies) -> Option<Game> {
        let round = if own.rounds > 0 { own } else { group }.minutes_per_round();
        if round <= 0.0 {
            return None;
        }
        // The process takes time in proportion to the cube of the places: no place that nobody saw.
        let mut seen: BTreeSet<Place> = BTreeSet::new();
        for tallies in [own, group] {
            seen.extend(tallies.seconds.keys());
            seen.extend(tallies.moves.keys().flat_map(|(from, to)| [from, to]));
        }
        let places: Vec<Place> = Place::all()
            .filter(|place| place.position == Position::Standing || seen.contains(place))
            .collect();
        let index = |place: Place| places.iter().position(|one| *one == place);
        let mut lines: Vec<Vec<Line>> = vec![Vec::new(); places.len()];
        let behind = |place: Place, count: f64| {
            let minutes = group.minutes(place);
            if minutes > 0.0 { GROUP_MINUTES * count / minutes } else { 0.0 }
        };
        let mut moves = own.moves.clone();
        for way in group.moves.keys() {
            moves.entry(*way).or_default();
        }
        for ((from, to), tally) in moves {
            let theirs = group.moves.get(&(from, to)).map_or(0.0, |tally| tally.all);
            let (Some(at), Some(onward)) = (index(from), index(to)) else { continue };
            let habit =
                move_of(from, to).map(|what| Doing { place: from, kind: what.kind, own: what.own });
            let shape = tally.all + behind(from, theirs);
            lines[at].push(Line { habit, effect: Effect::Move(onward), shape });
        }
        for (at, place) in places.iter().enumerate() {
            for caught in [true, false] {
                let gain = if caught { 1.0 } else { -1.0 };
                let habit = Some(caught_doing(*place, caught));
                let tap = Doing { place: *place, kind: EventKind::Tap, own: !caught };
                let release = Doing { place: *place, kind: EventKind::Release, own: caught };
                for (doing, effect) in [(tap, Effect::Tap(gain)), (release, Effect::Release(gain))]
                {
                    let shape = own.count(doing) + behind(*place, group.count(doing));
                    lines[at].push(Line { habit, effect, shape });
                }
            }
        }
        let known = |place: &Place| if group.minutes(*place) > 0.0 { GROUP_MINUTES } else { 0.0 };
        let minutes: Vec<f64> =
            places.iter().map(|place| own.minutes(*place) + known(place)).collect();
        for (lines, minutes) in lines.iter_mut().zip(&minutes) {
            // A moment told where no time is known to have been spent has no rate.
            lines.retain(|line| line.shape > 0.0 && *minutes > 0.0);
        }
        let start = start(&places, if own.starts.is_empty() { group } else { own });
        Some(Game { places, lines, minutes, clock: 1.0 / round, start })
    }

    /// The places, in the order of all lists of this game.
    #[must_use]
    pub fn places(&self) -> &[Place] {
        &self.places
    }

    /// The mean rates.
    pub(crate) fn mean(&self) -> Rates {
        self.rates(|shape| shape)
    }

    /// Rates drawn from what is known about them.
    pub(crate) fn draw(&self, draws: &mut Draws) -> Rates {
        self.rates(|shape| draws.gamma(shape, 1.0).unwrap_or(shape))
    }

    fn rates(&self, mut of: impl FnMut(f64) -> f64) -> Rates {
        let mut rates = Vec::with_capacity(self.lines.len());
        for (lines, minutes) in self.lines.iter().zip(&self.minutes) {
            rates.push(lines.iter().map(|line| of(line.shape) / minutes).collect());
        }
        rates
    }

    /// The process of a set of rates.
    ///
    /// Holds and the clock are taken as memoryless: from every moment on a round has its mean
    /// length to go. With rates λ out of a place and the clock's rate c, a visit lasts 1 / (Σλ + c)
    /// on average, and goes on in proportion to them.
    pub(crate) fn process(&self, rates: &Rates) -> Result<Process, ChainError> {
        let rows: Vec<Row> =
            (0..self.places.len()).map(|at| self.row(at, |line| rates[at][line])).collect();
        let to: Vec<Vec<f64>> = rows.iter().map(|row| row.to.clone()).collect();
        let ends: Vec<Vec<f64>> = rows.iter().map(|row| vec![row.end]).collect();
        let rewards: Vec<f64> = rows.iter().map(|row| row.reward).collect();
        let chain = Chain::new(&to, &ends)?;
        Ok(Process { values: chain.values(&rewards)?, chain, rows })
    }

    fn row(&self, at: usize, rate: impl Fn(usize) -> f64) -> Row {
        // Both start again on their feet.
        let standing = self.places.iter().position(|one| one.position == Position::Standing);
        let mut to = vec![0.0; self.places.len()];
        let (mut out, mut reward) = (self.clock, 0.0);
        for (index, line) in self.lines[at].iter().enumerate() {
            let rate = rate(index);
            match line.effect {
                Effect::Move(onward) => to[onward] += rate,
                Effect::Tap(gain) => {
                    to[standing.unwrap_or(at)] += rate;
                    reward += gain * rate;
                }
                Effect::Release(gain) => {
                    reward += gain * rate;
                    continue;
                }
            }
            out += rate;
        }
        for chance in &mut to {
            *chance /= out;
        }
        Row { to, end: self.clock / out, reward: reward / out }
    }

    /// The rate per minute of a habit in a set of rates; nothing where nobody was ever seen doing
    /// it.
    pub(crate) fn rate_of(&self, doing: Doing, rates: &Rates) -> Option<f64> {
        let at = self.at(doing.place)?;
        let lines = self.lines[at].iter().zip(&rates[at]);
        let mut of = lines.filter(|(line, _)| line.habit == Some(doing)).map(|(_, rate)| *rate);
        let first = of.next()?;
        Some(of.fold(first, |sum, rate| sum + rate))
    }

    fn at(&self, place: Place) -> Option<usize> {
        self.places.iter().position(|one| *one == place)
    }

    /// The expected visits to a place from each place.
    pub(crate) fn visits(&self, process: &Process, place: Place) -> Option<Vec<f64>> {
        process.chain.visits_to(self.at(place)?).ok()
    }

    /// How much the expectation of a round changes when a habit's rate becomes `wanted`, all else
    /// as it was, in net submissions. `visits` are those to the habit's place ([`Game::visits`]).
    /// Takes time in proportion to the places: the process changes in one row only (Sherman and
    /// Morrison 1950, *Ann. Math. Stat.* 21:124).
    pub(crate) fn gain(
        &self,
        process: &Process,
        visits: &[f64],
        rates: &Rates,
        doing: Doing,
        wanted: f64,
    ) -> Option<f64> {
        let at = self.at(doing.place)?;
        let now = self.rate_of(doing, rates).filter(|rate| *rate > 0.0)?;
        let row = self.row(at, |line| {
            let factor = if self.lines[at][line].habit == Some(doing) { wanted / now } else { 1.0 };
            rates[at][line] * factor
        });
        let (mut moved, mut reach) = (row.reward - process.rows[at].reward, 0.0);
        for (to, (after, before)) in row.to.iter().zip(&process.rows[at].to).enumerate() {
            moved += (after - before) * process.values[to];
            reach += (after - before) * visits[to];
        }
        let per_visit = moved / (1.0 - reach);
        let visits: f64 = self.start.iter().zip(visits).map(|(start, visits)| start * visits).sum();
        let gain = visits * per_visit;
        gain.is_finite().then_some(gain)
    }
}

/// What a caught submission is called as a habit: a tap, or let go by choice; by the student or by
/// the other one.
#[must_use]
pub const fn caught_doing(place: Place, by_student: bool) -> Doing {
    Doing { place, kind: EventKind::Tap, own: !by_student }
}

/// How often somebody did something in a place; for a tap with the submissions let go there.
#[must_use]
pub fn habit_count(tallies: &Tallies, doing: Doing) -> f64 {
    let let_go = Doing { kind: EventKind::Release, own: !doing.own, ..doing };
    let more = if doing.kind == EventKind::Tap { tallies.count(let_go) } else { 0.0 };
    tallies.count(doing) + more
}

/// Where a round begins: shares over the places; standing where nothing is known.
fn start(places: &[Place], tallies: &Tallies) -> Vec<f64> {
    let all: f64 = tallies.starts.values().sum();
    let share = |place: &Place| {
        if all > 0.0 {
            tallies.starts.get(place).map_or(0.0, |count| count / all)
        } else {
            f64::from(u8::from(place.role == Role::Neither))
        }
    };
    places.iter().map(share).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::figure::Tally;

    /// Three places, a few moves among them, and a submission from two.
    fn tallies() -> Tallies {
        let at = |position, role| Place { position, role };
        let standing = at(Position::Standing, Role::Neither);
        let guard = at(Position::OpenGuard, Role::Bottom);
        let pin = at(Position::SideControl, Role::Bottom);
        let sum = |all| Tally { all, told: all };
        let mut tallies = Tallies { rounds: 3, ..Tallies::default() };
        tallies.seconds = [(standing, sum(200.0)), (guard, sum(400.0)), (pin, sum(300.0))].into();
        tallies.moves = [
            ((standing, guard), sum(5.0)),
            ((guard, pin), sum(4.0)),
            ((guard, standing), sum(2.0)),
            ((pin, guard), sum(3.0)),
        ]
        .into();
        tallies.done = [
            (Doing { place: guard, kind: EventKind::Tap, own: false }, sum(2.0)),
            (Doing { place: pin, kind: EventKind::Tap, own: true }, sum(1.0)),
            (Doing { place: pin, kind: EventKind::Release, own: false }, sum(2.0)),
        ]
        .into();
        tallies.starts = [(standing, 3.0)].into();
        tallies
    }

    #[test]
    fn the_short_way_to_a_gain_gives_what_the_long_way_gives() {
        let own = tallies();
        let game = Game::new(&own, &own).unwrap();
        let rates = game.mean();
        let process = game.process(&rates).unwrap();
        let expectation = |process: &Process| -> f64 {
            game.start.iter().zip(&process.values).map(|(start, value)| start * value).sum()
        };
        let pin = Place { position: Position::SideControl, role: Role::Bottom };
        let options = [
            Doing { place: pin, kind: EventKind::Escape, own: true },
            caught_doing(pin, false),
            caught_doing(Place { position: Position::OpenGuard, role: Role::Bottom }, true),
        ];
        for doing in options {
            let now = game.rate_of(doing, &rates).unwrap();
            let wanted = 1.7 * now;
            let at = game.places.iter().position(|place| *place == doing.place).unwrap();
            let mut scaled = rates.clone();
            for (rate, line) in scaled[at].iter_mut().zip(&game.lines[at]) {
                if line.habit == Some(doing) {
                    *rate *= 1.7;
                }
            }
            let long = expectation(&game.process(&scaled).unwrap()) - expectation(&process);
            let visits = game.visits(&process, doing.place).unwrap();
            let short = game.gain(&process, &visits, &rates, doing, wanted).unwrap();
            assert!((long - short).abs() < 1e-12, "{doing:?}: {long} is not {short}");
            assert!(long.abs() > 1e-3);
        }
    }
}
