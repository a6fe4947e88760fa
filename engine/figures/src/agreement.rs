//! Whether two readers of the same things agree: share of agreement, Cohen's kappa, Gwet's AC1.

use crate::interval::{Estimate, Interval, Level};
use crate::proportions::wilson;

/// Why agreement could not be told.
#[derive(Clone, Copy, Debug, PartialEq, thiserror::Error)]
pub enum AgreementError {
    /// Not a square of at least two categories.
    #[error("a table of agreement has one row and one column for each of two categories or more")]
    Shape,
    /// An entry that counts nothing.
    #[error("row {row}, column {column}: {value} is no count")]
    Entry {
        /// Row, counted from 0.
        row: usize,
        /// Column, counted from 0.
        column: usize,
        /// What stands there.
        value: f64,
    },
    /// Nothing was read by both.
    #[error("the table is empty")]
    Empty,
    /// Both put everything into one category, so chance alone explains all agreement.
    #[error("both readers used one and the same category only, which says nothing about chance")]
    NoVariety,
}

/// How often the first reader's category (row) met the second's (column).
///
/// Standard errors take the entries for independent counts. Seconds of one round are not: to be
/// honest about their error, count spells, or scale the table to as many units as there are spells.
#[derive(Clone, Debug, PartialEq)]
pub struct AgreementTable {
    total: f64,
    shares: Vec<Vec<f64>>,
    rows: Vec<f64>,
    columns: Vec<f64>,
}

/// A measure of agreement with its error.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Agreement {
    /// 1 for full agreement, 0 for what chance gives.
    pub value: f64,
    /// Its standard error.
    pub standard_error: f64,
    /// Value ± deviations × standard error, held at 1.
    pub interval: Interval,
}

fn agreement(value: f64, variance: f64, level: Level) -> Agreement {
    let standard_error = variance.max(0.0).sqrt();
    let spread = level.deviations() * standard_error;
    let interval = Interval::between((value - spread).max(-1.0), (value + spread).min(1.0));
    Agreement { value, standard_error, interval }
}

impl AgreementTable {
    /// From counts by rows; fractions are welcome.
    ///
    /// # Errors
    /// See [`AgreementError`].
    pub fn new(counts: &[Vec<f64>]) -> Result<AgreementTable, AgreementError> {
        let size = counts.len();
        if size < 2 || counts.iter().any(|row| row.len() != size) {
            return Err(AgreementError::Shape);
        }
        for (row, entries) in counts.iter().enumerate() {
            for (column, &value) in entries.iter().enumerate() {
                if !(value >= 0.0 && value.is_finite()) {
                    return Err(AgreementError::Entry { row, column, value });
                }
            }
        }
        let total: f64 = counts.iter().flatten().sum();
        if total <= 0.0 {
            return Err(AgreementError::Empty);
        }
        let shares: Vec<Vec<f64>> =
            counts.iter().map(|row| row.iter().map(|count| count / total).collect()).collect();
        let rows = shares.iter().map(|row| row.iter().sum()).collect();
        let columns = (0..size).map(|at| shares.iter().map(|row| row[at]).sum()).collect();
        Ok(AgreementTable { total, shares, rows, columns })
    }

    fn seen(&self) -> f64 {
        self.shares.iter().enumerate().map(|(at, row)| row[at]).sum()
    }

    /// The chance that both agree if each keeps to their own shares but looks at nothing.
    fn by_chance(&self) -> f64 {
        self.rows.iter().zip(&self.columns).map(|(row, column)| row * column).sum()
    }

    /// The share on which both agree, with Wilson's interval.
    #[must_use]
    pub fn share(&self, level: Level) -> Estimate {
        let agreed = (self.seen() * self.total).min(self.total);
        let none = Interval::between(0.0, 1.0);
        wilson(agreed, self.total, level).unwrap_or(Estimate { value: self.seen(), interval: none })
    }

