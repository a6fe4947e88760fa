//! One line of numbers per state over time, and weighted sums over windows of it: the inner loop.
//!
//! The numbers are kept twice: exactly, as [`Scaled`], and as plain numbers relative to a power of
//! two per line (its reference), which a plain sum of products can run over.
//!
//! # Why the plain sum is right
//! Plain numbers lie between 2⁻³⁸⁴ and 2¹²⁸, or are zero in place of something less than 2⁻³⁸⁴;
//! factors between 2⁻⁴⁴⁸ and 2, or zero in place of something less than 2⁻⁴⁴⁸. So no product
//! overflows or is rounded as a subnormal number, and leaving out the tiny ones loses less than
//! 2⁻³⁸⁴ · 2 + 2⁻⁴⁴⁸ · 2¹²⁸ < 2⁻³¹⁹ per term. A sum of `n` terms of at least 2⁻²⁴⁰ is therefore
//! right to `n` · 2⁻⁷⁹, far below its rounding. Anything less is summed again exactly.

use super::lanes::sum_of_products;
use super::prepared::resize;
use super::scaled::{Scaled, power_of_two};
use std::ops::Range;

/// A plain number above this moves the reference of its line.
const CEILING: f64 = power_of_two(128);
/// A plain number below this counts as zero.
const FLOOR: f64 = power_of_two(-384);
/// A factor below this counts as zero.
const FACTOR_FLOOR: f64 = power_of_two(-448);
/// A sum below this may lack something and is summed again.
const SAFE: f64 = power_of_two(-240);
/// After a move the largest number lies this many powers of two below the reference: in the
/// middle, so that the next move is far both ways.
const HEADROOM: i64 = 32;

/// Factors of a window, of which the largest is near one.
#[derive(Clone, Debug, Default)]
pub(super) struct Factors {
    plain: Vec<f64>,
    exact: Vec<Scaled>,
    unit: i64,
}

impl Factors {
    /// From log weights.
    pub(super) fn new(weights: impl Iterator<Item = f64>) -> Self {
        let exact: Vec<Scaled> = weights.map(Scaled::exp).collect();
        let nonzero = exact.iter().filter(|factor| !factor.is_zero());
        let unit = nonzero.map(|factor| factor.magnitude()).max().unwrap_or(0);
        let plain =
            exact.iter().map(|factor| at_least(factor.relative_to(unit), FACTOR_FLOOR)).collect();
        Factors { plain, exact, unit }
    }

    /// Number of factors.
    pub(super) fn len(&self) -> usize {
        self.exact.len()
    }
}

/// The value, or zero if it is less than `floor`.
fn at_least(value: f64, floor: f64) -> f64 {
    if value < floor { 0.0 } else { value }
}

/// Numbers over time, a line of them per state.
#[derive(Clone, Debug, Default)]
pub(super) struct Lines {
    stride: usize,
    /// Time-major.
    exact: Vec<Scaled>,
    /// Line after line, for the inner loop.
    plain: Vec<f64>,
    reference: Vec<i64>,
    /// Where a number other than zero was set last.
    latest: Vec<usize>,
}

impl Lines {
    /// Starts over: numbers must be set before they are read.
    pub(super) fn reset(&mut self, lines: usize, stride: usize) {
        self.stride = stride;
        self.exact.resize(stride * lines, Scaled::ZERO);
        self.plain.resize(lines * stride, 0.0);
        resize(&mut self.reference, lines, 0);
        resize(&mut self.latest, lines, usize::MAX);
    }

    /// The number of a line at a time.
    pub(super) fn get(&self, line: usize, at: usize) -> Scaled {
        self.exact[at * self.reference.len() + line]
    }

    /// Sets a number. A line is set neighbour after neighbour, up or down; `window` holds the
    /// number and everything set before it that will still be summed.
    pub(super) fn set(&mut self, line: usize, at: usize, value: Scaled, window: Range<usize>) {
        let lines = self.reference.len();
        self.exact[at * lines + line] = value;
        let place = line * self.stride + at;
        if value.is_zero() {
            self.plain[place] = 0.0;
            return;
        }
        self.latest[line] = at;
        let plain = at_least(value.relative_to(self.reference[line]), FLOOR);
        self.plain[place] = plain;
        if plain > CEILING {
            self.move_reference(line, window, value.magnitude() + HEADROOM);
        }
    }

    fn move_reference(&mut self, line: usize, window: Range<usize>, reference: i64) {
        self.reference[line] = reference;
        for at in window {
            let plain = at_least(self.get(line, at).relative_to(reference), FLOOR);
            self.plain[line * self.stride + at] = plain;
        }
    }

