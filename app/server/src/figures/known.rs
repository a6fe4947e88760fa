//! The rounds whose ledgers are known, as the figures take them.

use std::collections::BTreeMap;

use academy::{Belt, RoundKind, Time};
use figures::overview::Selection;
use figures::{AthleteId, KnownRound};
use jiff::civil::Date;
use store::{KeptRound, MemberId, RoundId};

use crate::error::PageError;
use crate::state::App;
use crate::wording::fragment;

/// What a book knew at one moment.
pub(crate) struct Known {
    /// The book's stamp then.
    pub(super) stamp: i64,
    /// Rounds with a ledger, by day.
    rounds: Vec<KeptRound>,
    /// Rounds that were never read, or changed since. They count in no figure yet.
    pub(super) unread: Vec<RoundId>,
    /// What everybody wears.
    pub(super) belts: BTreeMap<AthleteId, Belt>,
}

/// Who somebody is for the figures.
pub(crate) const fn athlete(id: MemberId) -> AthleteId {
    AthleteId(id.0)
}

fn known_round(round: &KeptRound) -> KnownRound<'_> {
    KnownRound {
        date: round.date,
        kind: round.kind,
        gi: round.gi,
        athletes: round.athletes.map(athlete),
        length: round.length.seconds(),
        ledger: &round.ledger,
        confirmed: round.confirmed,
    }
}

/// A moment of a round for a link to it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct MomentOf {
    /// Which round.
    pub(crate) round: RoundId,
    /// The day of it.
    pub(crate) date: Date,
    /// When in it.
    pub(crate) time: Time,
    /// Who was in it.
    pub(crate) athletes: [MemberId; 2],
}

impl MomentOf {
    /// Its address.
    pub(crate) fn link(&self) -> String {
        format!("/rounds/{}#{}", self.round.0, fragment(self.time))
    }
}

impl Known {
    pub(super) async fn load(app: &App, stamp: i64) -> Result<Self, PageError> {
        let known = app.book.known_rounds().await?;
        let members = app.book.members().await?;
        let belts = members.iter().map(|(id, member)| (athlete(*id), member.belt)).collect();
        Ok(Known { stamp, rounds: known.rounds, unread: known.unread, belts })
    }

    /// All rounds.
    pub(crate) fn all(&self) -> Vec<KnownRound<'_>> {
        self.rounds.iter().map(known_round).collect()
    }

    /// The rounds of a kind but this one.
    pub(crate) fn others_of_kind(&self, kind: RoundKind, but: RoundId) -> Vec<KnownRound<'_>> {
        let others = self.rounds.iter().filter(|round| round.kind == kind && round.id != but);
        others.map(known_round).collect()
    }

    /// The selected rounds, in their order.
    pub(crate) fn selected(&self, selection: &Selection) -> Vec<KnownRound<'_>> {
        selection.of(&self.all())
    }

    /// Where a round stands among all of them, if this is how it was when they were loaded.
    pub(crate) fn place_of(&self, id: RoundId, own: &KnownRound<'_>) -> Option<usize> {
        let at = self.rounds.iter().position(|round| round.id == id)?;
        let kept = known_round(&self.rounds[at]);
        let same = kept.kind == own.kind && kept.length == own.length && kept.ledger == own.ledger;
        same.then_some(at)
    }

    /// What figures call the moment `time` of the round `index` among the selected ones.
    pub(crate) fn moment(
        &self,
        selection: &Selection,
        index: usize,
        seconds: f64,
    ) -> Option<MomentOf> {
        let mut picked = self.rounds.iter().filter(|round| selection.picks(&known_round(round)));
        picked.nth(index).map(|round| MomentOf {
            round: round.id,
            date: round.date,
            time: Time::from_seconds(seconds),
            athletes: round.athletes,
        })
    }
}
