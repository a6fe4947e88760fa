//! How often a round is called unlike its kind: as often as said among rounds that are alike, and
//! where it is odd.

use academy::{Athlete, EventKind, Ledger, Position, RoundKind};
use figures::KnownRound;
use figures::meant::{KindNorms, Measure, Reading, meant};
use figures::sampling::Draws;

use crate::made_rounds::{ledger, rolled};
use crate::simulated::{PLAIN, round};

fn hard(ledger: &Ledger) -> KnownRound<'_> {
    KnownRound { kind: RoundKind::Hard, ..rolled(ledger) }
}

#[test]
fn one_in_twenty_rounds_that_are_alike_is_called_unlike() {
    let mut draws = Draws::from_seed(17);
    let (academies, mut unlike) = (600, 0);
    for _ in 0..academies {
        // A new round beside 39 others: drawn alike, so that it is among the two oddest of forty
        // with a chance of one in twenty.
        let ledgers: Vec<_> = (0..40).map(|_| round(PLAIN, 300.0, &mut draws)).collect();
        let rounds: Vec<_> = ledgers.iter().map(hard).collect();
        let read = meant(&rounds[0], &KindNorms::of(&rounds[1..]));
        unlike += u32::from(read.reading == Reading::Unlike);
    }
    // 30 expected, with a standard deviation of 5.3.
    assert!((16..=44).contains(&unlike), "{unlike} of {academies}");
}

#[test]
fn never_more_than_one_in_twenty_of_an_academy_are_unlike_and_odd_ones_are_among_them() {
    use Athlete::{First, Second};
    use Position::{Mount, OpenGuard, SideControl, Standing};
    let mut draws = Draws::from_seed(18);
    let mut ledgers: Vec<_> = (0..156).map(|_| round(PLAIN, 300.0, &mut draws)).collect();
    // Somebody is held down all along, for once and again.
    for seconds in [270.0, 280.0] {
        let held = [(10.0, Standing, None), (seconds, SideControl, Some(First))];
        ledgers.push(ledger(&held, &[]));
    }
    // As lively as none: a change every five seconds.
    let sides = [(OpenGuard, First), (SideControl, First), (OpenGuard, Second), (Mount, Second)];
    let lively: Vec<_> =
        sides.iter().cycle().take(60).map(|(position, top)| (5.0, *position, Some(*top))).collect();
    ledgers.push(ledger(&lively, &[]));
    // Ordinary but for eight attempts, where the others had none.
    let attempts =
        (1..=8).map(|at| (30.0 * f64::from(at), EventKind::SubmissionAttempt, Some(First)));
    let ordinary: Vec<_> =
        (0..10).map(|at| (30.0, sides[at % 4].0, Some(sides[at % 4].1))).collect();
    ledgers.push(ledger(&ordinary, &attempts.collect::<Vec<_>>()));
    let rounds: Vec<_> = ledgers.iter().map(hard).collect();
    let norms = KindNorms::of(&rounds);
    let read: Vec<_> =
        rounds.iter().enumerate().map(|(at, round)| norms.meant(at, round)).collect();
    let unlike = read.iter().filter(|read| read.reading == Reading::Unlike).count();
    assert!((4..=8).contains(&unlike), "{unlike}");
    let odd = &read[156..];
    assert!(odd.iter().all(|read| read.reading == Reading::Unlike), "{odd:?}");
    let why: Vec<_> = odd.iter().map(|read| read.evidence[0].measure).collect();
    let expected = [Measure::LongestPin, Measure::LongestPin, Measure::Changes, Measure::Attempts];
    assert_eq!(why, expected);
}
