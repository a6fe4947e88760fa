//! How a number goes over the weeks.

use figures::trend::RateTrend;

use super::{MORE_THAN_CHANCE, Said};
use crate::amounts::{share, short};
use crate::wording::capital;

/// How a rate goes over the weeks. `what` is its name ("changes a minute").
#[must_use]
pub fn trend(what: &str, trend: &RateTrend) -> Said {
    let (factor, limits) = (trend.factor.value, trend.factor.interval);
    let way = if factor > 1.0 { "more" } else { "less" };
    let name = capital(what);
    let line = if trend.p_value <= MORE_THAN_CHANCE {
        format!("{name}: {way} from week to week, more than chance.")
    } else {
        format!("{name}: no clear trend over the weeks.")
    };
    let numbers = format!(
        "Each week {} times the one before ({} to {}); the chance of such a trend by luck is {}.",
        two_places(factor),
        two_places(limits.low()),
        two_places(limits.high()),
        share(trend.p_value),
    );
    Said::new(line, numbers)
}

/// "1.04": a factor per week lies close to 1.
fn two_places(value: f64) -> String {
    if value.is_finite() && value < 10.0 { format!("{value:.2}") } else { short(value) }
}
