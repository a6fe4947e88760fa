//! A round as the figures take it: plain values, whoever kept them.

use academy::{Athlete, Ledger, RoundKind};
use jiff::civil::Date;

/// Who somebody is, for counting only: the figures never learn a name.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct AthleteId(pub i64);

/// A round whose ledger is known, guessed or confirmed.
#[derive(Clone, Copy, Debug)]
pub struct KnownRound<'a> {
    /// The day.
    pub date: Date,
    /// What it was meant to be.
    pub kind: RoundKind,
    /// Whether it was rolled in the gi.
    pub gi: bool,
    /// The first and the second athlete of the ledger.
    pub athletes: [AthleteId; 2],
    /// How long it was, in seconds. The figures take their time from the ledger's spells; this is
    /// what the round's page calls its length.
    pub length: f64,
    /// What happened.
    pub ledger: &'a Ledger,
    /// Whether a person confirmed the whole of it.
    pub confirmed: bool,
}

impl KnownRound<'_> {
    /// Which of the two an athlete was; nothing where they were not in it.
    #[must_use]
    pub fn seat(&self, who: AthleteId) -> Option<Athlete> {
        Athlete::BOTH.into_iter().find(|seat| self.athletes[seat.index()] == who)
    }

    /// Who sat in a seat.
    #[must_use]
    pub const fn who(&self, seat: Athlete) -> AthleteId {
        self.athletes[seat.index()]
    }
}
