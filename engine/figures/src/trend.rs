//! How something changes over time: the slope of a rate, or of a mean, with an interval.

use crate::distributions::{normal_two_sided, student_quantile, student_two_sided};
use crate::exact_rates::Count;
use crate::interval::{Estimate, Interval, Level};

/// Why there is no slope.
#[derive(Clone, Copy, Debug, PartialEq, thiserror::Error)]
pub enum TrendError {
    /// Too few different times.
    #[error("a trend needs data from at least {0} different times")]
    TooFew(usize),
    /// A time, value or weight that is none.
    #[error("point {index}: {value} is no time, value or weight")]
    Point {
        /// Which one, counted from 0.
        index: usize,
        /// What stands there.
        value: f64,
    },
    /// No event at all, or events only at the very first or the very last time: no slope is steep
    /// enough.
    #[error("events at only one end of the time, or none, have no finite slope")]
    OneEnd,
}

/// How a rate changes over time.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct RateTrend {
    /// The change of the logarithm of the rate per unit of time.
    pub log_slope: f64,
    /// Its standard error if events come at random (Poisson).
    pub standard_error: f64,
    /// How much more the counts scatter about the trend than that: Pearson's χ² / (points − 2); 1
    /// with two points.
    pub dispersion: f64,
    /// By what factor the rate changes per unit of time; the interval is widened by the root of the
    /// dispersion where that is above 1 (McCullagh and Nelder 1989, section 6.2.3).
    pub factor: Estimate,
    /// The chance of so steep a trend or steeper where there is none, widened likewise.
    pub p_value: f64,
}

/// The trend of a rate over time, by Poisson regression with a log link.
///
/// The expected count at time t in exposure e is e · exp(α + β t); β by Newton's method on the
/// likelihood (McCullagh and Nelder 1989, chapter 6), with limits β ± z se. Times in any unit:
/// weeks give a slope per week.
///
/// # Errors
/// See [`TrendError`].
pub fn rate_trend(points: &[(f64, Count)], level: Level) -> Result<RateTrend, TrendError> {
    let times: Vec<f64> = points.iter().map(|point| point.0).collect();
    let (first, last) = ends(&times, 2)?;
    let events: f64 = points.iter().map(|point| point.1.events()).sum();
    let away = |end: f64| points.iter().any(|point| point.0 != end && point.1.events() > 0.0);
    if events <= 0.0 || !away(first) || !away(last) {
        return Err(TrendError::OneEnd);
    }
    // Times from -1 to 1 keep Newton's steps tame whatever the unit.
    let (middle, half) = (first / 2.0 + last / 2.0, last / 2.0 - first / 2.0);
    let scaled: Vec<f64> = times.iter().map(|time| (time - middle) / half).collect();
    let fit = Fit { points, scaled: &scaled, events };
    let mut slope = 0.0;
    for _ in 0..200 {
        let (score, information) = fit.score(slope);
        let mut step = score / information;
        // Far from the top the quadratic overshoots: halve until the likelihood does not fall.
        step = step.clamp(-5.0, 5.0);
        let before = fit.likelihood(slope);
        while fit.likelihood(slope + step) < before - 1e-12 * before.abs() && step.abs() > 1e-15 {
            step /= 2.0;
        }
        slope += step;
        if step.abs() <= 1e-14 * slope.abs().max(1.0) {
            break;
        }
    }
    let (_, information) = fit.score(slope);
    let expected = fit.expected(slope);
    let pearson: f64 = expected
        .iter()
        .zip(points)
        .filter(|(mean, _)| **mean > 0.0)
        .map(|(mean, point)| (point.1.events() - mean).powi(2) / mean)
        .sum();
    let dispersion = if points.len() > 2 { pearson / (points.len() - 2) as f64 } else { 1.0 };
    let log_slope = slope / half;
    let standard_error = 1.0 / (information.sqrt() * half);
    let widened = standard_error * dispersion.max(1.0).sqrt();
    let spread = level.deviations() * widened;
    let limits = Interval::between((log_slope - spread).exp(), (log_slope + spread).exp());
    Ok(RateTrend {
        log_slope,
        standard_error,
        dispersion,
        factor: Estimate { value: log_slope.exp(), interval: limits },
        p_value: normal_two_sided(log_slope / widened),
    })
}

/// The likelihood with the level of the rate already at its best for each slope.
struct Fit<'a> {
    points: &'a [(f64, Count)],
    scaled: &'a [f64],
    events: f64,
}

