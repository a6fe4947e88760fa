//! Small dense systems of linear equations, by LU with partial pivoting.

/// A square system that has no single answer, or is not square.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
#[error("the equations have no single answer")]
pub struct Singular;

/// A square matrix split into a lower and an upper triangle (Golub and Van Loan, *Matrix
/// Computations*, algorithm 3.4.1).
#[derive(Clone, Debug)]
pub struct Factors {
    rows: Vec<Vec<f64>>,
    order: Vec<usize>,
}

impl Factors {
    /// Factors a matrix given by rows, in n³/3 multiplications.
    ///
    /// # Errors
    /// Where the matrix is not square, holds what is no finite number, or a pivot vanishes against
    /// the largest entry (below 1e-14 of it).
    pub fn of(matrix: &[Vec<f64>]) -> Result<Factors, Singular> {
        let size = matrix.len();
        let finite = |row: &Vec<f64>| row.len() == size && row.iter().all(|x| x.is_finite());
        if !matrix.iter().all(finite) {
            return Err(Singular);
        }
        let mut rows = matrix.to_vec();
        let mut order: Vec<usize> = (0..size).collect();
        let largest = rows.iter().flatten().fold(0.0_f64, |most, x| most.max(x.abs()));
        for column in 0..size {
            let pivot = (column..size)
                .max_by(|&one, &other| {
                    rows[one][column].abs().total_cmp(&rows[other][column].abs())
                })
                .ok_or(Singular)?;
            rows.swap(column, pivot);
            order.swap(column, pivot);
            if rows[column][column].abs() <= largest * 1e-14 {
                return Err(Singular);
            }
            let (above, below) = rows.split_at_mut(column + 1);
            let top = &above[column];
            for row in below {
                let factor = row[column] / top[column];
                row[column] = factor;
                for (entry, by) in row[column + 1..].iter_mut().zip(&top[column + 1..]) {
                    *entry -= factor * by;
                }
            }
        }
        Ok(Factors { rows, order })
    }

    /// The answer x of A x = b, where b has as many entries as A has rows.
    ///
    /// # Errors
    /// Where the lengths differ.
    pub fn solve(&self, right: &[f64]) -> Result<Vec<f64>, Singular> {
        let size = self.rows.len();
        if right.len() != size {
            return Err(Singular);
        }
        let mut x: Vec<f64> = self.order.iter().map(|&row| right[row]).collect();
        for row in 0..size {
            let known: f64 = self.rows[row][..row].iter().zip(&x).map(|(a, b)| a * b).sum();
            x[row] -= known;
        }
        for row in (0..size).rev() {
            let later = self.rows[row][row + 1..].iter().zip(&x[row + 1..]);
            let known: f64 = later.map(|(a, b)| a * b).sum();
            x[row] = (x[row] - known) / self.rows[row][row];
        }
        Ok(x)
    }
}
