//! Spells and events put together into the moments in which a person would tell them: an event
//! that changes the position and the position it leads to are one moment, and so are a submission
//! and the tap that it brings.

use academy::{Athlete, Event, EventKind, Ledger, Position, Source, Spell, Time};

/// How far apart an event and the start of a spell may lie and still be one moment.
const SAME_MOMENT_MILLIS: u64 = 1500;

/// A tap belongs to an attempt that began no longer ago than this.
const SAME_ATTEMPT_MILLIS: u64 = 25_000;

/// Something to tell: an event, the start of a spell, or both.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Moment<'a> {
    pub(crate) time: Time,
    pub(crate) event: Option<&'a Event>,
    pub(crate) spell: Option<&'a Spell>,
    /// The spell before `spell`.
    pub(crate) before: Option<&'a Spell>,
    /// The attempt that this tap ends, which is then no moment of its own.
    pub(crate) attempt: Option<&'a Event>,
}

impl<'a> Moment<'a> {
    const fn of_event(event: &'a Event) -> Self {
        Moment { time: event.time, event: Some(event), spell: None, before: None, attempt: None }
    }

    /// The one number that is shown for a moment, in a list, at the band and in a question alike:
    /// where a spell begins that of the spell, else that of the event.
    pub(crate) fn confidence(&self) -> f64 {
        let event = self.event.map_or(1.0, |event| event.confidence);
        self.spell.map_or(event, |spell| spell.confidence)
    }

    /// Who is on top from then on, or who acted.
    pub(crate) fn athlete(&self) -> Option<Athlete> {
        match (self.spell, self.event) {
            (Some(spell), _) => spell.top,
            (None, Some(event)) if self.attempt.is_some() => event.actor.map(Athlete::other),
            (None, event) => event.and_then(|event| event.actor),
        }
    }

    /// At one time a tap is told before the pause that it brings, and a spell's start before what
    /// happens in it.
    fn rank(&self) -> u8 {
        match (self.spell, self.event) {
            (None, Some(event)) if event.kind == EventKind::Tap => 0,
            (Some(_), _) => 1,
            _ => 2,
        }
    }
}

/// The moments of a ledger, in order of time.
pub(crate) fn moments(ledger: &Ledger) -> Vec<Moment<'_>> {
    let mut moments: Vec<Moment<'_>> = Vec::new();
    for (index, spell) in ledger.spells().iter().enumerate() {
        let before = index.checked_sub(1).and_then(|before| ledger.spells().get(before));
        let time = spell.span.start();
        // The same told twice, or told and guessed, is no change.
        if before.is_some_and(|before| goes_on(before, spell)) {
            continue;
        }
        moments.push(Moment { time, event: None, spell: Some(spell), before, attempt: None });
    }
    let spells = moments.len();
    for (index, event) in ledger.events().iter().enumerate() {
        if ends_in_tap(&ledger.events()[index..]) {
            continue;
        }
        let near = moments[..spells]
            .iter_mut()
            .filter(|moment| moment.event.is_none() && moment.time > Time::ZERO)
            .filter(|moment| moment.spell.is_some_and(|spell| leads_to(event, spell)))
            .map(|moment| (moment.time.distance(event.time), moment))
            .filter(|(distance, _)| *distance <= SAME_MOMENT_MILLIS)
            .min_by_key(|(distance, _)| *distance);
        match near {
            Some((_, moment)) => moment.event = Some(event),
            None => moments.push(Moment {
                attempt: attempt_before(&ledger.events()[..index], event),
                ..Moment::of_event(event)
            }),
        }
    }
    moments.sort_by_key(|moment| (moment.time, moment.rank()));
    moments
}

/// Whether a spell only goes on with the one before, which one of them was told to be.
fn goes_on(before: &Spell, spell: &Spell) -> bool {
    (before.position, before.top) == (spell.position, spell.top)
        && (spell.variant.is_none() || spell.variant == before.variant)
        && [before, spell].iter().any(|spell| spell.source == Source::Hand)
}

/// The moment in which an event of the ledger is told.
pub(crate) fn telling<'m, 'a>(moments: &'m [Moment<'a>], event: &Event) -> Option<&'m Moment<'a>> {
    let same = |other: Option<&Event>| other.is_some_and(|other| std::ptr::eq(other, event));
    moments.iter().find(|moment| same(moment.event))
}

/// Whether an event can be what led to this spell.
const fn leads_to(event: &Event, spell: &Spell) -> bool {
    match event.kind {
        EventKind::SubmissionAttempt
        | EventKind::SubmissionEscape
        | EventKind::Release
        | EventKind::Tap
        | EventKind::FailedTry => false,
        EventKind::Reset => matches!(spell.position, Position::Reset | Position::Standing),
        // A pause comes of a tap or of the edge, never of a change of position.
        _ => !matches!(spell.position, Position::Reset),
    }
}

