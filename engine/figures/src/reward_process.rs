//! What it is worth to be in a state: a Markov chain that ends, with rewards on the way.

use crate::linear::{Factors, Singular};

/// Why a chain has no values.
#[derive(Clone, Copy, Debug, PartialEq, thiserror::Error)]
pub enum ChainError {
    /// Rows of different lengths, or not as many rows as states.
    #[error("state {0}: the row has the wrong length")]
    Shape(usize),
    /// A chance that is none.
    #[error("state {from}: {chance} is no chance")]
    Chance {
        /// The state, counted from 0.
        from: usize,
        /// What stands there.
        chance: f64,
    },
    /// Chances that do not add up.
    #[error("state {from}: the chances make {sum}, not 1")]
    Sum {
        /// The state, counted from 0.
        from: usize,
        /// What they make.
        sum: f64,
    },
    /// A state from which no end can be reached.
    #[error("state {0}: no end can be reached from there")]
    NeverEnds(usize),
    /// Ends are so far away that the numbers give out.
    #[error("the ends are too far away to compute with")]
    TooFar,
}

impl From<Singular> for ChainError {
    fn from(_: Singular) -> ChainError {
        ChainError::TooFar
    }
}

/// States that are left again and again until one of several ends is reached.
///
/// The steps carry no time. Where states are held for a while (a semi-Markov process), the reward
/// of a visit is the reward per second times the mean hold in seconds, which gives the right
/// expectations whatever the distribution of holds. A clock that may run out at any moment is one
/// more end, with the chance that it comes next.
#[derive(Clone, Debug)]
pub struct Chain {
    to_ends: Vec<Vec<f64>>,
    ends: usize,
    factors: Factors,
}

/// How far the chances of a state may miss 1.
const TOLERANCE: f64 = 1e-9;

impl Chain {
    /// From the chances of each state to go to each state, and to each end.
    ///
    /// # Errors
    /// See [`ChainError`]; chances must make 1 to a billionth, and an end must be within reach of
    /// every state.
    pub fn new(to_states: &[Vec<f64>], to_ends: &[Vec<f64>]) -> Result<Chain, ChainError> {
        let states = to_states.len();
        let ends = to_ends.first().map_or(0, Vec::len);
        if to_ends.len() != states {
            return Err(ChainError::Shape(states.min(to_ends.len())));
        }
        for (from, (onward, out)) in to_states.iter().zip(to_ends).enumerate() {
            if onward.len() != states || out.len() != ends {
                return Err(ChainError::Shape(from));
            }
            let chances = || onward.iter().chain(out).copied();
            if let Some(chance) = chances().find(|chance| !(0.0..=1.0).contains(chance)) {
                return Err(ChainError::Chance { from, chance });
            }
            let sum: f64 = chances().sum();
            if (sum - 1.0).abs() > TOLERANCE {
                return Err(ChainError::Sum { from, sum });
            }
        }
        if let Some(state) = stuck(to_states, to_ends) {
            return Err(ChainError::NeverEnds(state));
        }
        let row = |(from, onward): (usize, &Vec<f64>)| {
            let entry = |(to, chance): (usize, &f64)| f64::from(u8::from(from == to)) - chance;
            onward.iter().enumerate().map(entry).collect()
        };
        let system: Vec<Vec<f64>> = to_states.iter().enumerate().map(row).collect();
        Ok(Chain { to_ends: to_ends.to_vec(), ends, factors: Factors::of(&system)? })
    }

    /// The expected sum of rewards from each state to the end, given the reward of one visit to
    /// each: v = r + Q v. In the unit of the rewards. With the mean holds as rewards this is the
    /// expected time; with 1 everywhere the number of visits.
    ///
    /// # Errors
    /// [`ChainError::Shape`] unless there is one finite reward per state.
    pub fn values(&self, rewards: &[f64]) -> Result<Vec<f64>, ChainError> {
        if rewards.len() != self.to_ends.len() || rewards.iter().any(|one| !one.is_finite()) {
            return Err(ChainError::Shape(rewards.len()));
        }
        Ok(self.factors.solve(rewards)?)
    }

    /// The expected visits to each state (column) from each state (row), the start counted: the
    /// fundamental matrix N = (I − Q)⁻¹ (Kemeny and Snell 1960, *Finite Markov Chains*, theorem
    /// 3.2.4).
    ///
    /// # Errors
    /// [`ChainError::TooFar`] where the numbers give out.
    pub fn visits(&self) -> Result<Vec<Vec<f64>>, ChainError> {
        let states = self.to_ends.len();
        let mut visits = vec![vec![0.0; states]; states];
        for to in 0..states {
            for (row, value) in visits.iter_mut().zip(self.visits_to(to)?) {
                row[to] = value;
            }
        }
        Ok(visits)
    }

    /// The expected visits to one state from each state: one column of [`Chain::visits`].
    ///
    /// # Errors
    /// [`ChainError::Shape`] where there is no such state, [`ChainError::TooFar`] where the numbers
    /// give out.
    pub fn visits_to(&self, state: usize) -> Result<Vec<f64>, ChainError> {
        let mut unit = vec![0.0; self.to_ends.len()];
        *unit.get_mut(state).ok_or(ChainError::Shape(state))? = 1.0;
        Ok(self.factors.solve(&unit)?)
    }

    /// The chance of each end (column) from each state (row): B = N R (theorem 3.3.7).
    ///
    /// # Errors
    /// [`ChainError::TooFar`] where the numbers give out.
    pub fn ends(&self) -> Result<Vec<Vec<f64>>, ChainError> {
        let mut chances = vec![vec![0.0; self.ends]; self.to_ends.len()];
        for end in 0..self.ends {
            let into: Vec<f64> = self.to_ends.iter().map(|row| row[end]).collect();
            for (row, value) in chances.iter_mut().zip(self.factors.solve(&into)?) {
                row[end] = value;
            }
        }
        Ok(chances)
    }

    /// The expected number of steps to an end from each state, and its variance: t = N 1 and
    /// (2 N − I) t − t² (theorems 3.3.5).
    ///
    /// # Errors
    /// [`ChainError::TooFar`] where the numbers give out.
    pub fn steps(&self) -> Result<(Vec<f64>, Vec<f64>), ChainError> {
        let mean = self.factors.solve(&vec![1.0; self.to_ends.len()])?;
        let twice = self.factors.solve(&mean)?;
        let variance = mean.iter().zip(&twice).map(|(t, again)| 2.0 * again - t - t * t).collect();
        Ok((mean, variance))
    }
}

/// The reward of one visit to each state: the reward per second times the mean hold in seconds.
/// Where one list is longer its rest is left out.
#[must_use]
pub fn held(per_second: &[f64], mean_hold: &[f64]) -> Vec<f64> {
    per_second.iter().zip(mean_hold).map(|(rate, hold)| rate * hold).collect()
}

/// A state from which no end can be reached, by walking backwards from the ends.
fn stuck(to_states: &[Vec<f64>], to_ends: &[Vec<f64>]) -> Option<usize> {
    let mut reaches: Vec<bool> =
        to_ends.iter().map(|row| row.iter().any(|chance| *chance > 0.0)).collect();
    let mut open: Vec<usize> = (0..reaches.len()).filter(|state| reaches[*state]).collect();
    while let Some(to) = open.pop() {
        for (from, row) in to_states.iter().enumerate() {
            if row[to] > 0.0 && !reaches[from] {
                reaches[from] = true;
                open.push(from);
            }
        }
    }
    reaches.iter().position(|reached| !reached)
}
