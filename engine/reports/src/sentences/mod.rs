//! A line in plain words for every figure, as a coach would say it, with the numbers apart.
//!
//! Lines are kind and no surer than the figure is: few are said to be few, what may be chance is
//! said so, and what is a matter of style is no mark. Nobody is ranked, and nothing is held against
//! a norm: none is known for pace or holds (FACTS C12), and on top is not the only good place
//! (FACTS C6). One file per subject.

mod agreement;
mod balance;
mod changed;
mod confirmed;
mod flows;
mod getting_out;
mod group;
mod habits;
mod layers;
mod meant;
mod taught;
mod time;
mod train_next;
mod weeks;
mod worth;

pub use agreement::{agreement, two_readings};
pub use balance::balance;
pub use changed::{changed, changed_out, what_changed};
pub use confirmed::confirmed;
pub use flows::{flow, flows};
pub use getting_out::getting_out;
pub use group::need;
pub use habits::{attempts, done, habit, leak, surest_way};
pub use layers::layer;
pub use meant::{evidence, meant};
pub use taught::taught;
pub use time::{give_and_take, hold, pace, time_by_place};
pub use train_next::{goal, train_next};
pub use weeks::trend;
pub use worth::worth;

/// A figure in words.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Said {
    /// A sentence or two in plain words.
    pub line: String,
    /// The numbers behind it, for those who ask.
    pub numbers: String,
}

impl Said {
    fn new(line: impl Into<String>, numbers: impl Into<String>) -> Said {
        Said { line: line.into(), numbers: numbers.into() }
    }
}

/// With fewer stays or moments than this, a line says that they are few. `common practice`: four
/// coins tossed alike are no news.
const FEW: f64 = 5.0;

/// A change or a difference is said to be more than chance up to this p-value, adjusted for all that
/// was looked at.
const MORE_THAN_CHANCE: f64 = 0.05;
