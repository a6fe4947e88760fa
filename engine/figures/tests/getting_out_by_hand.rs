//! Stays in bad positions and how they end, against ledgers read by hand.

use academy::{Athlete, EventKind, Position};
use figures::getting_out::{Ending, compare, getting_out, stays};

use crate::made_rounds::{ANE, BO, bit_of_everything, guessed, ledger, rolled};

fn near(one: f64, other: f64) {
    assert!((one - other).abs() < 1e-9, "{one} is not {other}");
}

#[test]
fn stays_are_found_from_either_side() {
    let told = bit_of_everything();
    let rounds = [rolled(&told)];
    let (ane, bo) = (stays(&rounds, ANE), stays(&rounds, BO));
    assert_eq!(ane.len(), 1);
    assert_eq!((ane[0].position, ane[0].ending), (Position::Mount, Some(Ending::Tapped)));
    near(ane[0].seconds, 20.0);
    assert_eq!(bo.len(), 1);
    assert_eq!((bo[0].position, bo[0].ending), (Position::SideControl, Some(Ending::Escaped)));
    near(bo[0].seconds, 30.0);
}

#[test]
fn every_way_of_ending_is_told_apart() {
    use Athlete::{First, Second};
    use Position::{Mount, OpenGuard, Reset, SideControl, Turtle};
    let told = ledger(
        &[
            (10.0, SideControl, Some(Second)), // worse: to mount
            (10.0, Mount, Some(Second)),       // elsewhere: back to side control
            (10.0, SideControl, Some(Second)), // escaped: to turtle
            (10.0, Turtle, Some(Second)),      // escaped: to a guard
            (10.0, OpenGuard, Some(Second)),
            (10.0, Turtle, Some(Second)),      // worse: to side control
            (20.0, SideControl, Some(Second)), // tapped at 75, so after 15 seconds
            (5.0, Mount, Some(Second)),        // cut by the pause
            (5.0, Reset, None),
            (8.0, SideControl, Some(Second)), // escaped: the one on top taps in the pause
            (5.0, Reset, None),
            (9.0, SideControl, Some(Second)), // cut by the clock
        ],
        &[(75.0, EventKind::Tap, Some(First)), (98.5, EventKind::Tap, Some(Second))],
    );
    let rounds = [rolled(&told)];
    let endings: Vec<_> =
        stays(&rounds, ANE).iter().map(|stay| (stay.seconds, stay.ending)).collect();
    let expected = [
        (10.0, Some(Ending::Worse)),
        (10.0, Some(Ending::Elsewhere)),
        (10.0, Some(Ending::Turtled)),
        (10.0, Some(Ending::Escaped)),
        (10.0, Some(Ending::Worse)),
        (15.0, Some(Ending::Tapped)),
        (5.0, None),
        (8.0, Some(Ending::Escaped)),
        (9.0, None),
    ];
    assert_eq!(endings, expected);
}

#[test]
fn a_stay_after_a_blank_is_left_out() {
    use Athlete::Second;
    let told = ledger(
        &[
            (10.0, Position::Standing, None),
            (10.0, Position::Mount, Some(Second)),
            (10.0, Position::OpenGuard, Some(Second)),
        ],
        &[],
    );
    let mut spells = told.spells().to_vec();
    spells[0].confidence = 0.0;
    spells[0].source = academy::Source::Talk;
    let blank = academy::Ledger::new(spells, Vec::new()).unwrap();
    assert_eq!(stays(&[rolled(&told)], ANE).len(), 1);
    assert!(stays(&[rolled(&blank)], ANE).is_empty());
}

/// One stay in side control of so many seconds, ending in a guard, a mount or the end of the round.
fn one_stay(seconds: f64, ending: Option<Ending>) -> academy::Ledger {
    use Athlete::Second;
    let mut spells = vec![(seconds, Position::SideControl, Some(Second))];
    match ending {
        Some(Ending::Escaped) => spells.push((5.0, Position::OpenGuard, Some(Second))),
        Some(_) => spells.push((5.0, Position::Mount, Some(Second))),
        None => {}
    }
    ledger(&spells, &[])
}

