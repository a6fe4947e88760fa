//! The pages, one folder each: `mod.rs` takes in and gives out, `view.rs` makes what is shown,
//! `page.html` shows it.

pub(crate) mod today;
