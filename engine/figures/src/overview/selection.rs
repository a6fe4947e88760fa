//! Which rounds are looked at.

use academy::RoundKind;
use jiff::civil::Date;

use crate::known_round::KnownRound;

/// Which rounds are looked at; the default is all of them.
#[derive(Clone, Debug, Default, PartialEq, Eq, Hash)]
pub struct Selection {
    /// Only rounds of these kinds; empty for all.
    pub kinds: Vec<RoundKind>,
    /// Only rounds in the gi, or only those without.
    pub gi: Option<bool>,
    /// Only rounds of this day and later.
    pub since: Option<Date>,
    /// Only rounds of this day and earlier.
    pub until: Option<Date>,
}

impl Selection {
    /// Whether a round is looked at.
    #[must_use]
    pub fn picks(&self, round: &KnownRound<'_>) -> bool {
        (self.kinds.is_empty() || self.kinds.contains(&round.kind))
            && self.gi.is_none_or(|gi| gi == round.gi)
            && self.since.is_none_or(|day| round.date >= day)
            && self.until.is_none_or(|day| round.date <= day)
    }

    /// The rounds that are looked at, in their order.
    #[must_use]
    pub fn of<'a>(&self, rounds: &[KnownRound<'a>]) -> Vec<KnownRound<'a>> {
        rounds.iter().filter(|round| self.picks(round)).copied().collect()
    }
}
