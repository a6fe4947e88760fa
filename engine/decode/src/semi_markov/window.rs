//! Sums and maxima over the durations of one segment: the inner loops.

/// ln(Σ exp(xᵢ + yᵢ)); minus infinity when every term is.
pub(super) fn log_sum(x: &[f64], y: &[f64]) -> f64 {
    let heaviest = max_sum(x, y);
    if heaviest == f64::NEG_INFINITY {
        return heaviest;
    }
    let total: f64 = x.iter().zip(y).map(|(&x, &y)| (x + y - heaviest).exp()).sum();
    heaviest + total.ln()
}

/// max(xᵢ + yᵢ); minus infinity when there is no term.
pub(super) fn max_sum(x: &[f64], y: &[f64]) -> f64 {
    x.iter().zip(y).map(|(&x, &y)| x + y).fold(f64::NEG_INFINITY, f64::max)
}

/// ln(exp x + exp y).
pub(super) fn log_add(x: f64, y: f64) -> f64 {
    let (low, high) = if x < y { (x, y) } else { (y, x) };
    if low == f64::NEG_INFINITY { high } else { high + (low - high).exp().ln_1p() }
}
