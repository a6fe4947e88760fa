//! From what was pressed while a round went on to entries by hand.

use academy::{ByHand, Event, Position, Press, Pressed, Source, Span, Time};

use crate::by_hand::{unread, with_hand};
use crate::edits::{add_event, set_spell};

/// So much longer than the last press a round that goes on is at least, in milliseconds.
const GOES_ON_MILLIS: u64 = 10_000;

/// How long a round is that was told so far: what its finish says; before that as long as was
/// planned, or a little longer than the last press.
#[must_use]
pub fn live_length(presses: &[Press], planned: Time) -> Time {
    let finish = presses.iter().find(|press| press.what == Pressed::Finish);
    let last = presses.iter().map(|press| press.at).max();
    match (finish, last) {
        (Some(finish), _) => finish.at.max(Time::from_millis(1_000)),
        (None, Some(last)) => planned.max(last.later(GOES_ON_MILLIS)),
        (None, None) => planned,
    }
}

/// Entries by hand that tile a round of this length with what was pressed: each position holds
/// until the next press of one, and both stand at the start. What was undone is left out; so is a
/// position that was put right within a second, and whatever was pressed after the end.
///
/// Presses are given in the order in which they came in, which need not be that of their times.
#[must_use]
pub fn told_live(presses: &[Press], length: Time) -> ByHand {
    let mut counted: Vec<&Press> = Vec::with_capacity(presses.len());
    for press in presses {
        match press.what {
            Pressed::Undo => {
                let told = |press: &&Press| !matches!(press.what, Pressed::Start { .. });
                if let Some(last) = counted.iter().rposition(told) {
                    counted.remove(last);
                }
            }
            Pressed::Finish => {}
            _ => counted.push(press),
        }
    }
    counted.sort_by_key(|press| press.at);
    let base = unread(length);
    let mut by_hand = ByHand::default();
    for press in counted {
        let shown = with_hand(&base, &by_hand);
        let rest = Span::between(press.at, length);
        let changed = match press.what {
            Pressed::Start { .. } => {
                set_spell(&shown, &by_hand, rest, Position::Standing, None, None)
            }
            Pressed::Position { position, top } => {
                set_spell(&shown, &by_hand, rest, position, top, None)
            }
            Pressed::Event { kind, actor } => {
                let event = Event {
                    time: press.at,
                    kind,
                    actor: Some(actor),
                    technique: None,
                    confidence: 1.0,
                    source: Source::Hand,
                };
                add_event(&shown, &by_hand, event)
            }
            Pressed::Undo | Pressed::Finish => continue,
        };
        // A press after the end, in the last second, or of what was pressed already says nothing.
        if let Ok(changed) = changed {
            by_hand = changed;
        }
    }
    join_equal(by_hand)
}

/// Pressing the position that they are in already begins no new spell.
fn join_equal(by_hand: ByHand) -> ByHand {
    let mut spells: Vec<academy::Spell> = Vec::with_capacity(by_hand.spells.len());
    for spell in by_hand.spells {
        match spells.last_mut() {
            Some(last)
                if (last.position, last.top) == (spell.position, spell.top)
                    && last.span.end() == spell.span.start() =>
            {
                last.span = Span::between(last.span.start(), spell.span.end());
            }
            _ => spells.push(spell),
        }
    }
    ByHand { spells, ..by_hand }
}

#[cfg(test)]
mod tests {
    use super::*;
    use academy::{Athlete, EventKind};

    fn at(seconds: u64, what: Pressed) -> Press {
        Press { at: Time::from_millis(seconds * 1000), what }
    }

    fn on_top(position: Position, top: Athlete) -> Pressed {
        Pressed::Position { position, top: Some(top) }
    }

    fn spells(by_hand: &ByHand) -> Vec<(u64, u64, Position, Option<Athlete>)> {
        let seconds = |time: Time| time.millis() / 1000;
        (by_hand.spells.iter())
            .map(|spell| {
                (seconds(spell.span.start()), seconds(spell.span.end()), spell.position, spell.top)
            })
            .collect()
    }

    #[test]
    fn what_was_pressed_tiles_the_round() {
        let tap = Pressed::Event { kind: EventKind::Tap, actor: Athlete::Second };
        let presses = [
            at(0, Pressed::Start { clock: 1 }),
            at(20, on_top(Position::HalfGuard, Athlete::First)),
            at(40, on_top(Position::HalfGuard, Athlete::First)),
            at(60, on_top(Position::Mount, Athlete::Second)),
            at(61, Pressed::Undo),
            at(62, on_top(Position::Mount, Athlete::First)),
            at(90, tap),
            at(120, Pressed::Finish),
        ];
        let length = live_length(&presses, Time::from_millis(300_000));
        assert_eq!(length, Time::from_millis(120_000));
        let told = told_live(&presses, length);
        assert_eq!(
            spells(&told),
            [
                (0, 20, Position::Standing, None),
                (20, 62, Position::HalfGuard, Some(Athlete::First)),
                (62, 120, Position::Mount, Some(Athlete::First)),
            ]
        );
        assert_eq!(told.events.len(), 1);
        assert_eq!(told.events[0].actor, Some(Athlete::Second));
    }

    #[test]
    fn a_slip_put_right_at_once_leaves_nothing() {
        let presses = [
            at(0, Pressed::Start { clock: 1 }),
            at(30, on_top(Position::Mount, Athlete::First)),
            Press {
                at: Time::from_millis(30_600),
                what: on_top(Position::SideControl, Athlete::First),
            },
        ];
        let told = told_live(&presses, Time::from_millis(60_000));
        assert_eq!(
            spells(&told),
            [
                (0, 30, Position::Standing, None),
                (30, 60, Position::SideControl, Some(Athlete::First)),
            ]
        );
    }

    #[test]
    fn a_round_goes_on_longer_than_planned() {
        let presses = [at(0, Pressed::Start { clock: 1 }), at(100, Pressed::Undo)];
        assert_eq!(live_length(&presses, Time::from_millis(60_000)), Time::from_millis(110_000));
        // An undo with nothing to undo is none.
        let told = told_live(&presses, Time::from_millis(110_000));
        assert_eq!(spells(&told), [(0, 110, Position::Standing, None)]);
    }

    #[test]
    fn presses_after_the_end_say_nothing() {
        let presses = [
            at(0, Pressed::Start { clock: 1 }),
            at(50, on_top(Position::Mount, Athlete::First)),
            at(30, Pressed::Finish),
        ];
        let told = told_live(&presses, live_length(&presses, Time::from_millis(60_000)));
        assert_eq!(spells(&told), [(0, 30, Position::Standing, None)]);
    }
}
