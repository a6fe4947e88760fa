//! Tails and quantiles of the usual distributions.
//!
//! Quantiles are found by Newton's method inside a bracket, on the logarithm (gamma) or the logit
//! (beta), always on the smaller of the two tails, so that far tails keep their digits.

use crate::special_functions::{incomplete_beta, incomplete_gamma, ln_beta, ln_gamma};

/// The value below which a standard normal variable falls with chance `p`; infinite at 0 and 1.
#[must_use]
pub fn normal_quantile(p: f64) -> f64 {
    let tail = p.min(1.0 - p);
    // The square of a normal variable is twice a gamma variable of shape 1/2; small on the side of
    // the middle, where the other tail of the gamma is the small one.
    let half = if tail > 0.25 {
        gamma_quantile(1.0 - 2.0 * tail, 0.5)
    } else {
        gamma_quantile_above(2.0 * tail, 0.5)
    };
    let z = (2.0 * half).sqrt();
    if p < 0.5 { -z } else { z }
}

/// The chance that a standard normal variable is at least as far from 0 as `z`, on either side.
#[must_use]
pub fn normal_two_sided(z: f64) -> f64 {
    incomplete_gamma(0.5, z * z / 2.0).1
}

/// The chance that a gamma variable of this shape and rate 1 is at most `x`. Not a number unless
/// the shape is positive and finite.
#[must_use]
pub fn gamma_lower(shape: f64, x: f64) -> f64 {
    incomplete_gamma(shape, x.max(0.0)).0
}

/// The chance that a gamma variable of this shape and rate 1 is at least `x`. Not a number unless
/// the shape is positive and finite.
#[must_use]
pub fn gamma_upper(shape: f64, x: f64) -> f64 {
    incomplete_gamma(shape, x.max(0.0)).1
}

/// The chance that a chi-square variable with this many degrees of freedom is at least `x`.
#[must_use]
pub fn chi_square_upper(x: f64, degrees: usize) -> f64 {
    gamma_upper(degrees as f64 / 2.0, x / 2.0)
}

/// The chance that a beta variable is at most `x`: the regularised incomplete beta function.
#[must_use]
pub fn beta_lower(a: f64, b: f64, x: f64) -> f64 {
    let x = x.clamp(0.0, 1.0);
    incomplete_beta(a, b, x, 1.0 - x).0
}

/// The value below which a gamma variable of this shape and rate 1 falls with chance `p`.
///
/// Not a number unless the shape is positive and finite and 0 <= p <= 1.
#[must_use]
pub fn gamma_quantile(p: f64, shape: f64) -> f64 {
    gamma_point(shape, p, 1.0 - p)
}

/// The value above which a gamma variable of this shape and rate 1 falls with chance `p`, which
/// keeps its digits where that is small.
///
/// Not a number unless the shape is positive and finite and 0 <= p <= 1.
#[must_use]
pub fn gamma_quantile_above(p: f64, shape: f64) -> f64 {
    gamma_point(shape, 1.0 - p, p)
}

fn gamma_point(shape: f64, below: f64, above: f64) -> f64 {
    if !(shape > 0.0 && shape.is_finite() && (0.0..=1.0).contains(&below)) {
        return f64::NAN;
    }
    if below == 0.0 || above == 0.0 {
        return if below == 0.0 { 0.0 } else { f64::INFINITY };
    }
    let scale = ln_gamma(shape);
    let density = |u: f64| (shape * u - u.exp() - scale).exp();
    let excess = |u: f64| {
        let (lower, upper) = incomplete_gamma(shape, u.exp());
        if below <= above { lower - below } else { above - upper }
    };
    let bend = |u: f64| shape - u.exp();
    root(gamma_start(shape, below, above), excess, density, bend).exp()
}

/// Near the logarithm of a point of the gamma distribution: its cube root is nearly normal (Wilson
/// and Hilferty 1931, *PNAS* 17:684) but for small shapes and low tails, where P(x) is nearly
/// x^shape / Γ(shape + 1).
fn gamma_start(shape: f64, below: f64, above: f64) -> f64 {
    let root = 1.0 - 1.0 / (9.0 * shape) + normal_start(below, above) / (3.0 * shape.sqrt());
    if root > 0.3 {
        3.0 * root.ln() + shape.ln()
    } else {
        (below.ln() + ln_gamma(shape + 1.0)) / shape
    }
}