    /// Σ of a window times the factors from `skip` on, pairwise. The window reaches to the number
    /// that was set last, unless everything from there on is left out.
    pub(super) fn sum(
        &mut self,
        line: usize,
        window: Range<usize>,
        factors: &Factors,
        skip: usize,
    ) -> Scaled {
        // Numbers set before the latest lie farther from the window.
        if !window.contains(&self.latest[line]) {
            return Scaled::ZERO;
        }
        let start = line * self.stride;
        let plain = &self.plain[start + window.start..start + window.end];
        let sum = sum_of_products(plain, &factors.plain[skip..]);
        if sum >= SAFE {
            return Scaled::new(sum, self.reference[line] + factors.unit);
        }
        self.sum_exactly(line, window, &factors.exact[skip..])
    }

    #[cold]
    fn sum_exactly(&mut self, line: usize, window: Range<usize>, factors: &[Scaled]) -> Scaled {
        let mut sum = Scaled::ZERO;
        let mut largest = i64::MIN;
        for (at, &factor) in window.clone().zip(factors) {
            let value = self.get(line, at);
            if !value.is_zero() {
                largest = largest.max(value.magnitude());
                sum = sum.plus(value.times(factor));
            }
        }
        // The line has sunk: bring what is left of it back into the range of plain sums.
        if largest > i64::MIN && largest + HEADROOM < self.reference[line] - HEADROOM {
            self.move_reference(line, window, largest + HEADROOM);
        }
        sum
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// ln Σ exp, the plain way.
    fn log_sum(terms: impl Iterator<Item = f64> + Clone) -> f64 {
        let largest = terms.clone().fold(f64::NEG_INFINITY, f64::max);
        if largest == f64::NEG_INFINITY {
            return largest;
        }
        largest + terms.map(|term| (term - largest).exp()).sum::<f64>().ln()
    }

    /// Windows over a line that climbs, drops and rests by `step(at)` from number to number.
    #[track_caller]
    fn check(step: impl Fn(usize) -> f64, factor: impl Fn(usize) -> f64) {
        const LONGEST: usize = 40;
        let factors: Vec<f64> = (0..LONGEST).map(factor).collect();
        let table = Factors::new(factors.iter().copied());
        let mut lines = Lines::default();
        lines.reset(2, 400);
        let mut height = 0.0;
        let mut logs: Vec<f64> = Vec::new();
        for at in 0..400 {
            // One number in five, and a stretch longer than the window, are zero.
            let zero = at % 5 == 2 || (200..260).contains(&at);
            logs.push(if zero { f64::NEG_INFINITY } else { height });
            height += step(at);
            let window = (at + 1usize).saturating_sub(LONGEST)..at + 1;
            lines.set(1, at, Scaled::exp(logs[at]), window.clone());
            let skip = LONGEST - window.len();
            let terms = window.clone().map(|u| logs[u] + factors[skip + u - window.start]);
            let (found, expected) = (lines.sum(1, window.clone(), &table, skip), log_sum(terms));
            if expected == f64::NEG_INFINITY {
                assert!(found.is_zero());
            } else {
                let error = (found.ln() - expected).abs();
                assert!(error <= 1e-13 * expected.abs().max(10.0), "at {at}: {error}");
            }
        }
    }

    #[test]
    fn sums_are_exact_however_a_line_moves() {
        let flat = |i: usize| -(i as f64) / 7.0;
        let never = f64::NEG_INFINITY;
        for size in [0.5, 9.0, 60.0, 110.0, 500.0, 3000.0] {
            check(|_| size, flat);
            check(|_| -size, flat);
            check(|at| if at / 50 % 2 == 0 { size } else { -size }, flat);
            check(|at| if at % 3 == 0 { 2.0 * size } else { -size }, flat);
            // Factors that undo the line's slope, so that the oldest numbers weigh most.
            check(|_| size, |i| size * 1.5 * (40 - i) as f64);
            // Only the oldest number counts.
            check(|_| size, |i| if i == 0 { -5.0 } else { never });
            check(|_| size, |i| if i == 0 { 5.0 } else { -2.0 * size * i as f64 });
            check(|_| size, |_| never);
        }
    }

    #[test]
    fn nothing_sums_to_nothing() {
        let mut lines = Lines::default();
        lines.reset(1, 8);
        let factors = Factors::new([0.0, 0.0].into_iter());
        assert!(lines.sum(0, 0..0, &factors, 0).is_zero());
        lines.set(0, 0, Scaled::ZERO, 0..1);
        assert!(lines.sum(0, 0..1, &factors, 0).is_zero());
        lines.set(0, 1, Scaled::ONE, 0..2);
        assert_eq!(lines.sum(0, 0..2, &factors, 0).ln(), 0.0);
    }
}
