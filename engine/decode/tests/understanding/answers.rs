//! Answers of the coach are obeyed.

use super::*;

fn known() -> &'static Known {
    static KNOWN: OnceLock<Known> = OnceLock::new();
    KNOWN.get_or_init(|| Known::new("r01", "auto.vtt"))
}

fn state(at: f64, position: Position, top: Option<Athlete>) -> Answer {
    Answer::State { time: seconds(at), position, top }
}

#[test]
fn a_position_told_is_obeyed_and_marked() {
    for (at, position, top) in [
        (30.0, Position::Mount, Some(Athlete::Second)),
        (100.0, Position::NorthSouth, Some(Athlete::First)),
        (0.0, Position::Turtle, Some(Athlete::Second)),
        (200.2, Position::Standing, None),
        (250.0, Position::Reset, None),
        (299.9, Position::LegEntanglement, Some(Athlete::First)),
        (300.0, Position::BackControl, Some(Athlete::First)),
        (4000.0, Position::FrontHeadlock, Some(Athlete::Second)),
    ] {
        let ledger = known().ledger(&[state(at, position, top)]);
        assert_eq!(state_at(&ledger, seconds(at)), (position, top, Source::Hand), "{at}");
    }
}

#[test]
fn a_position_without_its_top_leaves_the_top_open() {
    let mount = state(100.0, Position::Mount, None);
    let ledger = known().ledger(std::slice::from_ref(&mount));
    let (position, _, source) = state_at(&ledger, seconds(100.0));
    assert_eq!(position, Position::Mount);
    // Nobody has said who was on top.
    assert_eq!(source, Source::Talk);
    for top in Athlete::BOTH {
        let ledger = known().ledger(&[mount.clone(), Answer::Top { time: seconds(100.0), top }]);
        let expected = (Position::Mount, Some(top), Source::Hand);
        assert_eq!(state_at(&ledger, seconds(100.0)), expected);
    }
}

fn mount(at: f64, start: Option<f64>, end: Option<f64>) -> Answer {
    let (position, top) = (Position::Mount, Some(Athlete::Second));
    let [start, end] = [start, end].map(|time| time.map(seconds));
    Answer::Spell { time: seconds(at), position, top, start, end }
}

#[test]
fn a_spell_told_begins_and_ends_when_it_was_told_to() {
    for (start, end) in [(61.3, 92.8), (0.1, 30.0), (250.0, 299.9), (130.0, 130.9)] {
        let ledger = known().ledger(&[mount((start + end) / 2.0, Some(start), Some(end))]);
        let spell = ledger.spell_at(seconds((start + end) / 2.0)).unwrap();
        assert_eq!((spell.position, spell.top), (Position::Mount, Some(Athlete::Second)));
        assert_eq!((spell.source, spell.confidence), (Source::Hand, 1.0));
        let (from, to) = (spell.span.start().seconds(), spell.span.end().seconds());
        // The first and the last quarter of a second are nobody's.
        assert!(from == start || (from == 0.0 && start < 0.25), "{from} {start}");
        assert!(to == end || (to == 300.0 && end > 299.75), "{to} {end}");
    }
    // One end alone leaves the other open.
    let begun = known().ledger(&[mount(70.0, Some(61.3), None)]);
    let spell = begun.spell_at(seconds(70.0)).unwrap();
    assert_eq!(spell.span.start(), seconds(61.3));
    let ended = known().ledger(&[mount(70.0, None, Some(92.8))]);
    assert_eq!(ended.spell_at(seconds(70.0)).unwrap().span.end(), seconds(92.8));
}

#[test]
fn two_spells_told_meet_even_if_their_times_do_not_quite() {
    for second in [91.8, 92.4, 92.9, 93.1] {
        let turtle = Answer::Spell {
            time: seconds(100.0),
            position: Position::Turtle,
            top: Some(Athlete::Second),
            start: Some(seconds(second)),
            end: Some(seconds(105.0)),
        };
        let ledger = known().ledger(&[mount(70.0, Some(61.3), Some(92.6)), turtle]);
        let spells = ledger.spells().iter();
        let between =
            spells.filter(|s| s.span.start() < seconds(105.0) && seconds(62.0) < s.span.end());
        assert_eq!(between.count(), 2, "{second}");
    }
}

