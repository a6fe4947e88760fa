//! Two readings of a round against worked numbers: those of FACTS G4, and small ones by hand.

use academy::{Athlete, Ledger, Position, Source, Spell, Time};
use figures::sampling::Draws;
use figures::two_readings::{OverRounds, TwoReadings, over_rounds, two_readings};

use crate::made_rounds::{Told, ledger};

use Athlete::{First, Second};
use Position::{ClosedGuard, Mount, SideControl, Standing};

/// A reading in letters: S standing, G closed guard, P side control, M mount, with their seconds.
fn read(told: &[(char, f64)]) -> Ledger {
    let spell = |(letter, seconds): &(char, f64)| match letter {
        'S' => (*seconds, Standing, None),
        'G' => (*seconds, ClosedGuard, Some(First)),
        'P' => (*seconds, SideControl, Some(First)),
        _ => (*seconds, Mount, Some(First)),
    };
    ledger(&told.iter().map(spell).collect::<Vec<Told>>(), &[])
}

fn near(one: f64, other: f64) {
    assert!((one - other).abs() < 5e-7, "{one} is not {other}");
}

fn f1(readings: &TwoReadings) -> [f64; 3] {
    readings.stretches.map(|found| 100.0 * found.f1())
}

#[test]
fn the_worked_segmentations() {
    let truth = read(&[('S', 5.0), ('G', 10.0), ('P', 5.0), ('M', 10.0)]);
    let guess = read(&[('S', 4.0), ('G', 6.0), ('P', 1.0), ('G', 6.0), ('P', 4.0), ('M', 9.0)]);
    let readings = two_readings(&truth, &guess);
    let agreed = readings.position_and_top.unwrap();
    near(agreed.share.value, 25.0 / 30.0);
    near(agreed.kappa.unwrap().value, 0.767_442);
    assert_eq!(readings.position.unwrap().share, agreed.share);
    let scores = f1(&readings);
    [80.0, 80.0, 60.0].iter().zip(scores).for_each(|(known, score)| near(*known, score));
    let half = readings.stretches[2];
    assert_eq!((half.found, half.extra, half.missed), (3, 3, 1));
    let guess =
        [('S', 5.0), ('G', 3.0), ('M', 4.0), ('G', 3.0), ('P', 5.0), ('G', 5.0), ('M', 5.0)];
    let readings = two_readings(&truth, &read(&guess));
    near(readings.position_and_top.unwrap().share.value, 0.7);
    let scores = f1(&readings);
    let known = [800.0 / 11.0, 800.0 / 11.0, 600.0 / 11.0];
    known.iter().zip(scores).for_each(|(known, score)| near(*known, score));
    // A reading agrees with itself.
    let same = two_readings(&truth, &truth);
    near(same.position_and_top.unwrap().kappa.unwrap().value, 1.0);
    assert_eq!(f1(&same), [100.0; 3]);
    assert!(same.disagreements.is_empty());
}

