//! Arc weights out of log space, row by row, and sums over arcs.

use super::lanes::exponentials;
use super::model::ArcEnd;
use super::prepared::{Prepared, Weights};
use super::scaled::{Scaled, power_of_two};
use std::f64::consts::LN_2;

/// Rows whose heaviest weight lies within this of zero are taken as they are.
const PLAIN: f64 = 64.0;
/// Weights this far below zero, in such a row, count as zero. e⁻³⁵⁰ > 2⁻⁵⁰⁵.
const LIGHTEST: f64 = -350.0;
/// Numbers of a levelled row below this count as zero.
const FLOOR: f64 = power_of_two(-512);
/// What [`FLOOR`] and [`LIGHTEST`] leave out of a sum over arcs is less than 2⁻⁵¹² · e⁶⁵ < 2⁻⁴¹⁸
/// a term; so a sum of `n` terms from here on is right to `n` · 2⁻⁷⁸.
const SAFE: f64 = power_of_two(-340);

/// Writes the exponentials of the arc weights into `plain`, relative to a power of two per row.
pub(super) fn exponentiate(
    weights: &Weights<'_>,
    shape: &Prepared,
    plain: &mut [f64],
    references: &mut Vec<i64>,
) {
    let arcs = plain.len() / shape.bins;
    references.clear();
    for (t, &heaviest) in shape.heaviest_arc.iter().enumerate() {
        let heaviest = heaviest * weights.scale;
        let reference = match heaviest.abs() <= PLAIN || heaviest == f64::NEG_INFINITY {
            true => 0,
            false => (heaviest / LN_2).round() as i64,
        };
        references.push(reference);
        let row = t * arcs..(t + 1) * arcs;
        let offset = reference as f64 * LN_2;
        exponentials(&weights.arcs[row.clone()], weights.scale, offset, LIGHTEST, &mut plain[row]);
    }
}

/// A row of numbers, one per state, brought to plain numbers of which the largest is near one.
#[derive(Clone, Debug, Default)]
pub(super) struct Levelled {
    /// The numbers, relative to the reference.
    pub(super) plain: Vec<f64>,
    /// The power of two.
    pub(super) reference: i64,
}

impl Levelled {
    /// Levels a row.
    pub(super) fn fill(&mut self, row: &[Scaled]) {
        let nonzero = row.iter().filter(|value| !value.is_zero());
        self.reference = nonzero.map(|value| value.magnitude()).max().unwrap_or(0);
        self.plain.clear();
        self.plain.extend(row.iter().map(|value| {
            let plain = value.relative_to(self.reference);
            if plain < FLOOR { 0.0 } else { plain }
        }));
    }
}

/// A sum over the arcs at one state: as the plain sum has it, or, where that may lack something,
/// again exactly. `weight` gives the log weight of an arc.
pub(super) fn settled(
    plain: f64,
    reference: i64,
    arcs: &[ArcEnd],
    row: &[Scaled],
    weight: impl Fn(u32) -> f64,
) -> Scaled {
    if plain >= SAFE {
        return Scaled::new(plain, reference);
    }
    arcs.iter().fold(Scaled::ZERO, |sum, end| match end.of_state(row) {
        value if value.is_zero() => sum,
        value => sum.plus(value.times(Scaled::exp(weight(end.arc)))),
    })
}
