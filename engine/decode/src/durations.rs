//! How long positions are held, as weights for the decoder.

use crate::parameters::{HoldTime, ReaderModel, Settings, hold_index};
use crate::reader::network::BIN_SECONDS;
use crate::{grammar, semi_markov};

/// Longest hold with a weight of its own, in bins: a minute; longer ones go on as at its end.
pub const LONGEST: usize = 120;

/// Duration weights of one state.
#[derive(Clone, Debug)]
pub struct DurationWeights {
    exactly: Vec<f64>,
    at_least: Vec<f64>,
    tail: f64,
}

impl DurationWeights {
    /// The weights as the decoder takes them.
    #[must_use]
    pub fn view(&self) -> semi_markov::Durations<'_> {
        semi_markov::Durations { exactly: &self.exactly, at_least: &self.at_least, tail: self.tail }
    }
}

/// Duration weights of every state. The reader learned a constant weight for each further bin, as
/// if holds were geometric; the log-normal hold times of real rounds correct it by the logarithm
/// of the ratio to the geometric law of the same mean, times `duration_weight`. Everything is
/// divided by the temperature.
#[must_use]
pub fn duration_weights(model: &ReaderModel, settings: &Settings) -> Vec<DurationWeights> {
    (0..grammar::STATES)
        .map(|state| {
            let (position, _) = grammar::meaning(state);
            let stay = model.stay[hold_index(position)];
            weights(stay, settings.hold(position), settings)
        })
        .collect()
}

fn weights(stay: f64, hold: HoldTime, settings: &Settings) -> DurationWeights {
    let mass: Vec<f64> = (1..=LONGEST).map(|bins| mass(hold, bins)).collect();
    let mean = (hold.log_mean + hold.log_deviation * hold.log_deviation / 2.0).exp() / BIN_SECONDS;
    let leave = (1.0 / mean.max(1.0)).min(0.999);
    let go_on = (1.0 - leave).ln();
    let correct = |bins: usize, log_mass: f64, log_geometric: f64| {
        let steps = (bins - 1) as f64;
        let correction = (log_mass - log_geometric).clamp(-MOST_CORRECTION, MOST_CORRECTION);
        (stay * steps + settings.duration_weight * correction) / settings.temperature
    };
    let mut left: f64 = 1.0;
    let mut exactly = Vec::with_capacity(LONGEST);
    let mut at_least = Vec::with_capacity(LONGEST);
    for (index, mass) in mass.iter().enumerate() {
        let before = index as f64 * go_on;
        exactly.push(correct(index + 1, mass.ln(), before + leave.ln()));
        at_least.push(correct(index + 1, left.max(f64::MIN_POSITIVE).ln(), before));
        left -= mass;
    }
    DurationWeights { exactly, at_least, tail: stay / settings.temperature }
}

/// Ratios to the geometric law beyond e⁶ are not believed: the hold times are estimates.
const MOST_CORRECTION: f64 = 6.0;

/// Chance that a log-normal hold lasts `bins` bins, rounded to the nearest.
fn mass(hold: HoldTime, bins: usize) -> f64 {
    let cumulative = |bins: f64| {
        let seconds = (bins * BIN_SECONDS).max(1e-9);
        normal_cumulative((seconds.ln() - hold.log_mean) / hold.log_deviation)
    };
    let low = if bins == 1 { 0.0 } else { cumulative(bins as f64 - 0.5) };
    (cumulative(bins as f64 + 0.5) - low).max(1e-12)
}

/// The standard normal distribution function, to about 1e-7 (Abramowitz and Stegun 1964, 26.2.17).
fn normal_cumulative(x: f64) -> f64 {
    const COEFFICIENTS: [f64; 5] =
        [0.319_381_530, -0.356_563_782, 1.781_477_937, -1.821_255_978, 1.330_274_429];
    let t = 1.0 / (1.0 + 0.231_641_9 * x.abs());
    let polynomial = COEFFICIENTS.iter().rev().fold(0.0, |sum, c| (sum + c) * t);
    let density = (-x * x / 2.0).exp() / (2.0 * std::f64::consts::PI).sqrt();
    let upper = density * polynomial;
    if x >= 0.0 { 1.0 - upper } else { upper }
}

#[cfg(test)]
mod tests {
    use super::*;

    // Standard normal table, e.g. Abramowitz and Stegun 1964, table 26.1.
    #[test]
    fn the_normal_distribution_has_its_tabled_values() {
        for (x, value) in
            [(0.0, 0.5), (1.0, 0.841_344_75), (1.96, 0.975_002_1), (-2.5, 0.006_209_7)]
        {
            assert!((normal_cumulative(x) - value).abs() < 1e-6, "{x}");
        }
    }

    #[test]
    fn holds_sum_to_one_over_all_lengths() {
        let hold = HoldTime { log_mean: 2.0, log_deviation: 0.5 };
        let sum: f64 = (1..2000).map(|bins| mass(hold, bins)).sum();
        assert!((sum - 1.0).abs() < 1e-6, "{sum}");
    }
}