#[test]
fn a_change_told_in_passing_and_watched_for_is_one() {
    let pass = |at| Answer::Event {
        time: seconds(at),
        kind: EventKind::Pass,
        actor: Some(Athlete::Second),
    };
    let spell = mount(70.0, Some(61.3), None);
    for at in [60.0, 61.3, 62.6] {
        for answers in [[pass(at), spell.clone()], [spell.clone(), pass(at)]] {
            let ledger = known().ledger(&answers);
            let starts = ledger.spells().iter().map(|spell| spell.span.start());
            let near: Vec<Time> = starts.filter(|t| t.distance(seconds(61.3)) < 2_000).collect();
            assert_eq!(near, [seconds(61.3)], "{at}");
            let before = ledger.spell_at(seconds(61.0)).unwrap();
            assert!(before.position.is_guard() || before.position == Position::LegEntanglement);
        }
    }
}

#[test]
fn a_spell_told_gives_way_to_a_later_answer_inside_it() {
    let spell = mount(70.0, Some(61.3), Some(92.8));
    let turtle = state(80.0, Position::Turtle, Some(Athlete::First));
    let ledger = known().ledger(&[spell.clone(), turtle.clone()]);
    assert_eq!(state_at(&ledger, seconds(80.0)).0, Position::Turtle);
    let ledger = known().ledger(&[turtle, spell]);
    assert_eq!(state_at(&ledger, seconds(80.0)).0, Position::Mount);
}

#[test]
fn what_was_told_of_a_moment_is_certain_there_and_not_for_the_whole_spell() {
    let plain = known().ledger(&[]);
    let unsure = (plain.spells().iter())
        .filter(|spell| spell.span.seconds() > 8.0 && spell.confidence < 0.9)
        .min_by(|a, b| a.confidence.total_cmp(&b.confidence))
        .unwrap();
    let middle = unsure.span.start().later(unsure.span.millis() / 2);
    let answer = Answer::State { time: middle, position: unsure.position, top: unsure.top };
    let ledger = known().ledger(&[answer]);
    let told = ledger.spell_at(middle).unwrap();
    assert_eq!(told.source, Source::Hand);
    assert!(unsure.confidence < told.confidence && told.confidence < 1.0, "{told:?}");
}

#[test]
fn the_top_told_is_obeyed() {
    for at in [60.0, 120.0, 180.0, 240.0] {
        for top in Athlete::BOTH {
            let ledger = known().ledger(&[Answer::Top { time: seconds(at), top }]);
            assert_eq!(state_at(&ledger, seconds(at)).1, Some(top));
        }
    }
}

#[test]
fn an_event_told_is_in_the_ledger() {
    for kind in EventKind::ALL {
        for actor in [None, Some(Athlete::First), Some(Athlete::Second)] {
            for at in [0.0, 61.3, 150.0, 299.0, 300.0, 5000.0] {
                let time = seconds(at);
                let ledger = known().ledger(&[Answer::Event { time, kind, actor }]);
                let told: Vec<&Event> =
                    ledger.events().iter().filter(|e| e.source == Source::Hand).collect();
                assert_eq!(told.len(), 1, "{kind:?} {at}");
                assert_eq!(told[0].time, time.min(ledger.end()));
                assert_eq!(told[0].kind, kind);
                assert!(actor.is_none() || told[0].actor == actor);
            }
        }
    }
}

