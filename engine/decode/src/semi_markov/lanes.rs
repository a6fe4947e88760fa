//! The loops over rows of numbers, each compiled for several generations of processors: `name_on`
//! is the loop, `name` runs it as fits the processor.

use super::model::is_log_weight;
use pulp::{Arch, Simd};

/// So many running results go on side by side.
const LANES: usize = 16;

/// Combines the lanes pairwise.
#[inline(always)]
fn together(mut lanes: [f64; LANES], combine: impl Fn(f64, f64) -> f64) -> f64 {
    let mut width = LANES / 2;
    while width > 0 {
        for lane in 0..width {
            lanes[lane] = combine(lanes[lane], lanes[lane + width]);
        }
        width /= 2;
    }
    lanes[0]
}

/// Combines, lane by lane, what `of_pair` makes of two rows, over the shorter of the two.
#[inline(always)]
fn over_pairs(
    x: &[f64],
    y: &[f64],
    start: f64,
    of_pair: impl Fn(f64, f64) -> f64,
    combine: impl Fn(f64, f64) -> f64,
) -> f64 {
    let length = x.len().min(y.len());
    let (x, y) = (x[..length].chunks_exact(LANES), y[..length].chunks_exact(LANES));
    let mut lanes = [start; LANES];
    for ((lane, x), y) in lanes.iter_mut().zip(x.remainder()).zip(y.remainder()) {
        *lane = combine(of_pair(*x, *y), *lane);
    }
    for (x, y) in x.zip(y) {
        for lane in 0..LANES {
            lanes[lane] = combine(of_pair(x[lane], y[lane]), lanes[lane]);
        }
    }
    together(lanes, combine)
}

/// Combines what `of` makes of some items, several at a time, so that none waits for the one before.
#[inline(always)]
pub(super) fn fold<T>(
    items: &[T],
    start: f64,
    mut of: impl FnMut(&T) -> f64,
    combine: impl Fn(f64, f64) -> f64,
) -> f64 {
    let chunks = items.chunks_exact(4);
    let mut lanes = [start; 4];
    for (lane, item) in lanes.iter_mut().zip(chunks.remainder()) {
        *lane = combine(of(item), *lane);
    }
    for chunk in chunks {
        for (lane, item) in lanes.iter_mut().zip(chunk) {
            *lane = combine(of(item), *lane);
        }
    }
    combine(combine(lanes[0], lanes[1]), combine(lanes[2], lanes[3]))
}

/// The sum of two numbers.
#[inline(always)]
pub(super) fn sum(x: f64, y: f64) -> f64 {
    x + y
}

/// Σ xᵢ yᵢ over the shorter of the two.
#[pulp::with_simd(sum_of_products = Arch::new())]
#[inline(always)]
pub(super) fn sum_of_products_on<S: Simd>(_simd: S, x: &[f64], y: &[f64]) -> f64 {
    over_pairs(x, y, 0.0, |x, y| x * y, sum)
}

/// max(xᵢ + yᵢ) over the shorter of the two, minus infinity of none.
#[pulp::with_simd(max_sum = Arch::new())]
#[inline(always)]
pub(super) fn max_sum_on<S: Simd>(_simd: S, x: &[f64], y: &[f64]) -> f64 {
    over_pairs(x, y, f64::NEG_INFINITY, |x, y| x + y, larger)
}

/// The larger of two log weights.
#[inline(always)]
pub(super) fn larger(x: f64, y: f64) -> f64 {
    if x > y { x } else { y }
}

/// The largest of some log weights, minus infinity of none; nothing if one is no log weight.
#[pulp::with_simd(heaviest = Arch::new())]
#[inline(always)]
pub(super) fn heaviest_on<S: Simd>(_simd: S, row: &[f64]) -> Option<f64> {
    let chunks = row.chunks_exact(LANES);
    let mut largest = [f64::NEG_INFINITY; LANES];
    let mut right = chunks.remainder().iter().copied().all(is_log_weight);
    for (largest, weight) in largest.iter_mut().zip(chunks.remainder()) {
        *largest = *weight;
    }
    for chunk in chunks {
        for lane in 0..LANES {
            largest[lane] = larger(chunk[lane], largest[lane]);
            right &= is_log_weight(chunk[lane]);
        }
    }
    right.then(|| together(largest, larger))
}

/// exp(weight · scale - offset) of a row; zero where the exponent is less than `least`. The
/// exponents must lie below 700, and `least` above -700.
#[pulp::with_simd(exponentials = Arch::new())]
#[inline(always)]
pub(super) fn exponentials_on<S: Simd>(
    _simd: S,
    row: &[f64],
    scale: f64,
    offset: f64,
    least: f64,
    to: &mut [f64],
) {
    for (to, weight) in to.iter_mut().zip(row) {
        let exponent = weight * scale - offset;
        let value = exponential(larger(exponent, least));
        *to = if exponent < least { 0.0 } else { value };
    }
}

