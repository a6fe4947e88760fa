//! The gamma and beta functions and their incomplete forms, to about thirteen digits.
//!
//! Sums and fractions are the classical ones; what keeps the digits where the parameters are large
//! is that powers and factorials are never formed apart (Loader 2000, "Fast and accurate
//! computation of binomial probabilities").

use std::f64::consts::PI;

/// From here on Stirling's series is exact to the last digit.
const LARGE: f64 = 16.0;

/// ln Γ(x) less (x − 1/2) ln x − x + ln(2π) / 2, for x of 16 and above: the Stirling series
/// (Abramowitz and Stegun 6.1.41).
fn stirling(x: f64) -> f64 {
    let r = 1.0 / (x * x);
    let terms = [
        1.0 / 12.0,
        -1.0 / 360.0,
        1.0 / 1260.0,
        -1.0 / 1680.0,
        1.0 / 1188.0,
        -691.0 / 360_360.0,
        1.0 / 156.0,
    ];
    terms.iter().rev().fold(0.0, |sum, term| sum * r + term) / x
}

/// ln Γ(x) for x > 0; not a number otherwise.
#[must_use]
pub fn ln_gamma(x: f64) -> f64 {
    if x.is_nan() || x <= 0.0 {
        return f64::NAN;
    }
    if x >= LARGE {
        return (x - 0.5) * x.ln() - x + 0.5 * (2.0 * PI).ln() + stirling(x);
    }
    // Γ(x + 1) = x Γ(x), up to where the series serves.
    let (mut up, mut product) = (x, 1.0);
    while up < LARGE {
        product *= up;
        up += 1.0;
    }
    ln_gamma(up) - product.ln()
}

/// The derivative of ln Γ(x) for x > 0; not a number otherwise. Abramowitz and Stegun 6.3.18, after
/// steps of ψ(x + 1) = ψ(x) + 1/x.
#[must_use]
pub fn digamma(x: f64) -> f64 {
    if x.is_nan() || x <= 0.0 {
        return f64::NAN;
    }
    let (mut up, mut steps) = (x, 0.0);
    while up < LARGE {
        steps += 1.0 / up;
        up += 1.0;
    }
    let r = 1.0 / (up * up);
    let terms = [
        1.0 / 12.0,
        -1.0 / 120.0,
        1.0 / 252.0,
        -1.0 / 240.0,
        1.0 / 132.0,
        -691.0 / 32_760.0,
        1.0 / 12.0,
    ];
    let sum = terms.iter().rev().fold(0.0, |sum, term| sum * r + term) * r;
    up.ln() - 0.5 / up - sum - steps
}

/// x − 1 − ln x, without the error of the difference near 1.
fn gap(x: f64) -> f64 {
    let m = x - 1.0;
    if m.abs() > 0.2 {
        return m - x.ln();
    }
    // ln x = 2 artanh(v) with v = m / (2 + m), and m = 2v / (1 − v).
    let v = m / (2.0 + m);
    let square = v * v;
    let (mut sum, mut power, mut odd) = (0.0, v * square, 3.0);
    while power.abs() > 1e-18 * m.abs() * v.abs() && odd < 60.0 {
        sum += 2.0 * power / odd;
        power *= square;
        odd += 2.0;
    }
    m * v - sum
}

/// x^a e^(−x) / Γ(a).
fn gamma_weight(a: f64, x: f64) -> f64 {
    if a >= LARGE {
        (a / (2.0 * PI)).sqrt() * (-a * gap(x / a) - stirling(a)).exp()
    } else {
        (a * x.ln() - x - ln_gamma(a)).exp()
    }
}

