//! A person's rounds, and the coach's words about moments of them.

use std::collections::HashMap;

use academy::Member;
use store::{MemberId, Remark, RoundId, RoundLine};

use crate::visitor::Visitor;
use crate::wording;

pub(super) struct RoundView {
    pub(super) id: i64,
    pub(super) title: String,
    pub(super) day: String,
    pub(super) state: String,
}

pub(super) struct RemarkView {
    pub(super) link: String,
    pub(super) when: String,
    pub(super) words: String,
}

/// A round as one of its athletes sees it: with whom it was.
pub(super) fn round_view(
    round: &RoundLine,
    own: MemberId,
    visitor: &Visitor,
    people: &HashMap<MemberId, Member>,
    year: i16,
) -> RoundView {
    let other = round.athletes.into_iter().find(|athlete| *athlete != own).unwrap_or(own);
    let name = people.get(&other).map(|member| visitor.shown_name(other, member, year));
    let state = match (round.confirmed, round.open_questions) {
        _ if !visitor.is_staff() => String::new(),
        (Some(_), _) => "confirmed".to_owned(),
        (None, _) if !round.talk => "without talk, to confirm".to_owned(),
        (None, Some(0)) => "to confirm".to_owned(),
        (None, Some(open)) => wording::count(open as usize, "open question", "open questions"),
        (None, None) => "not read yet".to_owned(),
    };
    let kind = reports::wording::kind(round.kind);
    let clothes = if round.gi { "gi" } else { "no-gi" };
    RoundView {
        id: round.id.0,
        title: format!("With {}", name.unwrap_or_default()),
        day: format!("{}, {kind}, {clothes}", wording::day(round.date)),
        state,
    }
}

pub(super) fn remark_view(remark: &Remark, rounds: &HashMap<RoundId, &RoundView>) -> RemarkView {
    let of = rounds.get(&remark.round);
    let of = of.map(|round| format!("{}, {}", round.title.replacen('W', "w", 1), round.day));
    RemarkView {
        link: format!("/rounds/{}#{}", remark.round.0, wording::fragment(remark.time)),
        when: format!("At {}, {}", remark.time, of.unwrap_or_default()),
        words: remark.words.clone(),
    }
}
