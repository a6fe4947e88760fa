//! Answers as texts in forms.

use academy::{Answer, Athlete, EventKind, Position};
use proptest::prelude::*;
use review::{answer_from, token, with_times};

use crate::any_round::{LENGTH, at, place, round, span};

fn answers() -> impl Strategy<Value = Answer> {
    let time = || (0..=LENGTH).prop_map(at);
    let athlete = || prop::sample::select(Athlete::BOTH.to_vec());
    let kind = prop::sample::select(EventKind::ALL.to_vec());
    let place = || {
        (place(), any::<bool>())
            .prop_map(|((position, top), known)| (position, top.filter(|_| known)))
    };
    prop_oneof![
        (prop::collection::vec(time(), 3), place(), any::<[bool; 2]>()).prop_map(
            |(mut times, (position, top), told)| {
                times.sort();
                let [start, end] = [times[0], times[2]];
                let (start, end) = (told[0].then_some(start), told[1].then_some(end));
                Answer::Spell { time: times[1], position, top, start, end }
            }
        ),
        (time(), place()).prop_map(|(time, (position, top))| Answer::State { time, position, top }),
        (time(), athlete()).prop_map(|(time, top)| Answer::Top { time, top }),
        (time(), kind, prop::option::of(athlete())).prop_map(|(time, kind, actor)| Answer::Event {
            time,
            kind,
            actor
        }),
        (time(), time()).prop_map(|(a, b)| Answer::Nothing { span: academy::Span::between(a, b) }),
    ]
}

proptest! {
    #[test]
    fn every_answer_comes_back(answer in answers()) {
        prop_assert_eq!(answer_from(&token(&answer), &round()), Some(answer));
    }

    #[test]
    fn what_is_read_is_what_would_be_written(
        text in "(state|spell|top|event|nothing|)(\\.(0|1|2|007|12500|99999999|-1|mount|standing|sweep|)){0,6}",
    ) {
        if let Some(answer) = answer_from(&text, &round()) {
            prop_assert_eq!(token(&answer), text);
        }
    }

    #[test]
    fn any_text_is_read_or_refused(text in ".{0,60}") {
        prop_assert_eq!(answer_from(&text, &round()), None);
    }
}

#[test]
fn tokens_are_short_and_plain() {
    let (time, position, top) = (at(12_500), Position::Mount, Some(Athlete::Second));
    assert_eq!(token(&Answer::State { time, position, top }), "state.12500.mount.1");
    let spell = Answer::Spell { time, position, top, start: Some(at(11_000)), end: None };
    assert_eq!(token(&spell), "spell.12500.mount.1.11000.");
    assert_eq!(token(&Answer::Nothing { span: span(1, 2) }), "nothing.1.2");
}

#[test]
fn nonsense_is_refused() {
    for text in [
        "",
        "state",
        "state.12500.mount.2",
        "state.12500.guard.1",
        "state.12500.standing.1",
        "state.+12500.mount.1",
        "state.012500.mount.1",
        "state.12500.mount.1.",
        "state.60001.mount.1",
        "top.12500.",
        "spell.12500.mount.0.12501.",
        "spell.12500.mount.0..12499",
        "nothing.2.1",
        "event.12500.mount.1",
        "state.99999999999999999999999.mount.1",
    ] {
        assert_eq!(answer_from(text, &round()), None, "{text}");
    }
}

#[test]
fn times_are_put_into_the_answer() {
    let told = |token, start, end| with_times(token, &round(), start, end);
    let (time, position, top) = (at(12_500), Position::Mount, Some(Athlete::First));
    let spell = |start, end| Some(Answer::Spell { time, position, top, start, end });
    for token in ["spell.12500.mount.0.11000.", "state.12500.mount.0"] {
        assert_eq!(told(token, None, Some(at(20_000))), spell(None, Some(at(20_000))));
        // No time told, or the moment outside of them.
        assert_eq!(told(token, None, None), None);
        assert_eq!(told(token, Some(at(13_000)), None), None);
    }
    // The round ends first.
    let late = told("state.12500.mount.0", None, Some(at(90_000)));
    assert_eq!(late, spell(None, Some(at(LENGTH))));
    assert_eq!(told("top.12500.0", None, Some(at(20_000))), None);
}