/// Both regularised incomplete gamma functions, P(a, x) and Q(a, x) = 1 − P, each with its own
/// digits, for finite a > 0 and x >= 0; not numbers otherwise.
///
/// By the series below a + 1 and Lentz's continued fraction above (Abramowitz and Stegun 6.5.29 and
/// 6.5.31). Work grows with the root of a.
#[must_use]
pub fn incomplete_gamma(a: f64, x: f64) -> (f64, f64) {
    if !(a > 0.0 && a.is_finite() && x >= 0.0) {
        return (f64::NAN, f64::NAN);
    }
    if x == 0.0 || x == f64::INFINITY {
        return if x == 0.0 { (0.0, 1.0) } else { (1.0, 0.0) };
    }
    let most = most_terms(a);
    let weight = gamma_weight(a, x);
    if x < a + 1.0 {
        let (mut term, mut sum, mut at) = (1.0 / a, 1.0 / a, 1.0);
        while term > sum * 1e-17 && at < most {
            term *= x / (a + at);
            sum += term;
            at += 1.0;
        }
        let lower = (weight * sum).min(1.0);
        (lower, 1.0 - lower)
    } else {
        let mut b = x + 1.0 - a;
        let (mut c, mut d) = (1.0 / TINY, 1.0 / b);
        let (mut h, mut at) = (d, 1.0);
        while at < most {
            let part = -at * (at - a);
            b += 2.0;
            d = 1.0 / held(part * d + b);
            c = held(b + part / c);
            h *= c * d;
            if (c * d - 1.0).abs() < 1e-16 {
                break;
            }
            at += 1.0;
        }
        let upper = (weight * h).min(1.0);
        (1.0 - upper, upper)
    }
}

const TINY: f64 = 1e-300;

/// How many terms a sum or fraction may take: they need some multiple of the root of the parameter.
/// Past a parameter of a few billion the digits get fewer instead of the wait longer.
fn most_terms(parameter: f64) -> f64 {
    (200.0 + 20.0 * parameter.sqrt()).min(1e6)
}

/// Away from 0, so that it can be divided by.
fn held(x: f64) -> f64 {
    if x.abs() < TINY { TINY } else { x }
}

/// x^a y^b / B(a, b) with y = 1 − x.
fn beta_weight(a: f64, b: f64, x: f64, y: f64) -> f64 {
    let n = a + b;
    if a >= LARGE && b >= LARGE {
        let root = (a * b / (2.0 * PI * n)).sqrt();
        let off = stirling(n) - stirling(a) - stirling(b);
        root * (off - a * gap(n * x / a) - b * gap(n * y / b)).exp()
    } else {
        (a * x.ln() + b * y.ln() - ln_beta(a, b)).exp()
    }
}

/// ln B(a, b) for positive a and b; not a number otherwise.
#[must_use]
pub fn ln_beta(a: f64, b: f64) -> f64 {
    ln_gamma(a) + ln_gamma(b) - ln_gamma(a + b)
}

/// Both regularised incomplete beta functions, I_x(a, b) and 1 − I = I_y(b, a), each with its own
/// digits, for finite positive a and b and shares x and y that make 1; not numbers otherwise. Both
/// shares are given so that the one near 0 keeps its digits.
///
/// By Lentz's continued fraction (Abramowitz and Stegun 26.5.8) on the side where it converges
/// fast. Work grows with the root of the larger parameter.
#[must_use]
pub fn incomplete_beta(a: f64, b: f64, x: f64, y: f64) -> (f64, f64) {
    let fits = a > 0.0 && b > 0.0 && (a + b).is_finite();
    if !(fits && (0.0..=1.0).contains(&x) && (0.0..=1.0).contains(&y)) {
        return (f64::NAN, f64::NAN);
    }
    if x == 0.0 || y == 0.0 {
        return if x == 0.0 { (0.0, 1.0) } else { (1.0, 0.0) };
    }
    if x > (a + 1.0) / (a + b + 2.0) {
        let (upper, lower) = incomplete_beta_below(b, a, y, x);
        (lower, upper)
    } else {
        incomplete_beta_below(a, b, x, y)
    }
}

fn incomplete_beta_below(a: f64, b: f64, x: f64, y: f64) -> (f64, f64) {
    let most = most_terms(a.max(b));
    let mut c = 1.0;
    let mut d = 1.0 / held(1.0 - (a + b) * x / (a + 1.0));
    let (mut h, mut m) = (d, 1.0);
    while m < most {
        let even = m * (b - m) * x / ((a + 2.0 * m - 1.0) * (a + 2.0 * m));
        d = 1.0 / held(1.0 + even * d);
        c = held(1.0 + even / c);
        h *= c * d;
        let odd = -(a + m) * (a + b + m) * x / ((a + 2.0 * m) * (a + 2.0 * m + 1.0));
        d = 1.0 / held(1.0 + odd * d);
        c = held(1.0 + odd / c);
        h *= c * d;
        if (c * d - 1.0).abs() < 1e-16 {
            break;
        }
        m += 1.0;
    }
    let lower = (beta_weight(a, b, x, y) * h / a).min(1.0);
    (lower, 1.0 - lower)
}
