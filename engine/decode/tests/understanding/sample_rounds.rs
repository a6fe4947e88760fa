//! The sample rounds, whose talk the shipped reader was trained on: checks of soundness, not of
//! skill.

use super::*;

const CAPTIONS: [&str; 3] = ["clean.vtt", "auto.vtt", "blocks.txt"];

#[test]
fn every_sample_round_gives_a_sound_ledger() {
    for index in 1..=34 {
        let known = Known::new(&format!("r{index:02}"), CAPTIONS[index % 3]);
        let ledger = known.ledger(&[]);
        assert!(ledger.spells().len() > 3, "r{index:02}");
        for event in ledger.events() {
            // By whom may be open of a change, where the athletes may be swapped; never of what
            // is told of one athlete.
            let change = ledger.spells().iter().any(|spell| spell.span.start() == event.time);
            assert!(event.actor.is_some() || change, "{event:?}");
            assert_eq!(event.source, Source::Talk);
        }
    }
}

#[test]
fn a_round_known_from_training_is_read_mostly_right() {
    let known = Known::new("r01", "clean.vtt");
    let scores = score(&known.truth, &known.ledger(&[]));
    assert!(scores.position_and_top > 0.8, "{scores:?}");
    assert!(scores.events > 0.75, "{scores:?}");
}

// When nobody is ever named, nothing tells the athletes apart; the ledger must still be one story
// and not a change of top every half second.
#[test]
fn a_round_without_names_does_not_flicker() {
    let known = Known::new("r29", "auto.vtt");
    let spells = known.ledger(&[]).spells().len();
    let truly = known.truth.ledger.spells().len();
    assert!(spells <= 2 * truly, "{spells} spells where there were {truly}");
}

#[test]
fn what_happened_is_told_where_only_by_whom_is_open() {
    let open = |name| {
        let ledger = Known::new(name, "auto.vtt").ledger(&[]);
        ledger.events().iter().filter(|event| event.actor.is_none()).count()
    };
    assert!(open("r29") > 0);
    assert_eq!(open("r01"), 0);
}

#[test]
fn the_order_of_the_athletes_does_not_matter() {
    for name in ["r01", "r03", "r09"] {
        let known = Known::new(name, "auto.vtt");
        let people = known.truth.round.athletes().clone();
        let [first, second] = people;
        let (kind, length) = (known.truth.round.kind(), known.truth.round.length());
        let swapped = Round::new([second, first], kind, length).unwrap();
        let talk = talk::read(sample(&format!("{name}.auto.vtt")).as_bytes()).unwrap().talk;
        let heard = reader().hear(&talk, &swapped);
        let mirrored = reader().ledger(&heard, &swapped, &[]).unwrap();
        let ledger = known.ledger(&[]);
        let spells = |ledger: &Ledger, mirror: bool| -> Vec<_> {
            let top = |top: Option<Athlete>| if mirror { top.map(Athlete::other) } else { top };
            ledger.spells().iter().map(|s| (s.span, s.position, top(s.top))).collect()
        };
        assert_eq!(spells(&ledger, false), spells(&mirrored, true), "{name}");
        let events = |ledger: &Ledger, mirror: bool| -> Vec<_> {
            let actor = |a: Option<Athlete>| if mirror { a.map(Athlete::other) } else { a };
            let mut events: Vec<_> = (ledger.events().iter())
                .map(|e| (e.time, e.kind, actor(e.actor), e.technique.clone()))
                .collect();
            events.sort();
            events
        };
        assert_eq!(events(&ledger, false), events(&mirrored, true), "{name}");
    }
}

#[test]
fn a_technique_is_given_to_one_change() {
    // "hip bump" is said once: to be the sweep, not also the escape four seconds before it.
    let known = Known::new("r09", "auto.vtt");
    let ledger = known.ledger(&[]);
    let bumps: Vec<&Event> = (ledger.events().iter())
        .filter(|event| event.technique.as_deref() == Some("hip bump sweep"))
        .collect();
    assert!(matches!(bumps[..], [Event { kind: EventKind::Sweep, .. }]), "{bumps:?}");
}

#[test]
fn nobody_taps_in_the_pause_after_the_tap() {
    let known = Known::new("r09", "auto.vtt");
    let ledger = known.ledger(&[]);
    let taps: Vec<Time> =
        ledger.events().iter().filter(|e| e.kind == EventKind::Tap).map(|e| e.time).collect();
    let pauses: Vec<Time> = (ledger.spells().iter())
        .filter(|spell| spell.position == Position::Reset)
        .map(|spell| spell.span.start())
        .collect();
    assert!(!taps.is_empty());
    assert_eq!(taps, pauses);
}