#[test]
fn a_change_told_changes_the_position() {
    use EventKind as K;
    // Each kind by the first athlete; where that athlete is afterwards, and before.
    let underneath =
        |(_, top, _): (Position, Option<Athlete>, Source)| top == Some(Athlete::Second);
    let on_top = |(_, top, _): (Position, Option<Athlete>, Source)| top == Some(Athlete::First);
    for kind in [
        K::Takedown,
        K::GuardPull,
        K::Pass,
        K::Sweep,
        K::Reversal,
        K::Escape,
        K::BackTake,
        K::Advance,
    ] {
        for at in [40.0, 130.0, 220.0] {
            let (time, actor) = (seconds(at), Some(Athlete::First));
            let ledger = known().ledger(&[Answer::Event { time, kind, actor }]);
            // A change is placed where the reader finds it likeliest, within two seconds or so.
            let pairs = ledger.spells().windows(2);
            let near: Vec<_> = pairs
                .filter(|pair| pair[1].span.start().distance(time) <= 2_500)
                .map(|pair| {
                    let see = |spell: &academy::Spell| (spell.position, spell.top, spell.source);
                    (see(&pair[0]), see(&pair[1]))
                })
                .collect();
            let fits = near.iter().any(|(before, after)| match kind {
                K::Takedown => before.0 == Position::Standing && on_top(*after),
                K::GuardPull => before.0 == Position::Standing && underneath(*after),
                K::Pass => on_top(*before) && on_top(*after) && !after.0.is_guard(),
                K::Sweep => underneath(*before) && before.0.is_guard() && on_top(*after),
                K::Reversal => underneath(*before) && !before.0.is_guard() && on_top(*after),
                K::Escape => underneath(*before) && !on_top(*after),
                K::BackTake => after.0 == Position::BackControl && on_top(*after),
                _ => on_top(*before) && on_top(*after),
            });
            assert!(fits, "{kind:?} at {at}: {near:?}");
            // It is told once.
            let count = (ledger.events().iter())
                .filter(|e| e.kind == kind && e.actor == actor && e.time.distance(time) <= 2_500)
                .count();
            assert_eq!(count, 1, "{kind:?} at {at}");
        }
    }
}

#[test]
fn nothing_takes_away_changes_and_guesses() {
    let plain = known().ledger(&[]);
    let inside = |span: Span, time: Time| span.start() < time && time < span.end();
    for from in [5.0, 60.0, 130.2] {
        let span = Span::between(seconds(from), seconds(from + 31.7));
        let disturbed = |ledger: &Ledger| {
            let changes = ledger.spells().iter().filter(|s| inside(span, s.span.start())).count();
            let events = ledger.events().iter().filter(|e| inside(span, e.time)).count();
            (changes, events)
        };
        // Otherwise the test would be of nothing indeed.
        assert!(disturbed(&plain).0 > 0 && disturbed(&plain).1 > 0);
        let ledger = known().ledger(&[Answer::Nothing { span }]);
        assert_eq!(disturbed(&ledger), (0, 0));
        assert_eq!(
            disturbed(&known().ledger(&[Answer::Nothing { span }, Answer::Nothing { span }])),
            (0, 0)
        );
    }
}

#[test]
fn the_later_of_two_answers_about_a_moment_wins() {
    let at = 100.0;
    let one = state(at, Position::Mount, Some(Athlete::First));
    let other = state(at, Position::Turtle, Some(Athlete::Second));
    let ledger = known().ledger(&[one.clone(), other.clone()]);
    assert_eq!(state_at(&ledger, seconds(at)).0, Position::Turtle);
    let ledger = known().ledger(&[other, one]);
    assert_eq!(state_at(&ledger, seconds(at)).0, Position::Mount);

    let event = |actor| Answer::Event {
        time: seconds(at),
        kind: EventKind::SubmissionAttempt,
        actor: Some(actor),
    };
    let ledger = known().ledger(&[event(Athlete::First), event(Athlete::Second)]);
    let told: Vec<_> = ledger.events().iter().filter(|e| e.source == Source::Hand).collect();
    assert!(matches!(told[..], [Event { actor: Some(Athlete::Second), .. }]), "{told:?}");

    let sweep = Answer::Event { time: seconds(at), kind: EventKind::Sweep, actor: None };
    let nothing = Answer::Nothing { span: Span::between(seconds(90.0), seconds(110.0)) };
    let ledger = known().ledger(&[sweep.clone(), nothing.clone()]);
    assert!(ledger.events().iter().all(|event| event.source == Source::Talk));
    let ledger = known().ledger(&[nothing, sweep]);
    assert!(ledger.events().iter().any(|event| event.source == Source::Hand));
    let changes: Vec<_> = (ledger.spells().iter())
        .map(|spell| spell.span.start())
        .filter(|start| (90_500..110_000).contains(&start.millis()))
        .collect();
    assert_eq!(changes.len(), 1, "{changes:?}");
}

#[test]
fn answers_that_cannot_all_be_true_are_refused() {
    let nothing = Answer::Nothing { span: Span::between(seconds(90.0), seconds(110.0)) };
    let answers = [
        nothing,
        state(95.0, Position::Mount, Some(Athlete::First)),
        state(105.0, Position::Turtle, Some(Athlete::Second)),
    ];
    let ledger = reader().ledger(&known().heard, &known().truth.round, &answers);
    assert!(matches!(ledger, Err(UnderstandError::Contradiction)));
    let questions = reader().questions(&known().heard, &answers, 3);
    assert!(matches!(questions, Err(UnderstandError::Contradiction)));
}

