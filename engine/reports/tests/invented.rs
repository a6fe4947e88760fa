//! Invented students and their rounds, made by chance from a seed, with figures about them.

use std::collections::BTreeMap;

use academy::{Athlete, Belt, Event, EventKind, Ledger, Position, Pronoun, RoundKind};
use academy::{Source, Span, Spell, Time};
use figures::overview::{AcademyFigures, StudentFigures};
use figures::sampling::Draws;
use figures::{AthleteId, KnownRound, Place, Role};
use jiff::civil::{Date, date};
use reports::{Voice, Whose};

/// Whose figures these tests look at: Petra, who is nobody.
pub(crate) const PETRA: AthleteId = AthleteId(1);

pub(crate) const fn petra(voice: Voice) -> Whose<'static> {
    Whose { name: "Petra", pronoun: Some(Pronoun::She), voice }
}

/// Where one goes from where, by the one who is on top or neither, and how often per minute.
type Ways = &'static [(Position, bool, f64)];

/// Ways out of a place as the one on top has them; true keeps that one on top.
const fn ways(position: Position) -> Ways {
    use Position::{
        BackControl, ClosedGuard, FrontHeadlock, HalfGuard, KneeOnBelly, LegEntanglement, Mount,
        NorthSouth, OpenGuard, Reset, SideControl, Standing, Turtle,
    };
    match position {
        Standing => &[(OpenGuard, true, 0.9), (ClosedGuard, true, 0.5), (FrontHeadlock, true, 0.3)],
        ClosedGuard => &[(OpenGuard, true, 1.0), (Mount, false, 0.3), (HalfGuard, true, 0.2)],
        OpenGuard => &[
            (HalfGuard, true, 0.6),
            (SideControl, true, 0.5),
            (OpenGuard, false, 0.5),
            (LegEntanglement, false, 0.2),
            (ClosedGuard, true, 0.3),
        ],
        HalfGuard => &[(SideControl, true, 0.7), (OpenGuard, true, 0.3), (HalfGuard, false, 0.5)],
        SideControl => &[
            (Mount, true, 0.5),
            (KneeOnBelly, true, 0.4),
            (NorthSouth, true, 0.2),
            (HalfGuard, true, 0.6),
            (Turtle, true, 0.3),
        ],
        NorthSouth => &[(SideControl, true, 1.0), (Turtle, true, 0.3)],
        KneeOnBelly => &[(Mount, true, 0.6), (OpenGuard, true, 0.6), (SideControl, true, 0.5)],
        Mount => &[(HalfGuard, true, 0.7), (ClosedGuard, false, 0.4), (BackControl, true, 0.3)],
        BackControl => &[(ClosedGuard, false, 0.4), (Turtle, true, 0.2), (Mount, true, 0.2)],
        Turtle => &[(BackControl, true, 0.8), (HalfGuard, true, 0.5), (Standing, false, 0.3)],
        FrontHeadlock => &[(Turtle, true, 0.7), (Standing, true, 0.6)],
        LegEntanglement => &[(OpenGuard, true, 0.8), (Standing, true, 0.4)],
        Reset => &[(Standing, true, 60.0)],
    }
}

