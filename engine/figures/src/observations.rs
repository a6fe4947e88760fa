//! How long each of many was watched, and what ended it: the input of curves over time.

/// One that was watched from time 0 on: a time, in any unit, and what ended it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Observation {
    /// How long it lasted, or was watched.
    pub time: f64,
    /// Which outcome ended it, counted from 0; `None` where watching ended first.
    pub outcome: Option<usize>,
    /// How much it counts, between 0 and 1: 1 where it surely took place, else its probability. One
    /// that ended in one of several ways goes in once per way, the weights adding up to its own.
    pub weight: f64,
}

impl Observation {
    /// One that surely took place and ended in this outcome.
    #[must_use]
    pub fn ended(time: f64, outcome: usize) -> Observation {
        Observation { time, outcome: Some(outcome), weight: 1.0 }
    }

    /// One that surely took place and was still going on when watching ended.
    #[must_use]
    pub fn cut(time: f64) -> Observation {
        Observation { time, outcome: None, weight: 1.0 }
    }

    /// The same with another weight.
    #[must_use]
    pub fn weighing(self, weight: f64) -> Observation {
        Observation { weight, ..self }
    }
}

/// Why no curve could be drawn.
#[derive(Clone, Copy, Debug, PartialEq, thiserror::Error)]
pub enum ObservationError {
    /// Nothing was watched.
    #[error("nothing was watched")]
    Nothing,
    /// A time below 0, or none.
    #[error("observation {index}: {time} is no length of time")]
    Time {
        /// Which one, counted from 0.
        index: usize,
        /// Its time.
        time: f64,
    },
    /// A weight outside 0 to 1.
    #[error("observation {index}: a weight lies between 0 and 1, not at {weight}")]
    Weight {
        /// Which one, counted from 0.
        index: usize,
        /// Its weight.
        weight: f64,
    },
    /// An outcome that is not among those asked about.
    #[error("observation {index}: outcome {outcome} of only {outcomes}")]
    Outcome {
        /// Which one, counted from 0.
        index: usize,
        /// Its outcome.
        outcome: usize,
        /// How many outcomes there are.
        outcomes: usize,
    },
}

/// What happened at one time: all sums of weights.
#[derive(Clone, Debug)]
pub(crate) struct Moment {
    pub(crate) time: f64,
    /// Still going on just before.
    pub(crate) at_risk: f64,
    /// Ended here, by outcome.
    pub(crate) ended: Vec<f64>,
    /// Still going on after, or cut here: at risk less ended, without the error of a difference.
    pub(crate) left: f64,
}

impl Moment {
    pub(crate) fn all_ended(&self) -> f64 {
        self.ended.iter().sum()
    }
}

/// The distinct times in order, with what was at risk and what ended. Those cut at a time are still
/// at risk at it.
pub(crate) fn moments(
    observations: &[Observation],
    outcomes: usize,
) -> Result<Vec<Moment>, ObservationError> {
    for (index, one) in observations.iter().enumerate() {
        if !(one.time >= 0.0 && one.time.is_finite()) {
            return Err(ObservationError::Time { index, time: one.time });
        }
        if !(0.0..=1.0).contains(&one.weight) {
            return Err(ObservationError::Weight { index, weight: one.weight });
        }
        if let Some(outcome) = one.outcome.filter(|outcome| *outcome >= outcomes) {
            return Err(ObservationError::Outcome { index, outcome, outcomes });
        }
    }
    let mut sorted: Vec<&Observation> =
        observations.iter().filter(|one| one.weight > 0.0).collect();
    if sorted.is_empty() {
        return Err(ObservationError::Nothing);
    }
    sorted.sort_by(|one, other| one.time.total_cmp(&other.time));
    let mut found: Vec<Moment> = Vec::new();
    for group in sorted.chunk_by(|one, other| one.time == other.time) {
        let mut ended = vec![0.0; outcomes];
        let mut cut = 0.0;
        for one in group {
            match one.outcome {
                Some(outcome) => ended[outcome] += one.weight,
                None => cut += one.weight,
            }
        }
        found.push(Moment { time: group[0].time, at_risk: 0.0, ended, left: cut });
    }
    let mut later = 0.0;
    for moment in found.iter_mut().rev() {
        moment.left += later;
        moment.at_risk = moment.left + moment.all_ended();
        later = moment.at_risk;
    }
    Ok(found)
}