#[test]
fn disagreements_are_listed_longest_first_and_unknown_time_is_left_out() {
    let first = ledger(
        &[
            (10.0, Standing, None),
            (20.5, ClosedGuard, Some(First)),
            (30.0, SideControl, Some(First)),
            (20.0, Mount, Some(First)),
        ],
        &[],
    );
    let told = ledger(
        &[
            (12.0, Standing, None),
            (18.5, ClosedGuard, Some(Second)),
            (25.0, SideControl, Some(First)),
            (10.0, Mount, Some(First)),
        ],
        &[],
    );
    // Nobody said anything about its first five seconds.
    let mut spells = told.spells().to_vec();
    let (whole, border) = (spells[0].span, Time::from_seconds(5.0));
    let blank = Spell {
        span: academy::Span::between(Time::ZERO, border),
        confidence: 0.0,
        source: Source::Talk,
        ..spells[0].clone()
    };
    spells[0].span = academy::Span::between(border, whole.end());
    spells.insert(0, blank);
    let second = Ledger::new(spells, Vec::new()).unwrap();
    let readings = two_readings(&first, &second);
    near(readings.left_out, 5.0);
    near(readings.compared, 60.5);
    near(readings.beyond, 15.0);
    // 5 to 10 both stand; 10 to 12 not; 12 to 30.5 the same guard, another one on top; side
    // control to 55.5; then side control or mount.
    let spans: Vec<_> = (readings.disagreements.iter())
        .map(|one| (one.span.start().seconds(), one.span.end().seconds()))
        .collect();
    assert_eq!(spans, [(12.0, 30.5), (55.5, 60.5), (10.0, 12.0)]);
    let longest = readings.disagreements[0];
    assert_eq!((longest.first.top, longest.second.top), (Some(First), Some(Second)));
    near(readings.position.unwrap().share.value, 53.5 / 60.5);
    near(readings.position_and_top.unwrap().share.value, 35.0 / 60.5);
    // One category all along: kappa says nothing, and neither do two blanks.
    let standing = read(&[('S', 30.0)]);
    let same = two_readings(&standing, &standing).position_and_top.unwrap();
    assert_eq!(same.kappa, None);
    near(same.ac1.value, 1.0);
    let blank = |spell: &Spell| Spell { confidence: 0.0, source: Source::Talk, ..spell.clone() };
    let nothing = Ledger::new(standing.spells().iter().map(blank).collect(), Vec::new()).unwrap();
    let readings = two_readings(&standing, &nothing);
    assert_eq!(readings.position_and_top, None);
    near(readings.left_out, 30.0);
    assert_eq!(readings.stretches.map(|found| found.f1()), [1.0; 3]);
}

/// Two readers of a round: thirty stretches of ten seconds, of which the second calls each
/// something else with the chance that is the round's own.
fn a_round(draws: &mut Draws) -> TwoReadings {
    let wrong = 0.4 * draws.uniform();
    let letters = ['S', 'G', 'P', 'M'];
    let mut any = |letter: usize| (letter + 1 + (draws.uniform() * 3.0) as usize) % 4;
    let truth: Vec<usize> = (0..30)
        .scan(0, |at, _| {
            *at = any(*at);
            Some(*at)
        })
        .collect();
    let guess: Vec<usize> = truth
        .iter()
        .map(|letter| if draws.uniform() < wrong { (letter + 1) % 4 } else { *letter })
        .collect();
    let read = |all: &[usize]| {
        read(&all.iter().map(|letter| (letters[*letter], 10.0)).collect::<Vec<_>>())
    };
    two_readings(&read(&truth), &read(&guess))
}

#[test]
fn limits_over_rounds_hold_the_truth_as_often_as_they_say_and_those_of_seconds_do_not() {
    let mut draws = Draws::from_seed(5);
    let (mut by_rounds, mut of_kappa, mut by_seconds, all) = (0, 0, 0, 300);
    for _ in 0..all {
        let readings: Vec<_> = (0..12).map(|_| a_round(&mut draws)).collect();
        let together: OverRounds = over_rounds(&readings).unwrap();
        assert_eq!(together.rounds, 12);
        near(together.compared, 3600.0);
        // A fifth is read wrongly on average: agreement 0.8, kappa (0.8 - 0.25) / 0.75.
        let agreed = together.position_and_top;
        by_rounds += u32::from(agreed.share.interval.contains(0.8));
        of_kappa += u32::from(agreed.kappa.unwrap().interval.contains(0.55 / 0.75));
        by_seconds += u32::from(readings[0].position_and_top.unwrap().share.interval.contains(0.8));
    }
    let covered = |count: u32| f64::from(count) / f64::from(all);
    assert!((0.90..=0.98).contains(&covered(by_rounds)), "{}", covered(by_rounds));
    assert!((0.90..=0.98).contains(&covered(of_kappa)), "{}", covered(of_kappa));
    // What its documentation warns of.
    assert!(covered(by_seconds) < 0.5, "{}", covered(by_seconds));
    assert_eq!(over_rounds(&[a_round(&mut draws)]), None);
}