    /// Cohen's kappa, (p − e) / (1 − e) with e the agreement by chance (Cohen 1960, *Educational
    /// and Psychological Measurement* 20:37); its error by Fleiss, Cohen and Everitt 1969,
    /// *Psychological Bulletin* 72:323, formula 13.
    ///
    /// # Errors
    /// [`AgreementError::NoVariety`] where e is 1.
    pub fn kappa(&self, level: Level) -> Result<Agreement, AgreementError> {
        let (seen, chance) = (self.seen(), self.by_chance());
        if chance >= 1.0 - 1e-12 {
            return Err(AgreementError::NoVariety);
        }
        let kappa = (seen - chance) / (1.0 - chance);
        let off = 1.0 - kappa;
        let mut sum = 0.0;
        for (i, row) in self.shares.iter().enumerate() {
            for (j, share) in row.iter().enumerate() {
                let margins = self.columns[i] + self.rows[j];
                let part = if i == j { 1.0 - margins * off } else { margins * off };
                sum += share * part * part;
            }
        }
        let middle = kappa - chance * off;
        let variance = (sum - middle * middle) / (self.total * (1.0 - chance).powi(2));
        Ok(agreement(kappa, variance, level))
    }

    /// The standard error that kappa has where there is no agreement but by chance, for a test of
    /// that (Fleiss, Cohen and Everitt 1969, formula 14).
    ///
    /// # Errors
    /// [`AgreementError::NoVariety`] where all agreement is by chance.
    pub fn kappa_error_by_chance(&self) -> Result<f64, AgreementError> {
        let chance = self.by_chance();
        if chance >= 1.0 - 1e-12 {
            return Err(AgreementError::NoVariety);
        }
        let both = self.rows.iter().zip(&self.columns);
        let cubes: f64 = both.map(|(row, column)| row * column * (row + column)).sum();
        let variance = (chance + chance * chance - cubes) / self.total;
        Ok(variance.max(0.0).sqrt() / (1.0 - chance))
    }

    /// Kappa where some disagreements are worse than others: 1 − Σ w p / Σ w e over all entries,
    /// with the weight of each disagreement, 0 on the diagonal (Cohen 1968, *Psychological
    /// Bulletin* 70:213).
    ///
    /// # Errors
    /// Where the weights have another shape than the table, an entry that is no weight, or all
    /// disagreement expected by chance weighs nothing.
    pub fn weighted_kappa(&self, weights: &[Vec<f64>]) -> Result<f64, AgreementError> {
        let size = self.shares.len();
        if weights.len() != size || weights.iter().any(|row| row.len() != size) {
            return Err(AgreementError::Shape);
        }
        let (mut seen, mut chance) = (0.0, 0.0);
        for (row, entries) in weights.iter().enumerate() {
            for (column, &value) in entries.iter().enumerate() {
                if !(value >= 0.0 && value.is_finite()) {
                    return Err(AgreementError::Entry { row, column, value });
                }
                seen += value * self.shares[row][column];
                chance += value * self.rows[row] * self.columns[column];
            }
        }
        if chance > 0.0 { Ok(1.0 - seen / chance) } else { Err(AgreementError::NoVariety) }
    }

    /// Gwet's AC1: as kappa, with chance agreement Σ π (1 − π) / (q − 1), π the mean of both
    /// readers' shares of a category and q the number of categories. Unlike kappa it does not fall
    /// where one category is much more usual than the others. Gwet 2008, *British Journal of
    /// Mathematical and Statistical Psychology* 61:29, with n − 1 in the variance as in his
    /// handbook.
    #[must_use]
    pub fn ac1(&self, level: Level) -> Agreement {
        let others = (self.shares.len() - 1) as f64;
        let usual: Vec<f64> =
            self.rows.iter().zip(&self.columns).map(|(row, column)| (row + column) / 2.0).collect();
        let chance: f64 = usual.iter().map(|share| share * (1.0 - share)).sum::<f64>() / others;
        let value = (self.seen() - chance) / (1.0 - chance);
        // Each thing read moves the value by its own agreement and by its part in the shares.
        let mut variance = 0.0;
        for (i, row) in self.shares.iter().enumerate() {
            for (j, share) in row.iter().enumerate() {
                let agreed = if i == j { 1.0 } else { 0.0 };
                let own = (agreed - chance) / (1.0 - chance);
                let part = (1.0 - (usual[i] + usual[j]) / 2.0) / others;
                let moved = own - 2.0 * (1.0 - value) * (part - chance) / (1.0 - chance) - value;
                variance += share * moved * moved;
            }
        }
        let units = (self.total - 1.0).max(1.0);
        agreement(value, variance / units, level)
    }
}