impl Fit<'_> {
    /// Expected counts, which add up to the events.
    fn expected(&self, slope: f64) -> Vec<f64> {
        let top = slope.abs();
        let raw: Vec<f64> = self
            .points
            .iter()
            .zip(self.scaled)
            .map(|(point, time)| point.1.exposure() * (slope * time - top).exp())
            .collect();
        let sum: f64 = raw.iter().sum();
        raw.iter().map(|one| one / sum * self.events).collect()
    }

    /// The slope of the likelihood and minus its second derivative.
    fn score(&self, slope: f64) -> (f64, f64) {
        let expected = self.expected(slope);
        let mean: f64 = expected.iter().zip(self.scaled).map(|(one, time)| one * time).sum::<f64>()
            / self.events;
        let (mut score, mut information) = (0.0, 0.0);
        for ((one, time), point) in expected.iter().zip(self.scaled).zip(self.points) {
            score += (point.1.events() - one) * time;
            information += one * (time - mean).powi(2);
        }
        (score, information)
    }

    fn likelihood(&self, slope: f64) -> f64 {
        let expected = self.expected(slope);
        let seen = expected.iter().zip(self.points).filter(|(_, point)| point.1.events() > 0.0);
        seen.map(|(one, point)| point.1.events() * one.ln()).sum()
    }
}

/// How a mean changes over time.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct MeanTrend {
    /// The change per unit of time with Student's interval.
    pub slope: Estimate,
    /// Its standard error.
    pub standard_error: f64,
    /// The chance of so steep a trend or steeper where there is none.
    pub p_value: f64,
}

/// The trend of a mean over time, by weighted least squares.
///
/// Points are (time, value, weight), weights in proportion to one over the variance. The slope is
/// Σ w (t − t̄) (y − ȳ) / Σ w (t − t̄)²; the unknown scale of the variance is estimated from the
/// residuals, and the interval is Student's with points − 2 degrees (Draper and Smith 1998, chapter
/// 9). In units of the value per unit of time.
///
/// # Errors
/// See [`TrendError`]; three points at two different times or more are needed.
pub fn mean_trend(points: &[(f64, f64, f64)], level: Level) -> Result<MeanTrend, TrendError> {
    for (index, &(_, value, weight)) in points.iter().enumerate() {
        if !value.is_finite() {
            return Err(TrendError::Point { index, value });
        }
        if !(weight > 0.0 && weight.is_finite()) {
            return Err(TrendError::Point { index, value: weight });
        }
    }
    let times: Vec<f64> = points.iter().map(|point| point.0).collect();
    ends(&times, 2)?;
    if points.len() < 3 {
        return Err(TrendError::TooFew(3));
    }
    let all: f64 = points.iter().map(|point| point.2).sum();
    let time = points.iter().map(|(t, _, w)| t * w).sum::<f64>() / all;
    let value = points.iter().map(|(_, y, w)| y * w).sum::<f64>() / all;
    let square: f64 = points.iter().map(|(t, _, w)| w * (t - time).powi(2)).sum();
    let product: f64 = points.iter().map(|(t, y, w)| w * (t - time) * (y - value)).sum();
    let slope = product / square;
    let rest = |&(t, y, w): &(f64, f64, f64)| w * (y - value - slope * (t - time)).powi(2);
    let degrees = (points.len() - 2) as f64;
    let scale = points.iter().map(rest).sum::<f64>() / degrees;
    let standard_error = (scale / square).sqrt();
    let spread = student_quantile(1.0 - level.tail(), degrees) * standard_error;
    let p_value = if standard_error > 0.0 {
        student_two_sided(slope / standard_error, degrees)
    } else if slope == 0.0 {
        1.0
    } else {
        0.0
    };
    let interval = Interval::between(slope - spread, slope + spread);
    Ok(MeanTrend { slope: Estimate { value: slope, interval }, standard_error, p_value })
}

/// The first and the last time, where there are two different ones.
fn ends(times: &[f64], needed: usize) -> Result<(f64, f64), TrendError> {
    if let Some(index) = times.iter().position(|time| !time.is_finite()) {
        return Err(TrendError::Point { index, value: times[index] });
    }
    let first = times.iter().copied().fold(f64::INFINITY, f64::min);
    let last = times.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    if first < last { Ok((first, last)) } else { Err(TrendError::TooFew(needed)) }
}
