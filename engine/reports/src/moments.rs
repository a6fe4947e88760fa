//! Spells and events put together into the moments in which a person would tell them: an event
//! that changes the position and the position it leads to are one moment.

use academy::{Event, EventKind, Ledger, Spell, Time};

/// How far apart an event and the start of a spell may lie and still be one moment.
const SAME_MOMENT_MILLIS: u64 = 1500;

/// Something to tell: an event, the start of a spell, or both.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Moment<'a> {
    pub(crate) time: Time,
    pub(crate) event: Option<&'a Event>,
    pub(crate) spell: Option<&'a Spell>,
}

impl Moment<'_> {
    /// The lower of the confidences of what is told.
    pub(crate) fn confidence(&self) -> f64 {
        let event = self.event.map_or(1.0, |event| event.confidence);
        self.spell.map_or(1.0, |spell| spell.confidence).min(event)
    }
}

/// The moments of a ledger, in order of time.
pub(crate) fn moments(ledger: &Ledger) -> Vec<Moment<'_>> {
    let mut moments: Vec<Moment<'_>> = (ledger.spells().iter())
        .map(|spell| Moment { time: spell.span.start(), event: None, spell: Some(spell) })
        .collect();
    let spells = moments.len();
    for event in ledger.events() {
        let near = moments[..spells]
            .iter_mut()
            .filter(|moment| changes_position(event.kind) && moment.event.is_none())
            .filter(|moment| moment.time > Time::ZERO)
            .map(|moment| (moment.time.distance(event.time), moment))
            .filter(|(distance, _)| *distance <= SAME_MOMENT_MILLIS)
            .min_by_key(|(distance, _)| *distance);
        match near {
            Some((_, moment)) => moment.event = Some(event),
            None => moments.push(Moment { time: event.time, event: Some(event), spell: None }),
        }
    }
    // Stable: at the same time a spell's start is told before what happens in it.
    moments.sort_by_key(|moment| moment.time);
    moments
}

/// Whether this kind of event leads from one spell to the next.
const fn changes_position(kind: EventKind) -> bool {
    !matches!(
        kind,
        EventKind::SubmissionAttempt
            | EventKind::SubmissionEscape
            | EventKind::Release
            | EventKind::Tap
            | EventKind::FailedTry
    )
}

#[cfg(test)]
mod tests {
    use super::*;
    use academy::{Athlete, Position, Source, Span};

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
                (5000, Some(EventKind::Takedown), true, 0.6),
                (5000, Some(EventKind::SubmissionAttempt), false, 0.9),
                (8000, Some(EventKind::Advance), false, 0.9),
            ]
        );
    }
}
