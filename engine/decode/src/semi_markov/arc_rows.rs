//! Arc weights out of log space, row by row, and sums over arcs.

use super::model::{ArcEnd, Lattice};
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

/// Exponentials of the arc weights: plain numbers relative to a power of two per row. Neighbouring
/// boundaries with the same row share it.
#[derive(Clone, Debug, Default)]
pub(super) struct ArcRows {
    arcs: usize,
    plain: Vec<f64>,
    reference: Vec<i64>,
}

impl ArcRows {
    /// Takes the exponentials.
    pub(super) fn fill(&mut self, lattice: &Lattice, weights: &Weights<'_>, shape: &Prepared) {
        let arcs = lattice.arcs.len();
        self.arcs = arcs;
        self.plain.resize(shape.heaviest_arc.len() * arcs, 0.0);
        self.reference.clear();
        for t in 1..shape.bins {
            let number = shape.arc_row[t] as usize;
            if number < self.reference.len() {
                continue;
            }
            let heaviest = shape.heaviest_arc[number];
            let reference = match heaviest.abs() <= PLAIN || heaviest == f64::NEG_INFINITY {
                true => 0,
                false => (heaviest / LN_2).round() as i64,
            };
            // Most entries of a row are the same as in the row before.
            let known = number > 0 && self.reference[number - 1] == reference;
            self.reference.push(reference);
            let offset = reference as f64 * LN_2;
            let row = &weights.arcs[t * arcs..][..arcs];
            let row_before = &weights.arcs[(t - 1) * arcs..][..arcs];
            let (before, now) = self.plain.split_at_mut(number * arcs);
            let before = before.get(before.len().saturating_sub(arcs)..).unwrap_or_default();
            for (arc, (weight, now)) in row.iter().zip(now).enumerate() {
                *now = if known && *weight == row_before[arc] {
                    before[arc]
                } else if weight - offset < LIGHTEST {
                    0.0
                } else {
                    (weight - offset).exp()
                };
            }
        }
    }

    /// A row by its number ([`Prepared::arc_row`]).
    pub(super) fn row(&self, number: u32) -> (&[f64], i64) {
        let number = number as usize;
        (&self.plain[number * self.arcs..][..self.arcs], self.reference[number])
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
/// again exactly.
pub(super) fn settled(
    plain: f64,
    reference: i64,
    arcs: &[ArcEnd],
    row: &[Scaled],
    weights: &[f64],
) -> Scaled {
    if plain >= SAFE {
        return Scaled::new(plain, reference);
    }
    arcs.iter().fold(Scaled::ZERO, |sum, end| match end.of_state(row) {
        value if value.is_zero() => sum,
        value => sum.plus(value.times(Scaled::exp(end.of_arc(weights)))),
    })
}