// Nobody is named in this round: nothing but the answers tells the athletes apart, and the path of
// most seconds rightly read would as soon turn inside the quiet stretch as beside it.
#[test]
fn a_stretch_in_which_nothing_happened_stays_quiet_between_contrary_answers() {
    let known = Known::new("r29", "auto.vtt");
    let span = Span::between(seconds(143.641), seconds(154.501));
    let ledger = known.ledger(&[
        Answer::Top { time: seconds(155.0), top: Athlete::First },
        Answer::Top { time: seconds(140.5), top: Athlete::Second },
        Answer::Nothing { span },
    ]);
    let inside = |time: Time| span.start() < time && time < span.end();
    assert!(ledger.spells().iter().all(|spell| !inside(spell.span.start())));
}

fn some_answer() -> impl Strategy<Value = Answer> {
    let time = || (0u64..310_000).prop_map(Time::from_millis);
    let athlete = || prop::sample::select(Athlete::BOTH.to_vec());
    prop_oneof![
        (time(), prop::sample::select(Position::ALL.to_vec()), prop::option::of(athlete()))
            .prop_map(|(time, position, top)| Answer::State {
                time,
                position,
                top: top.filter(|_| position.has_top()),
            }),
        (
            time(),
            prop::sample::select(Position::ALL.to_vec()),
            athlete(),
            0..20_000u64,
            0..20_000u64
        )
            .prop_map(|(time, position, top, before, after)| Answer::Spell {
                time,
                position,
                top: position.has_top().then_some(top),
                start: (before % 3 > 0).then(|| time.earlier(before)),
                end: (after % 3 > 0).then(|| time.later(after)),
            }),
        (time(), athlete()).prop_map(|(time, top)| Answer::Top { time, top }),
        (time(), prop::sample::select(EventKind::ALL.to_vec()), prop::option::of(athlete()))
            .prop_map(|(time, kind, actor)| Answer::Event { time, kind, actor }),
        (time(), time()).prop_map(|(a, b)| Answer::Nothing {
            // Long stretches would leave nothing but contradictions.
            span: Span::between(a, a.later(b.millis() / 20)),
        }),
    ]
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 48, ..ProptestConfig::default() })]

    #[test]
    fn any_answers_give_a_sound_ledger_that_obeys_or_a_contradiction(
        answers in prop::collection::vec(some_answer(), 1..9),
    ) {
        let round = &known().truth.round;
        match reader().ledger(&known().heard, round, &answers) {
            Err(error) => prop_assert!(matches!(error, UnderstandError::Contradiction), "{error}"),
            Ok(ledger) => {
                assert_valid(&ledger, round);
                // The last answer is never overruled.
                match answers.last().unwrap() {
                    Answer::State { time, position, top } => {
                        let (said, on_top, _) = state_at(&ledger, *time);
                        prop_assert_eq!(said, *position);
                        prop_assert!(top.is_none() || on_top == *top);
                    }
                    Answer::Spell { time, position, top, start, end } => {
                        let spell = ledger.spell_at((*time).min(ledger.end())).unwrap();
                        prop_assert_eq!((spell.position, spell.top), (*position, *top));
                        // To half a second, as a bin is, and to another where it must move.
                        let near = |told: &Time, kept: Time| {
                            (*told).min(ledger.end()).distance(kept) <= 1_000
                        };
                        prop_assert!(start.is_none_or(|start| near(&start, spell.span.start())));
                        prop_assert!(end.is_none_or(|end| near(&end, spell.span.end())));
                    }
                    Answer::Top { time, top } => {
                        prop_assert_eq!(state_at(&ledger, *time).1, Some(*top));
                    }
                    Answer::Event { time, kind, .. } => {
                        let time = (*time).min(ledger.end());
                        let there = |e: &Event| e.time == time && e.kind == *kind;
                        prop_assert!(ledger.events().iter().any(there));
                    }
                    Answer::Nothing { span } => {
                        let within = |t: Time| span.start() < t && t < span.end();
                        prop_assert!(ledger.spells().iter().all(|s| !within(s.span.start())));
                    }
                }
            }
        }
    }
}
