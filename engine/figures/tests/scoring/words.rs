//! How sure an award is, and what it says.

use academy::{Ledger, Source, Spell};
use figures::scoring::{RuleSet, score};

use super::rounds::{round, told};

/// The same round with other confidences; a confidence below 1 is a guess from the talk.
fn with(line: &str, confidences: &[f64]) -> Ledger {
    let ledger = told(line).ledger();
    let spells = ledger.spells().iter().zip(confidences).map(|(spell, confidence)| Spell {
        confidence: *confidence,
        source: if *confidence < 1.0 { Source::Talk } else { Source::Hand },
        ..spell.clone()
    });
    Ledger::new(spells.collect(), ledger.events().to_vec()).unwrap()
}

#[test]
fn an_award_is_as_sure_as_the_least_sure_place_it_rests_on() {
    let line = "open_guard a 10, side_control a 10, mount a 10";
    let ledger = with(line, &[0.6, 0.9, 1.0]);
    let seen = score(&ledger, &round(&ledger), &RuleSet::ibjjf());
    let sure: Vec<_> =
        seen.awards.iter().map(|award| (award.confidence, award.confirmed)).collect();
    assert_eq!(sure, [(0.6, false), (1.0, true)]);
    assert!((seen.uncertain - 3.0 / 7.0).abs() < 1e-12);
    let ledger = with(line, &[1.0, 1.0, 1.0]);
    assert_eq!(score(&ledger, &round(&ledger), &RuleSet::ibjjf()).uncertain, 0.0);
}

#[test]
fn reasons_are_plain_words() {
    let read = |line: &str| {
        let ledger = told(line).ledger();
        let seen = score(&ledger, &round(&ledger), &RuleSet::ibjjf());
        let awards = seen.awards.into_iter().map(|award| award.reason);
        awards.chain(seen.not_counted.into_iter().map(|not| not.reason)).collect::<Vec<_>>()
    };
    assert_eq!(
        read("standing - 5, +takedown a, closed_guard a 10"),
        ["took the other down from standing into closed guard and held it 10 s"]
    );
    assert_eq!(
        read("open_guard b 9, open_guard a 2.5, open_guard b 9"),
        [
            "swept from the bottom of open guard to the top of open guard, but only for 2.5 s; 3 s are needed"
        ]
    );
    assert_eq!(
        read("mount b 9, mount a 9"),
        [
            "reached mount from under mount and held it 9 s",
            "on top in mount: it began there, nothing was reached",
            "came up from under mount to the top of mount: these rules give nothing for it",
            "got to mount, but there was no guard in play to pass",
        ]
    );
}
