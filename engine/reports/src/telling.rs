//! A moment as a sentence, as a coach would read it out: what was done and where that led.

use academy::{Athlete, Event, EventKind, Position, Round, Source, Spell};

use crate::moments::Moment;
use crate::tide::UNSURE_BELOW;
use crate::wording;

/// "Petra passes to side control: back step pass"
pub(crate) fn sentence(round: &Round, moment: &Moment<'_>) -> String {
    match (moment.event, moment.spell) {
        (_, Some(spell)) if spell.position == Position::Reset => {
            "Pause until both start again".to_owned()
        }
        (Some(event), Some(spell)) => change(round, event, moment.before, spell),
        (Some(event), None) => match moment.attempt {
            Some(attempt) => finish(round, event, attempt),
            None => hedged(round, event, &wording::event(round, event)),
        },
        (None, Some(spell)) => unexplained(round, moment.before, spell),
        (None, None) => String::new(),
    }
}

/// What is told of an event, with "perhaps" where that is unsure.
fn hedged(round: &Round, event: &Event, told: &str) -> String {
    if event.confidence >= UNSURE_BELOW {
        return told.to_owned();
    }
    let name = event.actor.map(|actor| round.name(actor));
    match name.and_then(|name| Some((name, told.strip_prefix(name)?.strip_prefix(' ')?))) {
        Some((name, done)) => format!("{name} perhaps {done}"),
        None => format!("Perhaps {}", wording::in_sentence(told)),
    }
}

/// "Petra finishes with the armbar (begun 3:17)"
fn finish(round: &Round, tap: &Event, attempt: &Event) -> String {
    let who = attempt.actor.map_or("One of them", |actor| round.name(actor));
    let perhaps = if tap.confidence < UNSURE_BELOW { "perhaps " } else { "" };
    let done = match &tap.technique {
        Some(name) => format!("{who} {perhaps}finishes with the {name}"),
        None => format!("{who} {perhaps}gets the tap"),
    };
    // Shorter than this, nobody would ask.
    const AT_ONCE_MILLIS: u64 = 2_000;
    if attempt.time.distance(tap.time) > AT_ONCE_MILLIS {
        format!("{done} (begun {})", attempt.time)
    } else {
        done
    }
}

/// A new spell that no event explains.
fn unexplained(round: &Round, before: Option<&Spell>, spell: &Spell) -> String {
    let state = wording::spell(round, spell);
    let Some(before) = before else { return wording::capital(&state) };
    // Whoever told it left nothing unclear.
    if spell.source == Source::Hand && before.position != Position::Reset {
        return wording::capital(&state);
    }
    let how = match (before.position, before.top, spell.top) {
        (Position::Reset, _, None) => return "Both standing again".to_owned(),
        (Position::Reset, ..) => return format!("They start again \u{2192} {state}"),
        (_, _, None) => return "Both back on their feet, unclear how".to_owned(),
        (_, None, Some(_)) => "They go down",
        (_, Some(one), Some(other)) if one != other => "The top changes hands",
        _ => "The position changes",
    };
    format!("{how}, unclear how \u{2192} {state}")
}

/// A change of position together with where it led.
fn change(round: &Round, event: &Event, before: Option<&Spell>, spell: &Spell) -> String {
    // "knee on belly: knee on belly" would say it twice.
    let repeats =
        |name: &str| name == spell.position.name() || spell.variant.as_deref() == Some(name);
    let said =
        Event { technique: event.technique.clone().filter(|name| !repeats(name)), ..event.clone() };
    let perhaps = if event.confidence < UNSURE_BELOW { "perhaps " } else { "" };
    match event.actor.and_then(|actor| verb(round, &said, actor, before, spell)) {
        Some((actor, verb)) => {
            let variant = spell.variant.as_deref().filter(|name| *name != spell.position.name());
            let variant = variant.map_or_else(String::new, |name| format!(" ({name})"));
            let technique = said.technique.filter(|name| name != event.kind.name());
            let technique = technique.map_or_else(String::new, |name| format!(": {name}"));
            format!("{} {perhaps}{verb}{variant}{technique}", round.name(actor))
        }
        None => {
            let told = told_otherwise(round, &said, before, spell);
            let told = told.unwrap_or_else(|| wording::event(round, &said));
            let what = hedged(round, &said, &told);
            format!("{what} \u{2192} {}", wording::spell(round, spell))
        }
    }
}

/// A move told by hand of the other one than could have made it: the words for the move stay as they
/// were, so that whoever changes only who did it finds it again.
fn told_otherwise(
    round: &Round,
    event: &Event,
    before: Option<&Spell>,
    spell: &Spell,
) -> Option<String> {
    let name = round.name(event.actor.filter(|_| event.source == Source::Hand)?);
    let from = before.map(|before| before.position);
    let verb = match event.kind {
        EventKind::Advance => advance(from, spell.position)?.to_owned(),
        EventKind::Escape => escape(from, spell.position)?,
        _ => return None,
    };
    Some(format!("{name} {verb}"))
}

