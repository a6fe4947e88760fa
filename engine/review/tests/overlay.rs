//! What is entered, laid over what is guessed.

use academy::{Athlete, ByHand, Event, EventKind, Ledger, Position, Source};
use proptest::prelude::*;

use crate::any_round::{LENGTH, after, at, edits, event, guesses, spell};

const FIRST: Option<Athlete> = Some(Athlete::First);
const SECOND: Option<Athlete> = Some(Athlete::Second);

/// What a ledger says, without how sure that is.
fn said(
    ledger: &Ledger,
) -> (Vec<impl PartialEq + std::fmt::Debug>, Vec<impl PartialEq + std::fmt::Debug>) {
    let spells = ledger.spells().iter();
    let events = ledger.events().iter();
    (
        spells.map(|s| (s.span, s.position, s.top, s.variant.clone())).collect(),
        events.map(|e| (e.time, e.kind, e.actor, e.technique.clone())).collect(),
    )
}

fn all_sure(ledger: &Ledger) -> bool {
    let sure = |confidence: f64, source| confidence == 1.0 && source == Source::Hand;
    ledger.spells().iter().all(|spell| sure(spell.confidence, spell.source))
        && ledger.events().iter().all(|event| sure(event.confidence, event.source))
}

proptest! {
    #[test]
    fn what_is_entered_is_always_sound(guess in guesses(), edits in prop::collection::vec(edits(), 0..12)) {
        let by_hand = after(&guess, &edits);
        let mut free = at(0);
        for spell in &by_hand.spells {
            prop_assert!(free <= spell.span.start() && spell.span.millis() > 0);
            prop_assert_eq!(spell.top.is_some(), spell.position.has_top());
            prop_assert_eq!((spell.confidence, spell.source), (1.0, Source::Hand));
            free = spell.span.end();
        }
        prop_assert!(free <= at(LENGTH));
        let times: Vec<_> = by_hand.events.iter().map(|event| event.time).collect();
        prop_assert!(times.is_sorted() && times.iter().all(|time| *time <= at(LENGTH)));
    }

    // A ledger cannot be made but of spells that tile it; that there is one says so.
    #[test]
    fn what_is_entered_shows_exactly_as_told(guess in guesses(), edits in prop::collection::vec(edits(), 0..12)) {
        let by_hand = after(&guess, &edits);
        let shown = review::with_hand(&guess, &by_hand);
        prop_assert_eq!(shown.end(), guess.end());
        let told: Vec<_> =
            shown.spells().iter().filter(|s| s.source == Source::Hand).cloned().collect();
        prop_assert_eq!(&told, &by_hand.spells);
        let told: Vec<_> =
            shown.events().iter().filter(|e| e.source == Source::Hand).cloned().collect();
        prop_assert_eq!(&told, &by_hand.events);
        // And what is guessed is from the guess.
        for spell in shown.spells().iter().filter(|s| s.source != Source::Hand) {
            let from_guess = guess.spells().iter().any(|guessed| {
                (guessed.position, guessed.top) == (spell.position, spell.top)
                    && guessed.span.start() < spell.span.end()
                    && spell.span.start() < guessed.span.end()
            });
            // But for what is too short between two told ones, which shows as the earlier one.
            let between = by_hand.spells.windows(2).any(|pair| {
                pair[0].span.end() == spell.span.start()
                    && spell.span.end() == pair[1].span.start()
                    && spell.span.millis() < review::by_hand::BETWEEN_TOLD_MILLIS
                    && (pair[0].position, pair[0].top) == (spell.position, spell.top)
            });
            prop_assert!(from_guess || between);
        }
    }

    #[test]
    fn what_is_confirmed_is_what_was_shown(guess in guesses(), edits in prop::collection::vec(edits(), 0..12)) {
        let by_hand = after(&guess, &edits);
        let shown = review::with_hand(&guess, &by_hand);
        let confirmed = review::confirm(&shown, &by_hand);
        for base in [guess, review::unread(at(LENGTH))] {
            let again = review::with_hand(&base, &confirmed);
            prop_assert_eq!(said(&again), said(&shown));
            prop_assert!(all_sure(&again));
        }
    }

    #[test]
    fn what_nobody_told_stays_blank_when_confirmed(edits in prop::collection::vec(edits(), 0..12)) {
        let blank = review::unread(at(LENGTH));
        let by_hand = after(&blank, &edits);
        let shown = review::with_hand(&blank, &by_hand);
        let again = review::with_hand(&blank, &review::confirm(&shown, &by_hand));
        prop_assert_eq!(again.spells(), shown.spells());
    }

    #[test]
    fn another_reading_changes_nothing_that_was_told(
        guess in guesses(),
        other in guesses(),
        edits in prop::collection::vec(edits(), 0..12),
    ) {
        let by_hand = after(&guess, &edits);
        let shown = review::with_hand(&other, &by_hand);
        for spell in &by_hand.spells {
            prop_assert!(shown.spells().contains(spell));
        }
        for event in &by_hand.events {
            prop_assert!(shown.events().contains(event));
        }
    }

    // Whatever a store or a file gives, not only what edits make.
    #[test]
    fn any_entries_can_be_shown(
        guess in guesses(),
        spells in prop::collection::vec((0..2 * LENGTH, 0..2 * LENGTH, any::<bool>()), 0..6),
        times in prop::collection::vec(0..2 * LENGTH, 0..6),
    ) {
        let spells = spells.into_iter().map(|(a, b, fits)| {
            spell(a.min(b), a.max(b), Position::Mount, FIRST.filter(|_| fits))
        });
        let events = times.into_iter().map(|time| event(time, EventKind::Pass, None));
        let by_hand =
            ByHand { spells: spells.collect(), events: events.collect(), struck: vec![] };
        let shown = review::with_hand(&guess, &by_hand);
        prop_assert_eq!(shown.end(), guess.end());
    }
}

