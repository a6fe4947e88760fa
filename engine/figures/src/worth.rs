//! What a position is worth to a student.

use crate::game::Game;
use crate::interval::{Interval, Level};
use crate::meant::quantile;
use crate::place::Place;
use crate::sampling::Draws;
use crate::tallies::Tallies;

/// What it is worth to be in a place.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Worth {
    /// Position and role.
    pub place: Place,
    /// Net submissions to come in a round from here: those the student gets (taps, and let go by
    /// choice) less those the other one gets, on average. The middle of the draws.
    pub value: f64,
    /// The middle 95 % of the draws.
    pub interval: Interval,
    /// The student's own expected minutes here; the fewer, the more it is the group's number.
    pub minutes: f64,
    /// Share of them that a person told or confirmed, 0 to 1.
    pub confirmed: f64,
}

/// What every place is worth to a student, for all places anybody in the group was in; nothing
/// where nobody has rolled.
///
/// A Markov reward process over the places (Howard 1971, *Dynamic Probabilistic Systems*; absorbing
/// chains after Kemeny and Snell 1960): moves at the student's and the other ones' rates, a
/// submission counts +1 or −1, a tap leads back to standing, and the round's clock is the end. The
/// horizon is a whole round of the student's mean length from here. `draws` sets of rates are drawn
/// from what is known of each ([`Game::new`]); the same seed gives the same answer. What came
/// before a place is taken not to matter.
#[must_use]
pub fn worth(own: &Tallies, group: &Tallies, draws: usize, seed: u64) -> Vec<Worth> {
    let Some(game) = Game::new(own, group) else { return Vec::new() };
    let mut chance = Draws::from_seed(seed);
    let mut values: Vec<Vec<f64>> = vec![Vec::with_capacity(draws); game.places().len()];
    for _ in 0..draws.max(1) {
        let Ok(process) = game.process(&game.draw(&mut chance)) else { continue };
        for (of_place, value) in values.iter_mut().zip(process.values) {
            of_place.push(value);
        }
    }
    (game.places().iter().zip(values))
        .filter(|(place, values)| {
            let minutes = own.minutes(**place) + group.minutes(**place);
            minutes > 0.0 && !values.is_empty()
        })
        .map(|(place, mut values)| {
            values.sort_by(f64::total_cmp);
            let tail = Level::NINETY_FIVE.tail();
            Worth {
                place: *place,
                value: quantile(&values, 0.5),
                interval: Interval::between(quantile(&values, tail), quantile(&values, 1.0 - tail)),
                minutes: own.minutes(*place),
                confirmed: own.seconds.get(place).map_or(0.0, |seconds| seconds.confirmed()),
            }
        })
        .collect()
}
