//! What holds for any round under any rule set.

use academy::{Athlete, Event, EventKind, Ledger, Position, Source, Span, Spell, Time};
use figures::scoring::{RuleSet, Scored, score};
use proptest::prelude::*;

use super::rounds::round;

fn sources() -> impl Strategy<Value = Source> {
    prop::sample::select(vec![Source::Talk, Source::Hand])
}

fn spells() -> impl Strategy<Value = Vec<Spell>> {
    let one = (
        prop::sample::select(Position::ALL.to_vec()),
        prop::sample::select(Athlete::BOTH.to_vec()),
        1u64..90,
        0.0..=1.0,
        sources(),
        prop::bool::weighted(0.2),
    );
    prop::collection::vec(one, 1..25).prop_map(|parts| {
        let mut now = Time::ZERO;
        let spells = parts.into_iter().map(|(position, top, tenths, confidence, source, hook)| {
            let span = Span::between(now, now.later(tenths * 100));
            now = span.end();
            let variant = hook.then(|| "one hook back".to_owned());
            let top = position.has_top().then_some(top);
            Spell { span, position, top, variant, confidence, source }
        });
        spells.collect()
    })
}

fn ledgers() -> impl Strategy<Value = Ledger> {
    let event = (
        0.0..1.0,
        prop::sample::select(EventKind::ALL.to_vec()),
        prop::option::of(prop::sample::select(Athlete::BOTH.to_vec())),
        0.0..=1.0,
        sources(),
    );
    (spells(), prop::collection::vec(event, 0..12)).prop_map(|(spells, parts)| {
        let end = spells.last().unwrap().span.end().seconds();
        let events = parts.into_iter().map(|(share, kind, actor, confidence, source)| Event {
            time: Time::from_seconds(end * share),
            kind,
            actor,
            technique: None,
            confidence,
            source,
        });
        Ledger::new(spells, events.collect()).unwrap()
    })
}

fn both(ledger: &Ledger) -> [Scored; 2] {
    [RuleSet::ibjjf(), RuleSet::adcc()].map(|rules| score(ledger, &round(ledger), &rules))
}

fn mirrored(ledger: &Ledger) -> Ledger {
    let spells = ledger.spells().iter();
    let spells = spells.map(|spell| Spell { top: spell.top.map(Athlete::other), ..spell.clone() });
    let events = ledger.events().iter();
    let events =
        events.map(|event| Event { actor: event.actor.map(Athlete::other), ..event.clone() });
    Ledger::new(spells.collect(), events.collect()).unwrap()
}

/// The same reading with the athletes changed over.
fn changed_over(mut scored: Scored) -> Scored {
    scored.points.reverse();
    scored.awards.iter_mut().for_each(|award| award.athlete = award.athlete.other());
    scored
        .advantages
        .iter_mut()
        .for_each(|advantage| advantage.athlete = advantage.athlete.other());
    scored.not_counted.iter_mut().for_each(|not| not.athlete = not.athlete.map(Athlete::other));
    if let Some(ended) = &mut scored.ended {
        ended.winner = ended.winner.map(Athlete::other);
    }
    scored
}

proptest! {
    #[test]
    fn points_add_up_and_are_never_negative_without_penalties(ledger in ledgers()) {
        for seen in both(&ledger) {
            for athlete in Athlete::BOTH {
                let own = seen.awards.iter().filter(|award| award.athlete == athlete);
                let sum: i32 = own.map(|award| award.points).sum();
                prop_assert_eq!(seen.points[athlete.index()], sum);
                prop_assert!(seen.rules != "ibjjf" || sum >= 0);
            }
        }
    }

    #[test]
    fn changing_the_athletes_over_changes_the_points_over(ledger in ledgers()) {
        for (seen, other) in both(&ledger).into_iter().zip(both(&mirrored(&ledger))) {
            prop_assert_eq!(changed_over(seen), other);
        }
    }

    #[test]
    fn standing_alone_is_worth_nothing(tenths in prop::collection::vec(1u64..900, 1..6)) {
        let mut now = Time::ZERO;
        let spells = tenths.into_iter().map(|tenths| {
            let span = Span::between(now, now.later(tenths * 100));
            now = span.end();
            let (position, source) = (Position::Standing, Source::Talk);
            Spell { span, position, top: None, variant: None, confidence: 0.5, source }
        });
        let ledger = Ledger::new(spells.collect(), vec![]).unwrap();
        for seen in both(&ledger) {
            prop_assert_eq!(seen.points, [0, 0]);
            prop_assert!(seen.awards.is_empty() && seen.not_counted.is_empty());
        }
    }

    #[test]
    fn a_spell_in_two_equal_neighbours_is_the_same(ledger in ledgers(), which in 0usize..25, share in 0.0..1.0) {
        let mut spells = ledger.spells().to_vec();
        let which = which % spells.len();
        let span = spells[which].span;
        let cut = span.start().later((span.millis() as f64 * share) as u64);
        prop_assume!(span.start() < cut);
        let second = Spell { span: Span::between(cut, span.end()), ..spells[which].clone() };
        spells[which].span = Span::between(span.start(), cut);
        spells.insert(which + 1, second);
        let cut = Ledger::new(spells, ledger.events().to_vec()).unwrap();
        for (one, two) in both(&ledger).into_iter().zip(both(&cut)) {
            prop_assert_eq!(&one.points, &two.points);
            prop_assert_eq!(one.awards.len(), two.awards.len());
            for (one, two) in one.awards.iter().zip(&two.awards) {
                // Means over three spells may differ in the last digit.
                prop_assert!((one.confidence - two.confidence).abs() < 1e-9);
                prop_assert_eq!((one.time, one.action, &one.reason), (two.time, two.action, &two.reason));
            }
            prop_assert_eq!(one.not_counted.len(), two.not_counted.len());
            prop_assert_eq!(one.advantages.len(), two.advantages.len());
        }
    }

    #[test]
    fn every_award_was_held_inside_the_round_and_is_as_sure_as_a_chance(ledger in ledgers()) {
        for seen in both(&ledger) {
            prop_assert!((0.0..=1.0).contains(&seen.uncertain));
            let stop = seen.ended.as_ref().map_or(ledger.end(), |ended| ended.time);
            for award in &seen.awards {
                prop_assert!((0.0..=1.0).contains(&award.confidence));
                prop_assert!(award.since <= award.time && award.time <= stop);
                prop_assert!(award.points < 0 || award.held_seconds > 0.0);
                prop_assert!(award.time.distance(award.since) >= 3_000 || award.points < 0);
                prop_assert!(!award.reason.is_empty());
            }
            let chances = seen.not_counted.iter().map(|not| not.confidence);
            for chance in chances.chain(seen.advantages.iter().map(|advantage| advantage.confidence)) {
                prop_assert!((0.0..=1.0).contains(&chance));
            }
        }
    }

    #[test]
    fn any_text_is_a_rule_set_or_an_error(text in "\\PC{0,60}") {
        prop_assert!(RuleSet::parse(&text).is_err());
    }
}