/// The attempt among earlier events that a tap ends: the attacker's last one, if it is of the same
/// technique, not long ago, and did not end before.
fn attempt_before<'a>(earlier: &'a [Event], tap: &Event) -> Option<&'a Event> {
    if tap.kind != EventKind::Tap {
        return None;
    }
    let attacker = tap.actor?.other();
    for event in earlier.iter().rev() {
        if event.time.distance(tap.time) > SAME_ATTEMPT_MILLIS {
            return None;
        }
        match (event.kind, event.actor) {
            (EventKind::SubmissionAttempt, Some(actor)) if actor == attacker => {
                return (event.technique == tap.technique).then_some(event);
            }
            (EventKind::Release, Some(actor)) if actor == attacker => return None,
            (EventKind::SubmissionEscape, Some(actor)) if actor != attacker => return None,
            (EventKind::Tap, _) => return None,
            _ => {}
        }
    }
    None
}

/// Whether the first of these events is an attempt that is told with the tap it brings.
fn ends_in_tap(events: &[Event]) -> bool {
    let Some(first) = events.first().filter(|event| event.kind == EventKind::SubmissionAttempt)
    else {
        return false;
    };
    (1..events.len())
        .take_while(|index| events[*index].time.distance(first.time) <= SAME_ATTEMPT_MILLIS)
        .any(|index| {
            attempt_before(&events[..index], &events[index])
                .is_some_and(|attempt| std::ptr::eq(attempt, first))
        })
}

#[cfg(test)]
mod tests {
    use super::*;
    use academy::{Athlete, Position, Span};

    #[test]
    fn an_event_joins_the_spell_it_leads_to() {
        let time = Time::from_millis;
        let spell = |start, end, position: Position| Spell {
            span: Span::between(time(start), time(end)),
            position,
            top: position.has_top().then_some(Athlete::First),
            variant: None,
            confidence: 0.8,
            source: Source::Talk,
        };
        let event = |millis, kind, confidence| Event {
            time: time(millis),
            kind,
            actor: Some(Athlete::First),
            technique: None,
            confidence,
            source: Source::Talk,
        };
        let ledger = Ledger::new(
            vec![spell(0, 5000, Position::Standing), spell(5000, 9000, Position::Mount)],
            vec![
                event(200, EventKind::FailedTry, 0.3),
                event(4500, EventKind::Takedown, 0.6),
                event(5000, EventKind::SubmissionAttempt, 0.9),
                event(8000, EventKind::Advance, 0.9),
            ],
        )
        .unwrap();
        let told: Vec<_> = (moments(&ledger).iter())
            .map(|m| (m.time.millis(), m.event.map(|e| e.kind), m.spell.is_some(), m.confidence()))
            .collect();
        assert_eq!(
            told,
            [
                (0, None, true, 0.8),
                (200, Some(EventKind::FailedTry), false, 0.3),
                (5000, Some(EventKind::Takedown), true, 0.8),
                (5000, Some(EventKind::SubmissionAttempt), false, 0.9),
                (8000, Some(EventKind::Advance), false, 0.9),
            ]
        );
    }

    fn event(millis: u64, kind: EventKind, actor: Athlete, technique: Option<&str>) -> Event {
        Event {
            time: Time::from_millis(millis),
            kind,
            actor: Some(actor),
            technique: technique.map(str::to_owned),
            confidence: 0.9,
            source: Source::Talk,
        }
    }

    fn told(events: Vec<Event>) -> Vec<(u64, Option<EventKind>, bool)> {
        let time = Time::from_millis;
        let spell = |start, end, position: Position| Spell {
            span: Span::between(time(start), time(end)),
            position,
            top: position.has_top().then_some(Athlete::First),
            variant: None,
            confidence: 0.8,
            source: Source::Talk,
        };
        let spells =
            vec![spell(0, 20_000, Position::Mount), spell(20_000, 30_000, Position::Reset)];
        let ledger = Ledger::new(spells, events).unwrap();
        let telling = moments(&ledger);
        telling
            .iter()
            .map(|m| (m.time.millis(), m.event.map(|e| e.kind), m.attempt.is_some()))
            .collect()
    }

    #[test]
    fn an_attempt_and_its_tap_are_one_moment_before_the_pause() {
        use Athlete::{First, Second};
        use EventKind::{Release, SubmissionAttempt, Tap};
        let armbar = Some("armbar");
        assert_eq!(
            told(vec![
                event(12_000, SubmissionAttempt, First, armbar),
                event(20_000, Tap, Second, armbar),
            ]),
            [(0, None, false), (20_000, Some(Tap), true), (20_000, None, false)]
        );
        // Let go before, of another technique, or the other's: they are told apart.
        for (between, technique, attacker) in
            [(true, armbar, First), (false, Some("kimura"), First), (false, armbar, Second)]
        {
            let mut events = vec![event(12_000, SubmissionAttempt, attacker, technique)];
            if between {
                events.push(event(14_000, Release, First, armbar));
            }
            events.push(event(20_000, Tap, Second, armbar));
            let told = told(events);
            assert!(told.contains(&(12_000, Some(SubmissionAttempt), false)), "{told:?}");
            assert!(told.contains(&(20_000, Some(Tap), false)), "{told:?}");
        }
    }

    #[test]
    fn no_change_of_position_leads_to_a_pause() {
        let told = told(vec![event(20_000, EventKind::Pass, Athlete::First, None)]);
        assert!(told.contains(&(20_000, Some(EventKind::Pass), false)), "{told:?}");
        assert_eq!(told.len(), 3);
    }
}
