//! From a ledger to what people see and keep: pictures, text, tables, pages.
//!
//! Reports draw and decide no number. This crate does no I/O: everything goes out as a string. It
//! knows nothing of decoding; questions and talk come in as plain values ready to show.

mod depth;
mod ledger_csv;
mod markup;
mod moments;
mod page;
mod page_style;
mod round_text;
mod svg;
mod telling;
mod terminal;
mod tide;
mod tide_in_page;
mod tide_marks;
mod tide_text;
mod told;
pub mod wording;

pub use ledger_csv::ledger_csv;
pub use page::{Meant, RoundPage, TalkLine, TalkPiece, round_page};
pub use round_text::{OpenQuestion, ledger_text, round_text};
pub use terminal::TextStyle;
pub use tide::{TideWidth, tide};
pub use tide_in_page::{TideInPage, picture_style, tide_in_page};
pub use told::{Told, told};
