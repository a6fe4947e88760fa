//! The pages, one folder each: `mod.rs` takes in and gives out, `view.rs` makes what is shown,
//! `page.html` shows it.

pub(crate) mod add_round;
pub(crate) mod classes;
pub(crate) mod group;
pub(crate) mod history;
pub(crate) mod layers;
pub(crate) mod live;
pub(crate) mod not_counted;
pub(crate) mod roster;
pub(crate) mod round;
pub(crate) mod rounds;
pub(crate) mod settings;
pub(crate) mod student;
pub(crate) mod students;
pub(crate) mod today;
pub(crate) mod which_rounds;