#[test]
fn incidence_is_the_textbooks_one() {
    // FACTS E2, times 1 to 10 with codes 1 2 1 0 1 2 0 1 2 0, where 1 is escaped and 2 is worse:
    // F1 .1 at 1, .2 at 3, .316667 at 5, .472222 at 8; F2 .372222 at 9.
    let (out, worse) = (Some(Ending::Escaped), Some(Ending::Worse));
    let codes = [out, worse, out, None, out, worse, None, out, worse, None];
    let told: Vec<_> =
        codes.iter().enumerate().map(|(at, code)| one_stay(at as f64 + 1.0, *code)).collect();
    let rounds: Vec<_> = told.iter().map(rolled).collect();
    let figure = getting_out(&stays(&rounds, ANE), Position::SideControl).unwrap();
    near(figure.stays, 10.0);
    assert_eq!(figure.ended, [4.0, 0.0, 3.0, 0.0, 0.0]);
    let share =
        |time, ending: Ending| figure.curves.at(time).unwrap().outcomes[ending.index()].incidence;
    assert!((share(1.0, Ending::Escaped) - 0.1).abs() < 1e-6);
    assert!((share(5.0, Ending::Escaped) - 0.316_667).abs() < 1e-6);
    assert!((share(8.0, Ending::Escaped) - 0.472_222).abs() < 1e-6);
    assert!((share(9.0, Ending::Worse) - 0.372_222).abs() < 1e-6);
    near(figure.confirmed, 1.0);
    assert!(getting_out(&stays(&rounds, BO), Position::SideControl).is_none());
}

#[test]
fn guessed_stays_count_by_their_probability() {
    let told = one_stay(10.0, Some(Ending::Escaped));
    let guess = guessed(&told, 0.25);
    let figure = getting_out(&stays(&[rolled(&guess)], ANE), Position::SideControl).unwrap();
    near(figure.stays, 0.25);
    near(figure.ended[0], 0.25);
    near(figure.confirmed, 0.0);
}

#[test]
fn slow_escapes_stand_out_beside_quick_ones() {
    // Every fifth ends in a mount instead, so that neither side gets out every time.
    let make = |seconds: f64, at: u32| {
        let ending = if at % 5 == 4 { Ending::Worse } else { Ending::Escaped };
        one_stay(seconds, Some(ending))
    };
    let quick: Vec<_> = (0..20).map(|at| make(5.0 + f64::from(at), at)).collect();
    let slow: Vec<_> = (0..20).map(|at| make(15.0 + f64::from(at), at)).collect();
    let of =
        |ledgers: &[academy::Ledger]| stays(&ledgers.iter().map(rolled).collect::<Vec<_>>(), ANE);
    let (quick, slow) = (of(&quick), of(&slow));
    let comparison = compare(&slow, &quick, Position::SideControl, Ending::Escaped).unwrap();
    assert!(comparison.p_value < 0.02);
    assert!(comparison.excess < 0.0);
    let mirrored = compare(&quick, &slow, Position::SideControl, Ending::Escaped).unwrap();
    near(mirrored.p_value, comparison.p_value);
    near(mirrored.excess, -comparison.excess);
    let same = compare(&slow, &slow, Position::SideControl, Ending::Escaped).unwrap();
    near(same.p_value, 1.0);
    assert!(compare(&slow, &[], Position::SideControl, Ending::Escaped).is_none());
    // Where everybody always gets out, and one side sooner than anybody of the other, as well.
    let always = |from: f64| -> Vec<_> {
        (0..8).map(|at| one_stay(from + f64::from(at), Some(Ending::Escaped))).collect()
    };
    let (soon, late) = (of(&always(2.0)), of(&always(20.0)));
    let comparison = compare(&soon, &late, Position::SideControl, Ending::Escaped).unwrap();
    assert!(comparison.p_value < 0.001 && comparison.excess > 0.0);
}
