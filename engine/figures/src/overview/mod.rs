//! Everything at once: all figures of a student, of a group, of the academy, as a page or a report
//! shows them.
//!
//! [`AcademyFigures`] is worked out once for a set of rounds and knows what each belt does; from it
//! come [`StudentFigures`] and [`GroupFigures`]. A [`Selection`] says which rounds to look at before
//! anything is worked out.

mod academy;
mod group;
mod selection;
mod student;
mod weeks;

pub use academy::AcademyFigures;
pub use group::{Differs, GroupFigures, Need};
pub use selection::Selection;
pub use student::{
    Beside, Changes, Done, EARLY_ROUNDS, Out, StudentFigures, Suggestion, TOO_EARLY_ROUNDS,
};
pub use weeks::{InWeek, Weeks};
