//! Small ledgers for the tests, made in a line each.

use academy::{Athlete, Event, EventKind, Ledger, Position, RoundKind, Source, Span, Spell, Time};
use figures::{AthleteId, KnownRound};
use jiff::civil::{Date, date};

/// The first athlete's id in these tests.
pub(crate) const ANE: AthleteId = AthleteId(1);
/// The second athlete's.
pub(crate) const BO: AthleteId = AthleteId(2);

/// A told spell of so many seconds, to be laid end to end.
pub(crate) type Told = (f64, Position, Option<Athlete>);

/// A ledger of spells by hand, laid end to end from their lengths in seconds, and events by hand.
pub(crate) fn ledger(spells: &[Told], events: &[(f64, EventKind, Option<Athlete>)]) -> Ledger {
    let mut start = 0.0;
    let spells = spells.iter().map(|(seconds, position, top)| {
        let span = Span::between(Time::from_seconds(start), Time::from_seconds(start + seconds));
        start += seconds;
        Spell {
            span,
            position: *position,
            top: *top,
            variant: None,
            confidence: 1.0,
            source: Source::Hand,
        }
    });
    let spells = spells.collect();
    let events = events.iter().map(|(seconds, kind, actor)| Event {
        time: Time::from_seconds(*seconds),
        kind: *kind,
        actor: *actor,
        technique: None,
        confidence: 1.0,
        source: Source::Hand,
    });
    Ledger::new(spells, events.collect()).expect("a ledger made to be one")
}

/// The same ledger as a guess: every spell and event with another confidence, from talk.
pub(crate) fn guessed(told: &Ledger, confidence: f64) -> Ledger {
    let spells = told.spells().iter().cloned();
    let events = told.events().iter().cloned();
    let source = Source::Talk;
    Ledger::new(
        spells.map(|spell| Spell { confidence, source, ..spell }).collect(),
        events.map(|event| Event { confidence, source, ..event }).collect(),
    )
    .expect("a ledger made to be one")
}

/// A flow roll of Ane and Bo on a day in May.
pub(crate) fn rolled(ledger: &Ledger) -> KnownRound<'_> {
    rolled_on(date(2026, 5, 4), ledger)
}

/// A flow roll of Ane and Bo.
pub(crate) fn rolled_on(date: Date, ledger: &Ledger) -> KnownRound<'_> {
    KnownRound {
        date,
        kind: RoundKind::Flow,
        gi: true,
        athletes: [ANE, BO],
        length: ledger.end().seconds(),
        ledger,
        confirmed: false,
    }
}

/// Two minutes and a half with a bit of everything:
///
/// | from | to | what |
/// |---|---|---|
/// | 0 | 10 | both stand |
/// | 10 | 40 | Ane on top in closed guard |
/// | 40 | 70 | Ane in side control; tries at 55, lets go at 60 |
/// | 70 | 100 | Bo recovered an open guard |
/// | 100 | 120 | Bo swept to mount; tries at 115, Ane taps at 120 |
/// | 120 | 130 | pause |
/// | 130 | 150 | both stand |
pub(crate) fn bit_of_everything() -> Ledger {
    use Athlete::{First, Second};
    use Position::{ClosedGuard, Mount, OpenGuard, Reset, SideControl, Standing};
    ledger(
        &[
            (10.0, Standing, None),
            (30.0, ClosedGuard, Some(First)),
            (30.0, SideControl, Some(First)),
            (30.0, OpenGuard, Some(First)),
            (20.0, Mount, Some(Second)),
            (10.0, Reset, None),
            (20.0, Standing, None),
        ],
        &[
            (55.0, EventKind::SubmissionAttempt, Some(First)),
            (60.0, EventKind::Release, Some(First)),
            (115.0, EventKind::SubmissionAttempt, Some(Second)),
            (120.0, EventKind::Tap, Some(First)),
        ],
    )
}