fn guess() -> Ledger {
    let spells = vec![
        spell(0, 20_000, Position::Standing, None),
        spell(20_000, 40_000, Position::Mount, FIRST),
        spell(40_000, 60_000, Position::HalfGuard, SECOND),
    ];
    let events =
        vec![event(20_000, EventKind::Takedown, FIRST), event(45_000, EventKind::Pass, None)];
    Ledger::new(spells, events).unwrap()
}

/// The shown spells as `start-end position`, told ones with a star.
fn shown(by_hand: &ByHand) -> Vec<String> {
    let shown = review::with_hand(&guess(), by_hand);
    let line = |s: &academy::Spell| {
        let star = if s.source == Source::Hand { "*" } else { "" };
        let (start, end) = (s.span.start().seconds(), s.span.end().seconds());
        format!("{start}-{end} {}{star}", s.position.id())
    };
    shown.spells().iter().map(line).collect()
}

#[test]
fn a_guess_is_split_cut_or_dropped() {
    let told = |start, end| ByHand {
        spells: vec![spell(start, end, Position::Turtle, FIRST)],
        ..ByHand::default()
    };
    assert_eq!(
        shown(&told(25_000, 30_000)),
        ["0-20 standing", "20-25 mount", "25-30 turtle*", "30-40 mount", "40-60 half_guard"]
    );
    assert_eq!(
        shown(&told(15_000, 45_000)),
        ["0-15 standing", "15-45 turtle*", "45-60 half_guard"]
    );
}

#[test]
fn a_short_leftover_goes_to_the_guess_beside_it() {
    let told = |start, end| ByHand {
        spells: vec![spell(start, end, Position::Turtle, FIRST)],
        ..ByHand::default()
    };
    assert_eq!(
        shown(&told(20_400, 39_300)),
        ["0-20.4 standing", "20.4-39.3 turtle*", "39.3-60 half_guard"]
    );
    // At the edge of the round there is nobody to take it.
    assert_eq!(shown(&told(500, 60_000)), ["0-0.5 standing", "0.5-60 turtle*"]);
}

