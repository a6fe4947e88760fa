//! What the list of rounds shows.

use academy::Member;
use store::{MemberId, RoundFilter, RoundId, RoundLine};

use crate::wording::day;

/// Rounds on a page.
pub(crate) const PER_PAGE: u32 = 50;

pub(crate) struct ListView {
    pub(crate) lines: Vec<LineView>,
    /// Everybody who can be chosen: id, name, whether chosen.
    pub(crate) people: Vec<(i64, String, bool)>,
    /// The states that can be chosen: id, words, whether chosen.
    pub(crate) states: [(&'static str, &'static str, bool); 3],
    /// "51 to 100 of 1003 rounds".
    pub(crate) count: String,
    /// Whether only some of the rounds are asked for.
    pub(crate) filtered: bool,
    pub(crate) newer: Option<String>,
    pub(crate) older: Option<String>,
}

pub(crate) struct LineView {
    pub(crate) address: String,
    pub(crate) date: String,
    pub(crate) names: [String; 2],
    pub(crate) kind: &'static str,
    pub(crate) gi: &'static str,
    pub(crate) length: String,
    pub(crate) there: &'static str,
    pub(crate) state: String,
    /// Whether something waits for a person.
    pub(crate) waits: bool,
}

/// The page that a text asks for, of those there are. From 1.
pub(crate) fn page_number(text: &str, count: u32) -> u32 {
    text.parse().unwrap_or(1).clamp(1, count.div_ceil(PER_PAGE).max(1))
}

impl ListView {
    pub(crate) fn new(
        filter: &RoundFilter,
        number: u32,
        count: u32,
        rounds: Vec<RoundLine>,
        members: &[(MemberId, Member)],
        live: &[RoundId],
    ) -> Self {
        let first = (number - 1) * PER_PAGE + 1;
        let last = (first - 1) + u32::try_from(rounds.len()).unwrap_or(0);
        let noun = if count == 1 { "round" } else { "rounds" };
        let all = last == count && first == 1;
        let count_text = if all {
            format!("{count} {noun}")
        } else {
            format!("{first} to {last} of {count} {noun}")
        };
        let state = |id, words, chosen| (id, words, filter.confirmed == chosen);
        ListView {
            lines: rounds.into_iter().map(|round| line(round, live)).collect(),
            people: (members.iter())
                .map(|(id, member)| (id.0, member.name.clone(), filter.member == Some(*id)))
                .collect(),
            states: [
                state("", "All", None),
                state("open", "To confirm", Some(false)),
                state("confirmed", "Confirmed", Some(true)),
            ],
            count: count_text,
            filtered: filter.member.is_some() || filter.confirmed.is_some(),
            newer: (number > 1).then(|| address(filter, number - 1)),
            older: (last < count).then(|| address(filter, number + 1)),
        }
    }
}

/// The address of a page of the same list.
fn address(filter: &RoundFilter, number: u32) -> String {
    let mut address = format!("/rounds?page={number}");
    if let Some(member) = filter.member {
        address += &format!("&person={}", member.0);
    }
    match filter.confirmed {
        Some(true) => address += "&state=confirmed",
        Some(false) => address += "&state=open",
        None => {}
    }
    address
}

fn line(round: RoundLine, live: &[RoundId]) -> LineView {
    let going = live.contains(&round.id);
    let (state, waits) = match (round.confirmed, round.open_questions) {
        _ if going => ("told live, not finished".to_owned(), true),
        (Some(date), _) => (format!("confirmed {}", day(date)), false),
        (None, None) if round.talk => ("not read yet".to_owned(), false),
        (None, Some(1)) => ("1 question open".to_owned(), true),
        (None, Some(open)) if open > 0 => (format!("{open} questions open"), true),
        (None, _) if round.talk => ("nothing to ask, to confirm".to_owned(), true),
        (None, _) => ("by hand, to confirm".to_owned(), true),
    };
    let id = round.id.0;
    LineView {
        address: if going { format!("/rounds/{id}/live") } else { format!("/rounds/{id}") },
        date: day(round.date),
        names: round.names,
        kind: reports::wording::kind(round.kind),
        gi: if round.gi { "gi" } else { "no-gi" },
        length: round.length.to_string(),
        there: match (round.talk, round.media) {
            (true, true) => "talk, recording",
            (true, false) => "talk",
            (false, true) => "recording",
            (false, false) => "by hand",
        },
        state,
        waits,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn pages_that_are_not_there_lead_to_those_that_are() {
        for (text, count, number) in
            [("", 0, 1), ("0", 60, 1), ("2", 60, 2), ("9", 60, 2), ("-1", 60, 1), ("2", 50, 1)]
        {
            assert_eq!(page_number(text, count), number, "{text} of {count}");
        }
    }
}