/// What an athlete did, with where it led, in words that tell who is on top afterwards; none where
/// the event and the position do not go together.
fn verb(
    round: &Round,
    event: &Event,
    actor: Athlete,
    before: Option<&Spell>,
    spell: &Spell,
) -> Option<(Athlete, String)> {
    let expected = match event.kind {
        EventKind::GuardPull => Some(actor.other()),
        EventKind::Escape => spell.position.has_top().then_some(actor.other()),
        _ => Some(actor),
    };
    if spell.top != expected {
        return None;
    }
    let from = before.map(|before| before.position);
    let to = spell.position;
    let verb = match event.kind {
        EventKind::Takedown => {
            format!("takes {} down {}", round.name(actor.other()), into(to))
        }
        EventKind::GuardPull if to.is_guard() => format!("pulls {}", to.name()),
        EventKind::Pass => format!("passes {}", into(to)),
        EventKind::Sweep => format!("sweeps {}", into(to)),
        EventKind::Reversal => format!("reverses {}", into(to)),
        EventKind::BackTake if to == Position::BackControl => "takes the back".to_owned(),
        EventKind::Escape => escape(from, to)?,
        EventKind::Advance => advance(from, to)?.to_owned(),
        _ => return None,
    };
    Some((actor, verb))
}

/// Where something leads, after a verb of moving.
fn into(position: Position) -> &'static str {
    match position {
        Position::Standing => "to the feet",
        Position::ClosedGuard => "into closed guard",
        Position::OpenGuard => "into open guard",
        Position::HalfGuard => "into half guard",
        Position::SideControl => "to side control",
        Position::NorthSouth => "to north-south",
        Position::KneeOnBelly => "to knee on belly",
        Position::Mount => "to mount",
        Position::BackControl => "to the back",
        Position::Turtle => "to the turtle",
        Position::FrontHeadlock => "to the front headlock",
        Position::LegEntanglement => "into a leg entanglement",
        Position::Reset => "to a pause",
    }
}

/// What the one underneath did to be better off.
fn escape(from: Option<Position>, to: Position) -> Option<String> {
    let from_guard = from.is_some_and(Position::is_guard);
    let pinned = matches!(
        from,
        Some(
            Position::SideControl
                | Position::NorthSouth
                | Position::KneeOnBelly
                | Position::Mount
                | Position::BackControl
        )
    );
    Some(match to {
        Position::Standing => "stands up".to_owned(),
        Position::Turtle => "turtles".to_owned(),
        Position::ClosedGuard if from_guard => "closes the guard".to_owned(),
        guard if guard.is_guard() && pinned => format!("escapes to {}", guard.name()),
        guard if guard.is_guard() => format!("recovers {}", guard.name()),
        _ => return None,
    })
}

/// What the one on top did to move on.
fn advance(from: Option<Position>, to: Position) -> Option<&'static str> {
    Some(match to {
        Position::OpenGuard if from == Some(Position::ClosedGuard) => "opens the guard",
        Position::ClosedGuard => "moves into closed guard",
        Position::OpenGuard => "moves into open guard",
        Position::HalfGuard => "settles in half guard",
        Position::SideControl => "moves to side control",
        Position::NorthSouth => "moves to north-south",
        Position::KneeOnBelly => "moves to knee on belly",
        Position::Mount => "mounts",
        Position::BackControl => "takes the back",
        Position::Turtle => "moves to the turtle",
        Position::FrontHeadlock => "takes the front headlock",
        Position::LegEntanglement => "enters a leg entanglement",
        Position::Standing | Position::Reset => return None,
    })
}

#[cfg(test)]
mod tests {
    use academy::{Person, RoundKind, Span, Time};

    use super::*;
    use Athlete::{First, Second};

    fn round() -> Round {
        let person = |name: &str| Person { name: name.to_owned(), pronoun: None };
        let people = [person("Petra"), person("Idris")];
        Round::new(people, RoundKind::Flow, Time::from_millis(60_000)).unwrap()
    }

    fn spell(position: Position, top: Option<Athlete>) -> Spell {
        Spell {
            span: Span::default(),
            position,
            top,
            variant: None,
            confidence: 0.9,
            source: Source::Talk,
        }
    }

    fn told(
        before: (Position, Option<Athlete>),
        event: Option<(EventKind, Option<Athlete>, f64)>,
        after: (Position, Option<Athlete>),
    ) -> String {
        let (before, after) = (spell(before.0, before.1), spell(after.0, after.1));
        let event = event.map(|(kind, actor, confidence)| Event {
            time: Time::ZERO,
            kind,
            actor,
            technique: None,
            confidence,
            source: Source::Talk,
        });
        let (event, spell, before) = (event.as_ref(), Some(&after), Some(&before));
        sentence(&round(), &Moment { time: Time::ZERO, event, spell, before, attempt: None })
    }