/// What arcs are expected to gain: `gain` times their share less `cost`, where their weight allows
/// them at all.
#[pulp::with_simd(expected_gains = Arch::new())]
#[inline(always)]
pub(super) fn expected_gains_on<S: Simd>(
    _simd: S,
    weights: &[f64],
    shares: &[f64],
    gain: f64,
    cost: f64,
    to: &mut [f64],
) {
    for ((to, weight), share) in to.iter_mut().zip(weights).zip(shares) {
        *to = if *weight == f64::NEG_INFINITY { *weight } else { gain * share - cost };
    }
}

/// ln 2 in two parts, as in fdlibm's `e_exp.c`: a multiple of the first is exact.
const LN_2_HIGH: f64 = 6.931_471_803_691_238e-1;
const LN_2_LOW: f64 = 1.908_214_929_270_587_7e-10;
/// Added to a number below 2⁵¹ and taken away again, it leaves the nearest integer, which stands
/// in the lowest bits of the sum. 1.5 · 2⁵².
const TO_INTEGER: f64 = 6_755_399_441_055_744.0;
/// 1/n! from n = 13 down to 0: the Taylor series, of which the rest is less than 2⁻⁵⁷ here.
const INVERSE_FACTORIALS: [f64; 14] = {
    let mut inverse = [1.0; 14];
    let (mut factorial, mut n) = (1.0, 1);
    while n < 14 {
        factorial *= n as f64;
        inverse[13 - n] = 1.0 / factorial;
        n += 1;
    }
    inverse
};

/// eˣ for |x| < 700, to about one unit in the last place: 2ⁿ · eʳ with |r| ≤ ½ ln 2. Plain
/// arithmetic without a branch, so that a loop over it runs in wide registers.
#[inline(always)]
fn exponential(x: f64) -> f64 {
    let shifted = x * std::f64::consts::LOG2_E + TO_INTEGER;
    let power = shifted - TO_INTEGER;
    let rest = (x - power * LN_2_HIGH) - power * LN_2_LOW;
    let series = INVERSE_FACTORIALS.iter().fold(0.0, |sum, factor| sum * rest + factor);
    series * f64::from_bits((shifted.to_bits() << 52).wrapping_add(1023 << 52))
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    proptest! {
        #[test]
        fn exponentials_are_those_of_the_library(
            weights in prop::collection::vec(-600.0..600.0f64, 0..70),
        ) {
            let mut found = vec![f64::NAN; weights.len()];
            exponentials(&weights, 0.5, 3.0, -250.0, &mut found);
            for (weight, found) in weights.iter().zip(&found) {
                let exponent = weight * 0.5 - 3.0;
                let expected = if exponent < -250.0 { 0.0 } else { exponent.exp() };
                prop_assert!((found - expected).abs() <= 4e-16 * expected, "{exponent}");
            }
        }

        #[test]
        fn loops_are_those_of_the_definition(
            pairs in prop::collection::vec((-9.0..9.0f64, -9.0..9.0f64), 0..70),
        ) {
            let (x, y): (Vec<f64>, Vec<f64>) = pairs.iter().copied().unzip();
            let sum: f64 = pairs.iter().map(|(x, y)| x * y).sum();
            prop_assert!((sum_of_products(&x, &y) - sum).abs() < 1e-11);
            let largest = pairs.iter().map(|(x, y)| x + y).fold(f64::NEG_INFINITY, f64::max);
            prop_assert_eq!(max_sum(&x, &y), largest);
            let largest = x.iter().copied().fold(f64::NEG_INFINITY, f64::max);
            prop_assert_eq!(heaviest(&x), Some(largest));
        }

        #[test]
        fn a_wrong_weight_is_found_anywhere(length in 1usize..70, place in 0usize..70) {
            for wrong in [f64::NAN, f64::INFINITY, 2e9, -2e9] {
                let mut row = vec![f64::NEG_INFINITY; length];
                prop_assert_eq!(heaviest(&row), Some(f64::NEG_INFINITY));
                row[place % length] = wrong;
                prop_assert_eq!(heaviest(&row), None);
            }
        }
    }

    #[test]
    fn exponents_at_the_edges() {
        let mut found = [f64::NAN; 3];
        exponentials(&[f64::NEG_INFINITY, -350.0, 0.0], 1.0, 0.0, -350.0, &mut found);
        assert_eq!(found, [0.0, (-350.0f64).exp(), 1.0]);
    }
}