/// A round of so many seconds; the first athlete moves `quick` times as readily as the other. Every
/// second spell or so is guessed.
pub(crate) fn round(seconds: f64, quick: f64, draws: &mut Draws) -> Ledger {
    let (mut position, mut top) = (Position::Standing, None);
    let (mut spells, mut events) = (Vec::new(), Vec::new());
    let mut start = 0.0;
    while start < seconds {
        let by = |keeps: bool| match (top, keeps) {
            (Some(Athlete::First), true) | (Some(Athlete::Second), false) => quick,
            _ => 1.0,
        };
        let all: f64 = ways(position).iter().map(|(_, keeps, rate)| rate * by(*keeps)).sum();
        let hold = (-draws.uniform().ln() / all * 60.0).clamp(1.0, 90.0);
        let end = (start + hold).min(seconds);
        let guessed = draws.uniform() < 0.5;
        spells.push(Spell {
            span: Span::between(Time::from_seconds(start), Time::from_seconds(end)),
            position,
            top,
            variant: None,
            confidence: if guessed { 0.8 } else { 1.0 },
            source: if guessed { Source::Talk } else { Source::Hand },
        });
        if position.has_top() && draws.uniform() < 0.3 {
            let own = draws.uniform() < 0.7;
            let by = if own { top } else { top.map(Athlete::other) };
            let at = start + (end - start) * 0.5;
            events.push((at, EventKind::SubmissionAttempt, by));
            let ends = draws.uniform();
            let (kind, who) = match ends {
                ends if ends < 0.25 => (EventKind::Tap, by.map(Athlete::other)),
                ends if ends < 0.55 => (EventKind::Release, by),
                _ => (EventKind::SubmissionEscape, by.map(Athlete::other)),
            };
            events.push((start + (end - start) * 0.9, kind, who));
        }
        start = end;
        let mut left = draws.uniform() * all;
        let next = ways(position).iter().find(|(_, keeps, rate)| {
            left -= rate * by(*keeps);
            left <= 0.0
        });
        let (to, keeps, _) = *next.unwrap_or(&ways(position)[0]);
        let who = top.unwrap_or(if draws.uniform() * (1.0 + quick) < quick {
            Athlete::First
        } else {
            Athlete::Second
        });
        position = to;
        top = to.has_top().then(|| if keeps { who } else { who.other() });
    }
    let technique = |kind| (kind == EventKind::SubmissionAttempt).then(|| "kimura".to_owned());
    let events = events.into_iter().map(|(seconds, kind, actor)| Event {
        time: Time::from_seconds(seconds),
        kind,
        actor,
        technique: technique(kind),
        confidence: 0.9,
        source: Source::Talk,
    });
    let mut events: Vec<Event> = events.collect();
    events.sort_by_key(|event| event.time);
    Ledger::new(spells, events).expect("a ledger made to be one")
}

/// The ledgers of Petra's rounds and of eight pairs of others.
pub(crate) struct Academy {
    ledgers: Vec<(Date, [AthleteId; 2], Ledger)>,
}

impl Academy {
    /// So many rounds of Petra over three months, and eight of every other pair.
    pub(crate) fn with_rounds(petras: usize) -> Academy {
        let mut draws = Draws::from_seed(20_261_130);
        let mut ledgers = Vec::new();
        let day = |at: usize, of: usize| {
            let days = i64::try_from(at * 90 / of.max(1)).expect("few days");
            date(2026, 3, 2).checked_add(jiff::Span::new().days(days)).expect("a day")
        };
        for at in 0..petras {
            let other = AthleteId(2 + i64::try_from(at % 8).expect("small"));
            let ledger = round(300.0, 1.5, &mut draws);
            ledgers.push((day(at, petras), [PETRA, other], ledger));
        }
        for pair in 0..8 {
            for at in 0..8 {
                let pair = [AthleteId(2 + pair), AthleteId(2 + (pair + 3) % 8)];
                ledgers.push((day(at, 8), pair, round(300.0, 1.0, &mut draws)));
            }
        }
        Academy { ledgers }
    }

    pub(crate) fn rounds(&self) -> Vec<KnownRound<'_>> {
        (self.ledgers.iter())
            .map(|(date, athletes, ledger)| KnownRound {
                date: *date,
                kind: RoundKind::Flow,
                gi: true,
                athletes: *athletes,
                length: ledger.end().seconds(),
                ledger,
                confirmed: false,
            })
            .collect()
    }
}

/// The day of the last talk with Petra.
pub(crate) const LAST_TALK: Date = date(2026, 4, 20);

/// Everybody's belt: blue.
pub(crate) fn belts() -> BTreeMap<AthleteId, Belt> {
    (1..10).map(|id| (AthleteId(id), Belt::Blue)).collect()
}

/// Looks at Petra's figures after so many rounds, and at all rounds.
pub(crate) fn petras<R>(
    rounds: usize,
    see: impl FnOnce(&StudentFigures, &[KnownRound<'_>]) -> R,
) -> R {
    let academy = Academy::with_rounds(rounds);
    let rounds = academy.rounds();
    let all = AcademyFigures::new(&rounds, belts());
    let figures = all.student(&rounds, PETRA, Some(LAST_TALK)).expect("Petra has rounds");
    see(&figures, &rounds)
}

/// Every place, for tests that go through them.
pub(crate) fn places() -> Vec<Place> {
    Place::all().collect()
}

pub(crate) const fn at(position: Position, role: Role) -> Place {
    Place { position, role }
}
