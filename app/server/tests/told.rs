//! Rounds that are told by hand and confirmed, with which the pages of figures are tried.

use academy::{
    Athlete, Belt, ByHand, Consent, Event, EventKind, Member, Position, RoundKind, Source, Span,
    Spell, Time,
};
use jiff::ToSpan as _;
use jiff::civil::Date;
use store::{Book, MemberId, RoundFacts, RoundId};

use crate::app::{by, named};

/// A stretch of a round: from which second on, in which position, with whom on top.
pub(crate) type Part = (u32, Position, Option<Athlete>);

/// A moment of a round: when, what, and who.
pub(crate) type Deed = (u32, EventKind, Athlete);

/// Today, as the server's clock has it.
pub(crate) fn today() -> Date {
    jiff::ZonedDateTime::now().date()
}

/// The day so many days before today.
pub(crate) fn days_ago(days: i32) -> Date {
    today().checked_sub(days.days()).expect("a date")
}

/// A confirmed round of five minutes in the gi.
pub(crate) async fn told_round(
    book: &Book,
    athletes: [MemberId; 2],
    (date, kind): (Date, RoundKind),
    parts: &[Part],
    deeds: &[Deed],
) -> RoundId {
    const LENGTH: u32 = 300;
    let time = |second: u32| Time::from_millis(u64::from(second) * 1000);
    let ends = parts.iter().skip(1).map(|part| part.0).chain([LENGTH]);
    let spells = (parts.iter().zip(ends))
        .map(|((start, position, top), end)| Spell {
            span: Span::between(time(*start), time(end)),
            position: *position,
            top: *top,
            variant: None,
            confidence: 1.0,
            source: Source::Hand,
        })
        .collect();
    let events = (deeds.iter())
        .map(|(at, kind, who)| Event {
            time: time(*at),
            kind: *kind,
            actor: Some(*who),
            technique: None,
            confidence: 1.0,
            source: Source::Hand,
        })
        .collect();
    let facts = RoundFacts {
        date,
        kind,
        gi: true,
        athletes,
        length: time(LENGTH),
        class: None,
        talk: None,
        media: None,
        confirmed: None,
    };
    let id = book.add_round(&by(), &facts).await.expect("a round");
    let by_hand = ByHand { spells, events, struck: Vec::new() };
    book.confirm_round(&by(), id, date, &by_hand).await.expect("it is confirmed");
    id
}

/// Eight blue belts who agree to be shown in the club and have rolled with each other over ten
/// weeks. The first of them, Petra, is often stuck under mount; all others get out.
pub(crate) async fn a_small_academy(book: &Book) -> Vec<MemberId> {
    use Athlete::{First, Second};
    use Position::{ClosedGuard, HalfGuard, Mount, OpenGuard, SideControl};
    let names = ["Petra", "Idris", "Wren", "Anouk", "Bruna", "Joss", "Maren", "Tove"];
    let mut people = Vec::new();
    for name in names {
        let consent = Consent { club: true, public: false };
        let birth_year = Some(1990);
        let member = Member { belt: Belt::Blue, consent, birth_year, ..named(name) };
        people.push(book.add_member(&by(), &member).await.expect("a person"));
    }
    for week in 0..10 {
        for pair in 0..4_usize {
            let other = (pair * 2 + 1 + 2 * week) % 8;
            let mut athletes = [people[pair * 2], people[other]];
            if pair > 0 && week % 2 == 1 {
                athletes.reverse();
            }
            let stuck = if pair == 0 { 90 } else { 20 };
            let parts = [
                (0, ClosedGuard, Some(Second)),
                (60, SideControl, Some(Second)),
                (80, Mount, Some(Second)),
                (80 + stuck, HalfGuard, Some(Second)),
                (195, OpenGuard, Some(First)),
                (230, SideControl, Some(First)),
                (250, Mount, Some(First)),
                (275 + week as u32, HalfGuard, Some(First)),
            ];
            let deeds = [
                (90, EventKind::SubmissionAttempt, Second),
                (262, EventKind::SubmissionAttempt, First),
                (268, EventKind::Release, First),
            ];
            let kind = if week % 2 == 0 { RoundKind::Flow } else { RoundKind::Hard };
            let day = days_ago(70 - 7 * week as i32);
            told_round(book, athletes, (day, kind), &parts, &deeds).await;
        }
    }
    people
}
