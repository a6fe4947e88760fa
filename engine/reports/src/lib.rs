//! From a ledger to what people see and keep: pictures, text, tables, pages.
//!
//! Reports draw and decide no number. This crate does no I/O: everything goes out as a string. It
//! knows nothing of decoding; questions and talk come in as plain values ready to show. Figures come
//! as they were computed: here they are only drawn and said.

mod amounts;
mod axes;
mod curves;
mod depth;
mod doings;
pub mod figure_rows;
mod ledger_csv;
mod markup;
mod message_draft;
mod moments;
mod names_in_words;
mod one_file;
mod page;
mod page_style;
mod position_map;
mod round_text;
pub mod sentences;
mod student_report;
mod svg;
mod telling;
mod terminal;
mod tide;
mod tide_in_page;
mod tide_marks;
mod tide_text;
mod told;
mod weeks;
mod whose;
pub mod wording;

pub use curves::{OutCurves, out_curves, out_curves_in_page};
pub use doings::habit_name;
pub use ledger_csv::ledger_csv;
pub use message_draft::{MessageDraft, message_draft};
pub use names_in_words::{HiddenNames, SOMEBODY};
pub use page::{Meant, RoundPage, TalkLine, TalkPiece, round_page};
pub use position_map::{PositionMap, position_map, position_map_in_page};
pub use round_text::{OpenQuestion, ledger_text, round_text};
pub use student_report::{
    CoachMessage, Peers, ReplayMoment, StudentReport, ToTrain, student_report,
};
pub use terminal::TextStyle;
pub use tide::{TideWidth, tide};
pub use tide_in_page::{TideInPage, picture_style, tide_in_page};
pub use told::{Told, told};
pub use weeks::{ByWeek, WeekUnit, by_week, by_week_in_page};
pub use whose::{Voice, Whose};