/// Near the point of the standard normal distribution: good to three digits, to start from
/// (Hastings 1955; Abramowitz and Stegun 1964, 26.2.23).
fn normal_start(below: f64, above: f64) -> f64 {
    let t = (-2.0 * below.min(above).ln()).sqrt();
    let upper = 2.515_517 + t * (0.802_853 + t * 0.010_328);
    let lower = 1.0 + t * (1.432_788 + t * (0.189_269 + t * 0.001_308));
    let z = t - upper / lower;
    if below < above { -z } else { z }
}

/// The value below which a beta variable falls with chance `p`.
///
/// Not a number unless both parameters are positive and finite and 0 <= p <= 1.
#[must_use]
pub fn beta_quantile(p: f64, a: f64, b: f64) -> f64 {
    share(beta_logit(p, a, b))
}

/// The odds x / (1 − x) of the same value, which keep their digits where it is near 1.
///
/// Not a number unless both parameters are positive and finite and 0 <= p <= 1.
#[must_use]
pub fn beta_odds_quantile(p: f64, a: f64, b: f64) -> f64 {
    beta_logit(p, a, b).exp()
}

fn share(logit: f64) -> f64 {
    1.0 / (1.0 + (-logit).exp())
}

fn beta_logit(p: f64, a: f64, b: f64) -> f64 {
    let fits = a > 0.0 && b > 0.0 && (a + b).is_finite() && (0.0..=1.0).contains(&p);
    if !fits {
        return f64::NAN;
    }
    if p == 0.0 || p == 1.0 {
        return if p == 0.0 { f64::NEG_INFINITY } else { f64::INFINITY };
    }
    let scale = ln_beta(a, b);
    let density = |u: f64| {
        let (below, above) = (-(-u).exp().ln_1p(), -u.exp().ln_1p());
        (a * below + b * above - scale).exp()
    };
    let excess = |u: f64| {
        let (lower, upper) = incomplete_beta(a, b, share(u), share(-u));
        if p <= 0.5 { lower - p } else { (1.0 - p) - upper }
    };
    let bend = |u: f64| a - (a + b) * share(u);
    let start = (a / b).ln() + normal_start(p, 1.0 - p) * (1.0 / a + 1.0 / b).sqrt();
    root(start, excess, density, bend)
}

/// The value below which Student's t with this many degrees of freedom falls with chance `p`.
///
/// Not a number unless the degrees are positive and finite and 0 <= p <= 1.
#[must_use]
pub fn student_quantile(p: f64, degrees: f64) -> f64 {
    let tail = p.min(1.0 - p);
    // t^2 / (degrees + t^2) is a beta variable; its complement keeps the digits of far tails.
    let rest = beta_quantile(2.0 * tail, degrees / 2.0, 0.5);
    let t = (degrees * (1.0 - rest) / rest).sqrt();
    if p < 0.5 { -t } else { t }
}

/// The chance that Student's t is at least as far from 0 as `t`, on either side.
#[must_use]
pub fn student_two_sided(t: f64, degrees: f64) -> f64 {
    incomplete_beta(degrees / 2.0, 0.5, degrees / (degrees + t * t), t * t / (degrees + t * t)).0
}

/// Beyond this many natural logarithms either way nothing is looked for.
const FARTHEST: f64 = 1400.0;

/// The zero of a rising function with this slope, whose own slope is `bend` times that: Halley's
/// method, inside what is known to lie on either side. Gives the nearest end where no zero is found
/// within [`FARTHEST`] of 0.
fn root(
    start: f64,
    excess: impl Fn(f64) -> f64,
    slope: impl Fn(f64) -> f64,
    bend: impl Fn(f64) -> f64,
) -> f64 {
    /// Farther steps are not trusted: far out the function is flat.
    const LONGEST: f64 = 8.0;
    let (mut low, mut high) = (-FARTHEST, FARTHEST);
    let mut u = start.clamp(-700.0, 700.0);
    let mut last = f64::INFINITY;
    for _ in 0..400 {
        let gap = excess(u);
        if gap > 0.0 {
            high = u;
        } else {
            low = u;
        }
        let newton = gap / slope(u);
        // Halley's correction, as long as it is one.
        let halley = newton / (1.0 - 0.5 * newton * bend(u)).clamp(0.5, 2.0);
        let step = if halley.is_finite() { halley } else { LONGEST.copysign(gap) };
        let mut next = u - step.clamp(-LONGEST, LONGEST);
        // There, or as near as the rounding of the function lets one come. Before the bracket is
        // asked: it may end just here.
        let moved = (next - u).abs() / u.abs().max(1.0);
        let wavers = moved < 1e-13 && moved >= 0.5 * last;
        if moved <= 4.0 * f64::EPSILON || wavers {
            break;
        }
        if !(next > low && next < high) {
            next = low + (high - low) / 2.0;
        }
        u = next;
        last = moved;
    }
    u
}
