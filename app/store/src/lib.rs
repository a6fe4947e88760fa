//! The academy's book: everything kept, in one SQLite database and one folder of media files.
//!
//! This crate holds the only SQL of the program and makes no call of the engine: it keeps what
//! people gave (captions as they came, answers, entries by hand, the roster) and the ledger as a
//! cache of what was read from them. SQL stays in the subset that PostgreSQL shares.
//!
//! Reading order: [`book`] opens it; [`change`] is how everything is changed, undone and done
//! again; then one file per noun.

pub mod academy;
pub mod accounts;
pub mod backup;
pub mod book;
pub mod change;
pub mod check;
pub mod classes;
pub mod development;
pub mod error;
mod existing;
mod files;
pub mod invented;
pub mod known;
pub mod ledgers;
pub mod live;
pub mod media;
pub mod media_type;
pub mod people;
pub mod roster_csv;
pub mod round;
mod row;
pub mod told;
pub mod uploads;

pub use academy::{AcademyFacts, SpokenForm};
pub use accounts::{Account, AccountId, Invitation};
pub use backup::{BackedUp, BackupError, backup, restore};
pub use book::Book;
pub use change::{By, Kept, Revision, Subject};
pub use check::Finding;
pub use classes::ClassId;
pub use development::{ConversationId, GoalId, MessageId};
pub use error::StoreError;
pub use known::{KeptRound, KnownRounds};
pub use ledgers::KeptLedger;
pub use live::KeptPress;
pub use media::Media;
pub use people::MemberId;
pub use round::{Captions, RoundFacts, RoundFilter, RoundId, RoundLine};
pub use told::{Remark, Told};
pub use uploads::{UploadError, UploadId};
