//! Non-negative numbers of any magnitude: a floating-point number and a power of two beside it.
//!
//! Sums of products of weights run over thousands of powers of ten. Logarithms would hold them,
//! at the price of an exponential and a logarithm per term; these cost a multiplication, and are
//! more accurate, since scaling by a power of two is exact.

use std::f64::consts::LN_2;

/// Mantissas are kept between the reciprocal of this and this, so that a product of three neither
/// overflows nor loses bits. 2¹²⁸.
const LARGE: f64 = power_of_two(128);
/// 2⁻¹²⁸.
const SMALL: f64 = power_of_two(-128);

/// `2^exponent` for exponents of normal numbers; beyond them the nearest normal power.
pub(super) const fn power_of_two(exponent: i64) -> f64 {
    let exponent = if exponent < -1022 {
        -1022
    } else if exponent > 1023 {
        1023
    } else {
        exponent
    };
    f64::from_bits(((exponent + 1023) as u64) << 52)
}

/// `mantissa · 2^exponent`, not negative.
#[derive(Clone, Copy, Debug)]
pub(super) struct Scaled {
    pub(super) mantissa: f64,
    pub(super) exponent: i64,
}

impl Scaled {
    pub(super) const ZERO: Scaled = Scaled { mantissa: 0.0, exponent: 0 };
    pub(super) const ONE: Scaled = Scaled { mantissa: 1.0, exponent: 0 };

    /// A number with its exponent, brought into range.
    pub(super) fn new(mantissa: f64, exponent: i64) -> Self {
        if (SMALL..LARGE).contains(&mantissa) {
            return Scaled { mantissa, exponent };
        }
        if mantissa == 0.0 {
            return Scaled::ZERO;
        }
        let shift = magnitude(mantissa);
        Scaled { mantissa: mantissa * power_of_two(-shift), exponent: exponent + shift }
    }

    /// exp(weight).
    pub(super) fn exp(weight: f64) -> Self {
        if weight.abs() < 80.0 {
            return Scaled { mantissa: weight.exp(), exponent: 0 };
        }
        if weight == f64::NEG_INFINITY {
            return Scaled::ZERO;
        }
        let exponent = (weight / LN_2).round();
        Scaled::new((weight - exponent * LN_2).exp(), exponent as i64)
    }

    /// The natural logarithm; minus infinity of zero.
    pub(super) fn ln(self) -> f64 {
        self.mantissa.ln() + self.exponent as f64 * LN_2
    }

    /// Whether it is zero.
    pub(super) fn is_zero(self) -> bool {
        self.mantissa == 0.0
    }

    /// The exponent of the nearest power of two below; only of numbers other than zero.
    pub(super) fn magnitude(self) -> i64 {
        self.exponent + magnitude(self.mantissa)
    }

    /// The product.
    pub(super) fn times(self, other: Self) -> Self {
        Scaled::new(self.mantissa * other.mantissa, self.exponent + other.exponent)
    }

    /// The quotient; the divisor is not zero.
    pub(super) fn over(self, other: Self) -> Self {
        Scaled::new(self.mantissa / other.mantissa, self.exponent - other.exponent)
    }

    /// The sum. A term less than 2⁻¹⁴⁴ of the other is left out: no bit of the sum depends on it.
    pub(super) fn plus(self, other: Self) -> Self {
        let (low, high) = match self.exponent < other.exponent {
            true => (self, other),
            false => (other, self),
        };
        if high.is_zero() {
            return low;
        }
        let gap = high.exponent - low.exponent;
        if gap > 400 {
            return high;
        }
        Scaled::new(high.mantissa + low.mantissa * power_of_two(-gap), high.exponent)
    }

    /// `self / 2^reference` as a plain number: zero below 2⁻¹⁰²², huge rather than infinite.
    pub(super) fn relative_to(self, reference: i64) -> f64 {
        let exponent = self.exponent - reference;
        if exponent < -894 { 0.0 } else { self.mantissa * power_of_two(exponent.min(890)) }
    }
}

/// The exponent of a positive normal number.
fn magnitude(value: f64) -> i64 {
    ((value.to_bits() >> 52) & 0x7ff) as i64 - 1023
}

#[cfg(test)]
mod tests {
    use super::*;

    #[track_caller]
    fn assert_ln(value: Scaled, expected: f64) {
        let error = (value.ln() - expected).abs();
        assert!(error <= 1e-13 * expected.abs().max(1.0), "{value:?} is not exp({expected})");
    }

    #[test]
    fn arithmetic_far_beyond_plain_numbers() {
        for (x, y) in
            [(0.5, -3.0), (5_000.0, -9_000.0), (-1e9, 2e9), (79.9, 80.1), (-700.0, -699.0)]
        {
            let (a, b) = (Scaled::exp(x), Scaled::exp(y));
            assert_ln(a, x);
            assert_ln(a.times(b), x + y);
            assert_ln(a.over(b), x - y);
            let (low, high) = if x < y { (x, y) } else { (y, x) };
            assert_ln(a.plus(b), high + (low - high).exp().ln_1p());
            assert_ln(b.plus(a), high + (low - high).exp().ln_1p());
        }
    }

    #[test]
    fn zero() {
        let zero = Scaled::exp(f64::NEG_INFINITY);
        assert!(zero.is_zero());
        assert_eq!(zero.ln(), f64::NEG_INFINITY);
        for weight in [-1e6, 0.0, 1e6] {
            let other = Scaled::exp(weight);
            assert!(zero.times(other).is_zero() && other.times(zero).is_zero());
            assert!(zero.over(other).is_zero());
            assert_ln(zero.plus(other), weight);
            assert_ln(other.plus(zero), weight);
        }
    }

    #[test]
    fn relative() {
        let value = Scaled::exp(1000.0);
        let bits = value.magnitude();
        assert!((1.0..2.0).contains(&value.relative_to(bits)));
        assert_eq!(value.relative_to(bits + 5000), 0.0);
        assert!(value.relative_to(bits - 5000).is_finite());
    }
}