#[test]
fn no_change_shows_for_a_moment_between_two_told_stretches() {
    let told = |from| ByHand {
        spells: vec![
            spell(10_000, 25_000, Position::Turtle, FIRST),
            spell(from, 60_000, Position::BackControl, FIRST),
        ],
        ..ByHand::default()
    };
    let between = ["25-26.5 turtle", "25-27 mount"];
    assert_eq!(shown(&told(26_500))[2], between[0]);
    assert_eq!(shown(&told(27_000))[2], between[1]);
    // And where a change shows, it can be taken away.
    let one = review::with_hand(&guess(), &told(27_000));
    let dropped = review::drop_change(&one, &told(27_000), at(25_000)).unwrap();
    assert_eq!(shown(&dropped)[1..], ["10-27 turtle*", "27-60 back_control*"]);
    assert!(review::drop_change(&one, &dropped, at(26_000)).is_err());
}

#[test]
fn faint_guesses_are_not_listed() {
    let faint = |confidence| Event { confidence, ..event(20_000, EventKind::Pass, FIRST) };
    let ledger = Ledger::new(guess().spells().to_vec(), vec![faint(0.29), faint(0.3)]).unwrap();
    assert_eq!(review::listed(&ledger).events(), [faint(0.3)]);
}

#[test]
fn both_standing_is_told_where_nothing_was_known() {
    let (blank, none) = (review::unread(at(LENGTH)), ByHand::default());
    let told = review::split(&blank, &none, at(300), Position::Standing, None).unwrap();
    assert_eq!(told.spells[0].span, blank.spells()[0].span);
}

#[test]
fn a_short_guess_that_nobody_cut_stays() {
    let spells = vec![
        spell(0, 20_000, Position::Standing, None),
        spell(20_000, 20_500, Position::Turtle, FIRST),
        spell(20_500, 60_000, Position::Mount, FIRST),
    ];
    let guess = Ledger::new(spells, vec![]).unwrap();
    let told = vec![spell(10_000, 20_000, Position::Reset, None)];
    let shown = review::with_hand(&guess, &ByHand { spells: told, ..ByHand::default() });
    let positions: Vec<&str> = shown.spells().iter().map(|s| s.position.id()).collect();
    assert_eq!(positions, ["standing", "reset", "turtle", "mount"]);
}

/// The events shown as `seconds kind`.
fn events(told: Vec<Event>, struck: Vec<Event>) -> Vec<String> {
    let by_hand = ByHand { spells: vec![], events: told, struck };
    let shown = review::with_hand(&guess(), &by_hand);
    shown.events().iter().map(|e| format!("{} {}", e.time.seconds(), e.kind.id())).collect()
}

#[test]
fn guesses_at_what_was_told_or_struck_give_way() {
    assert_eq!(events(vec![], vec![]), ["20 takedown", "45 pass"]);
    let near = event(47_000, EventKind::Pass, SECOND);
    assert_eq!(events(vec![near.clone()], vec![]), ["20 takedown", "47 pass"]);
    assert_eq!(events(vec![], vec![near]), ["20 takedown"]);
    // Too far away, another kind, another athlete.
    for other in [
        event(47_001, EventKind::Pass, SECOND),
        event(45_000, EventKind::Sweep, None),
        event(20_000, EventKind::Takedown, SECOND),
    ] {
        assert_eq!(events(vec![], vec![other]), ["20 takedown", "45 pass"]);
    }
}

#[test]
fn a_round_without_talk_is_blank_until_somebody_tells() {
    let blank = review::unread(at(LENGTH));
    assert!(review::is_unread(&blank.spells()[0]) && blank.end() == at(LENGTH));
    assert_eq!(review::unread(at(0)).end(), at(1));
    let told = review::retell(&blank, &ByHand::default(), at(5), Position::Mount, FIRST).unwrap();
    let shown = review::with_hand(&blank, &told);
    assert!(!shown.spells().iter().any(review::is_unread));
}
