//! What the review of a round shows, and what a person changes in it, without reading or writing
//! anything.
//!
//! Reading order: what is shown ([`mod@talk_lines`], [`mod@notes`], [`questions`], [`question_view`] with
//! its [`tokens`]), then what people entered ([`by_hand`]), how they change it ([`edits`]) and how it
//! is told while it happens ([`live`]).

pub mod by_hand;
pub mod edits;
pub mod length;
pub mod live;
pub mod notes;
pub mod question_view;
pub mod questions;
pub mod talk_lines;
pub mod tokens;

pub use by_hand::{confirm, is_unread, listed, unread, with_hand};
pub use edits::{
    EditError, add_event, change_event, delete_event, drop_change, move_border, retell, set_spell,
    split,
};
pub use length::talk_over;
pub use live::{live_length, told_live};
pub use notes::notes;
pub use question_view::{AsksWhen, ChoiceView, OtherChoice, OtherPosition, QuestionView};
pub use questions::{
    answer, choices, how_many_answers, nothing, open_questions, question, who_was_on_top,
};
pub use talk_lines::{corrections, said_around, talk_lines};
pub use tokens::{answer_from, token, with_times};