    #[test]
    fn a_change_says_where_it_led() {
        use EventKind as K;
        use Position as P;
        let top = Some(First);
        for (from, kind, by, to, expected) in [
            (
                (P::ClosedGuard, top),
                K::Advance,
                First,
                (P::OpenGuard, top),
                "Petra opens the guard",
            ),
            ((P::SideControl, top), K::Advance, First, (P::Mount, top), "Petra mounts"),
            (
                (P::OpenGuard, top),
                K::Advance,
                First,
                (P::HalfGuard, top),
                "Petra settles in half guard",
            ),
            (
                (P::Mount, top),
                K::Advance,
                First,
                (P::NorthSouth, top),
                "Petra moves to north-south",
            ),
            ((P::SideControl, top), K::Escape, Second, (P::Turtle, top), "Idris turtles"),
            (
                (P::Mount, top),
                K::Escape,
                Second,
                (P::HalfGuard, top),
                "Idris escapes to half guard",
            ),
            ((P::Turtle, top), K::Escape, Second, (P::OpenGuard, top), "Idris recovers open guard"),
            (
                (P::HalfGuard, top),
                K::Escape,
                Second,
                (P::ClosedGuard, top),
                "Idris closes the guard",
            ),
            ((P::OpenGuard, top), K::Escape, Second, (P::Standing, None), "Idris stands up"),
            ((P::HalfGuard, top), K::Pass, First, (P::Mount, top), "Petra passes to mount"),
            (
                (P::Standing, None),
                K::GuardPull,
                Second,
                (P::HalfGuard, top),
                "Idris pulls half guard",
            ),
            (
                (P::Standing, None),
                K::Takedown,
                First,
                (P::SideControl, top),
                "Petra takes Idris down to side control",
            ),
            // Who is on top does not fit: both are said as they are.
            (
                (P::HalfGuard, top),
                K::Pass,
                Second,
                (P::Mount, top),
                "Idris passes \u{2192} mount, Petra on top",
            ),
        ] {
            assert_eq!(told(from, Some((kind, Some(by), 0.9)), to), expected);
        }
    }

    #[test]
    fn what_is_open_is_said_to_be() {
        use EventKind as K;
        use Position as P;
        let (one, other) = (Some(First), Some(Second));
        for (from, event, to, expected) in [
            (
                (P::HalfGuard, one),
                None,
                (P::SideControl, other),
                "The top changes hands, unclear how \u{2192} side control, Idris on top",
            ),
            (
                (P::HalfGuard, one),
                None,
                (P::SideControl, one),
                "The position changes, unclear how \u{2192} side control, Petra on top",
            ),
            (
                (P::Standing, None),
                None,
                (P::Turtle, one),
                "They go down, unclear how \u{2192} turtle, Petra on top",
            ),
            ((P::Mount, one), None, (P::Standing, None), "Both back on their feet, unclear how"),
            ((P::Reset, None), None, (P::Standing, None), "Both standing again"),
            (
                (P::HalfGuard, one),
                Some((K::Sweep, None, 0.8)),
                (P::Mount, other),
                "One of them sweeps \u{2192} mount, Idris on top",
            ),
            (
                (P::HalfGuard, one),
                Some((K::Sweep, other, 0.5)),
                (P::Mount, one),
                "Idris perhaps sweeps \u{2192} mount, Petra on top",
            ),
            (
                (P::HalfGuard, one),
                Some((K::Sweep, other, 0.5)),
                (P::Mount, other),
                "Idris perhaps sweeps to mount",
            ),
            (
                (P::HalfGuard, one),
                Some((K::Sweep, None, 0.5)),
                (P::Mount, other),
                "Perhaps one of them sweeps \u{2192} mount, Idris on top",
            ),
        ] {
            assert_eq!(told(from, event, to), expected);
        }
    }

    #[test]
    fn what_a_person_told_is_plain() {
        let by_hand = |position| Spell { source: Source::Hand, ..spell(position, Some(First)) };
        let (before, after) = (by_hand(Position::ClosedGuard), by_hand(Position::OpenGuard));
        let moment = |event| Moment {
            time: Time::ZERO,
            event,
            spell: Some(&after),
            before: Some(&before),
            attempt: None,
        };
        assert_eq!(sentence(&round(), &moment(None)), "Open guard, Petra on top");
        // Only who did it was changed: the words for it stay.
        let event = Event {
            time: Time::ZERO,
            kind: EventKind::Advance,
            actor: Some(Second),
            technique: None,
            confidence: 1.0,
            source: Source::Hand,
        };
        let told = sentence(&round(), &moment(Some(&event)));
        assert_eq!(told, "Idris opens the guard \u{2192} open guard, Petra on top");
    }

    #[test]
    fn every_change_of_the_trade_has_words() {
        for to in Position::ALL {
            for from in Position::ALL {
                for kind in EventKind::ALL {
                    for top in [None, Some(First), Some(Second)] {
                        let top = top.filter(|_| to.has_top());
                        let event = Some((kind, Some(First), 0.9));
                        assert!(!told((from, None), event, (to, top)).contains("  "));
                    }
                }
            }
        }
    }
}
