//! The ratio of two sums over clusters that are drawn together, such as time in a place over all
//! time, by rounds.

use crate::distributions::student_quantile;
use crate::interval::{Estimate, Interval, Level};

/// One cluster: what it adds to the upper sum and to the lower one.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Cluster {
    /// Added to the upper sum.
    pub upper: f64,
    /// Added to the lower sum.
    pub lower: f64,
}

/// The ratio of the sums R = Σx / Σy of n clusters, with limits R ± t se, where
/// se² = n / (n − 1) Σ (x − R y)² / (Σy)² and t is Student's quantile with n − 1 degrees (Cochran
/// 1977, *Sampling Techniques*, section 6.4, without the correction for a finite population).
///
/// Good for ratios away from a border; the caller cuts the limits where the ratio has borders.
/// Nothing for fewer than two clusters or where the lower sum is not positive.
#[must_use]
pub fn ratio(clusters: &[Cluster], level: Level) -> Option<Estimate> {
    let upper: f64 = clusters.iter().map(|cluster| cluster.upper).sum();
    let lower: f64 = clusters.iter().map(|cluster| cluster.lower).sum();
    if clusters.len() < 2 || lower.is_nan() || lower <= 0.0 {
        return None;
    }
    let value = upper / lower;
    let n = clusters.len() as f64;
    let residual = |cluster: &Cluster| (cluster.upper - value * cluster.lower).powi(2);
    let squares: f64 = clusters.iter().map(residual).sum();
    let error = (n / (n - 1.0) * squares).sqrt() / lower;
    let half = student_quantile(1.0 - level.tail(), n - 1.0) * error;
    Some(Estimate { value, interval: Interval::between(value - half, value + half) })
}
