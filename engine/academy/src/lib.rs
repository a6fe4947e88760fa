//! The kept nouns of an academy: what people want to keep, with the rules that always hold.
//!
//! This crate holds no algorithm. It knows nothing of captions, models, stores or pages; every
//! other crate may use it and it uses none of them.
//!
//! Reading order: [`time`], [`position`], [`person`], [`member`], [`development`], [`class`],
//! [`round`], [`ledger`], [`by_hand`], [`press`], [`note`], [`answer`], then the file forms in [`ledger_file`] and [`answer_file`].

pub mod answer;
pub mod answer_file;
pub mod by_hand;
pub mod class;
pub mod development;
pub mod file_form;
pub mod ledger;
pub mod ledger_file;
pub mod member;
pub mod note;
pub mod person;
pub mod position;
pub mod press;
pub mod round;
pub mod time;

pub use answer::Answer;
pub use by_hand::ByHand;
pub use class::Class;
pub use development::{Conversation, DevelopmentError, Goal, Message};
pub use ledger::{Event, Ledger, LedgerError, Source, Spell};
pub use member::{Audience, Belt, Consent, Guardian, Member, MemberError, NoConsent, Role};
pub use note::Note;
pub use person::{Athlete, Person, Pronoun};
pub use position::{EventKind, Position};
pub use press::{Press, Pressed};
pub use round::{Round, RoundError, RoundKind};
pub use time::{Span, Time};
