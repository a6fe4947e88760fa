//! Moments of rounds that are worth seeing again, as links to them.

use std::collections::HashMap;

use academy::Member;
use figures::overview::Suggestion;
use store::MemberId;

use crate::figures::{Known, MomentOf};
use crate::pages::which_rounds::WhichRounds;
use crate::visitor::Visitor;
use crate::wording;

/// A link to a moment.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct Replay {
    pub(crate) link: String,
    /// "watch from 1:20, 2 Nov 2026, with Haruki"
    pub(crate) words: String,
}

/// Whom a visitor may read the names of.
pub(crate) struct Naming<'a> {
    pub(crate) visitor: &'a Visitor,
    pub(crate) people: &'a HashMap<MemberId, Member>,
    pub(crate) year: i16,
    /// Whose page it is.
    pub(crate) own: MemberId,
}

impl Naming<'_> {
    /// The name of a person as the visitor may read it.
    pub(crate) fn name(&self, id: MemberId) -> String {
        let member = self.people.get(&id);
        member.map(|member| self.visitor.shown_name(id, member, self.year)).unwrap_or_default()
    }

    fn replay(&self, moment: &MomentOf, how: &str) -> Replay {
        let other = moment.athletes.into_iter().find(|id| *id != self.own).unwrap_or(self.own);
        let words = format!(
            "{how} {}, {}, with {}",
            moment.time,
            wording::day(moment.date),
            self.name(other)
        );
        Replay { link: moment.link(), words }
    }

    /// The moments that show a suggestion ([`Suggestion::to_watch`]).
    pub(super) fn moments(
        &self,
        known: &Known,
        which: &WhichRounds,
        suggestion: &Suggestion,
        most: usize,
    ) -> Vec<Replay> {
        let found = suggestion.to_watch().filter_map(|moment| {
            let moment = known.moment(&which.selection, moment.round, moment.time)?;
            Some(self.replay(&moment, "watch from"))
        });
        found.take(most).collect()
    }
}
