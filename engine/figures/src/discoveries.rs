//! Which of many differences are more than chance: the false discovery rate.

/// A p-value that is none.
#[derive(Clone, Copy, Debug, PartialEq, thiserror::Error)]
#[error("p-value {index}: {value} does not lie between 0 and 1")]
pub struct PValueError {
    /// Which one, counted from 0.
    pub index: usize,
    /// What it is.
    pub value: f64,
}

/// The p-values adjusted for how many were looked at, in the order given.
///
/// With p₍ᵢ₎ in rising order of m, the adjusted one is the least of m p₍ⱼ₎ / j over j >= i.
/// Keeping those of at most q makes at most a share q of what is kept false, on average, where the
/// tests are independent or depend positively (Benjamini and Hochberg 1995, *JRSS B* 57:289).
///
/// # Errors
/// Where a p-value is not between 0 and 1.
pub fn adjusted(p_values: &[f64]) -> Result<Vec<f64>, PValueError> {
    let bad = p_values.iter().position(|p| !(0.0..=1.0).contains(p));
    if let Some(index) = bad {
        return Err(PValueError { index, value: p_values[index] });
    }
    let mut order: Vec<usize> = (0..p_values.len()).collect();
    order.sort_by(|&one, &other| p_values[one].total_cmp(&p_values[other]));
    let mut found = vec![1.0; p_values.len()];
    let mut least = 1.0_f64;
    for (place, &index) in order.iter().enumerate().rev() {
        least = least.min(p_values[index] * p_values.len() as f64 / (place + 1) as f64);
        found[index] = least;
    }
    Ok(found)
}
