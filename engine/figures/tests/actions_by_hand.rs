//! What follows what, and the balance of reward and risk, against chains worked out by hand.

use academy::{Athlete, EventKind, Ledger, Position};
use figures::actions::{Action, NAMED_IN_STUDY, Next, Transitions};
use figures::balance::{Balance, balances};
use figures::stretch::Lived;

use crate::made_rounds::{Told, bit_of_everything, ledger, rolled};

use Athlete::{First, Second};
use EventKind::{BackTake, FailedTry, Pass, SubmissionAttempt, SubmissionEscape, Takedown, Tap};

const fn own(kind: EventKind) -> Action {
    Action { kind, own: true }
}

const fn others(kind: EventKind) -> Action {
    Action { kind, own: false }
}

fn of(ledgers: &[Ledger], counts: impl Fn(EventKind) -> bool) -> Transitions {
    let lived: Vec<_> = ledgers.iter().map(|one| Lived::new(&rolled(one), First)).collect();
    Transitions::of(&lived, counts)
}

/// A round in one place, with a moment every twenty seconds: nearer ones could be one ending told
/// twice.
fn told(moments: &[(EventKind, Athlete)]) -> Ledger {
    let moments: Vec<_> = (moments.iter().enumerate())
        .map(|(at, (kind, who))| (20.0 * (1.0 + at as f64), *kind, Some(*who)))
        .collect();
    ledger(&[(6000.0, Position::ClosedGuard, Some(First))], &moments)
}

fn near(one: f64, other: f64) {
    assert!((one - other).abs() < 1e-12, "{one} is not {other}");
}

fn the(balances: &[Balance], action: Action) -> Balance {
    *balances.iter().find(|one| one.action == action).expect("made to be there")
}

#[test]
fn a_round_is_followed_from_one_thing_to_the_next() {
    // Pass, try, let go; escape by the other, swept to mount, tried there, tapped; nothing after.
    let all = of(&[bit_of_everything()], |_| true);
    let ways = [
        (own(Takedown), Next::Action(own(Pass))),
        (own(Pass), Next::Action(own(SubmissionAttempt))),
        (own(SubmissionAttempt), Next::Submits),
        (others(EventKind::Escape), Next::Action(others(EventKind::Sweep))),
        (others(EventKind::Sweep), Next::Action(others(SubmissionAttempt))),
        (others(SubmissionAttempt), Next::Submitted),
    ];
    for (action, next) in ways {
        near(all.count(action, next), 1.0);
        near(all.done(action).all, 1.0);
    }
    // Moves alone: the pass is followed by the submission, since what is left out is passed over.
    let moves = of(&[bit_of_everything()], |kind| kind != SubmissionAttempt);
    near(moves.count(own(Pass), Next::Submits), 1.0);
}

#[test]
fn the_drunkards_walk_between_two_submissions() {
    // Grinstead and Snell, *Introduction to Probability*, section 11.2: three states in a row, the
    // ends at either side. To the right with 1/2: the chance of the right end is 1/4, 1/2, 3/4.
    let (left, middle, right) = (SubmissionAttempt, SubmissionEscape, FailedTry);
    let by = |kinds: &[EventKind], tapped| {
        let moments = kinds.iter().map(|kind| (*kind, First)).chain([(Tap, tapped)]);
        told(&moments.collect::<Vec<_>>())
    };
    let even =
        of(&[by(&[left, middle, right, middle, left], First), by(&[right], Second)], |_| true);
    let read = balances(&even, &Transitions::default(), 100, 1);
    for (kind, submits) in [(left, 0.25), (middle, 0.5), (right, 0.75)] {
        let one = the(&read, own(kind));
        near(one.submits, submits);
        near(one.submitted, 1.0 - submits);
        near(one.value, 2.0 * submits - 1.0);
        near(one.count, 2.0);
    }
    assert_eq!(read[0].action, own(right));
    // To the right with 2/3: 8/15, 4/5, 14/15.
    let uneven = of(
        &[
            by(&[left, middle, left], First),
            by(&[left, middle, right, middle, right], Second),
            by(&[right], Second),
        ],
        |_| true,
    );
    let read = balances(&uneven, &Transitions::default(), 2000, 1);
    for (kind, submits) in [(left, 8.0 / 15.0), (middle, 0.8), (right, 14.0 / 15.0)] {
        let one = the(&read, own(kind));
        near(one.submits, submits);
        assert!(one.interval.contains(one.value));
    }
    assert_eq!(read, balances(&uneven, &Transitions::default(), 2000, 1));
}

#[test]
fn the_study_read_from_ledgers_made_to_its_shares() {
    use Position::{BackControl, OpenGuard, SideControl, Standing, Turtle};
    let (guard, pin) = ((20.0, OpenGuard, Some(First)), (20.0, SideControl, Some(First)));
    let back: [Told; 2] = [(20.0, Turtle, Some(First)), (20.0, BackControl, Some(First))];
    let down: [Told; 2] = [(20.0, Standing, None), guard];
    let tap = [(40.0, Tap, Some(Second))];
    let tried = [(30.0, SubmissionAttempt, Some(Second))];
    let mut rounds = Vec::new();
    // 45 of 100 back takes are followed directly by a submission.
    rounds.extend((0..100).map(|at| ledger(&back, if at < 45 { &tap } else { &[] })));
    // 30 of 100 passes by a pass, the guard having been recovered between them.
    rounds.extend((0..30).map(|_| ledger(&[guard, pin, guard, pin], &[])));
    rounds.extend((0..40).map(|_| ledger(&[guard, pin], &[])));
    // 15 of 100 takedowns by an attempt of the other one.
    rounds.extend((0..100).map(|at| ledger(&down, if at < 15 { &tried } else { &[] })));
    let all = of(&rounds, |kind| NAMED_IN_STUDY.contains(&kind));
    let published = [
        (own(BackTake), Next::Submits, 0.45),
        (own(Pass), Next::Action(own(Pass)), 0.30),
        (own(Takedown), Next::Action(others(SubmissionAttempt)), 0.15),
    ];
    for (action, by, share) in published {
        let followed = all.followed(action);
        let followed = followed.iter().find(|one| one.by == by).unwrap().share;
        near(followed.value, share);
        near(followed.count, 100.0);
        assert!(followed.interval.low() < share && share < followed.interval.high());
        near(all.followed(action).iter().map(|one| one.share.value).sum(), 1.0);
    }
    let read = balances(&all, &Transitions::default(), 400, 2);
    near(the(&read, own(BackTake)).value, 0.45);
    assert_eq!(read[0].action, own(BackTake));
    // Nothing ever follows a pass but passes and the clock.
    near(the(&read, own(Pass)).value, 0.0);
    let limits = the(&read, own(BackTake)).interval;
    // Beta(45, 55): from 0.354 to 0.548.
    assert!((limits.low() - 0.354).abs() < 0.02 && (limits.high() - 0.548).abs() < 0.02);
}

#[test]
fn rare_actions_read_mostly_like_the_groups() {
    let ends = |tapped| told(&[(FailedTry, First), (Tap, tapped)]);
    let group: Vec<_> = (0..40).map(|at| ends(if at < 30 { Second } else { First })).collect();
    let group = of(&group, |_| true);
    // Tapped once out of once: beside five of the group's, of which 3.75 go well.
    let own_rounds = of(&[ends(First)], |_| true);
    let read = the(&balances(&own_rounds, &group, 400, 3), own(FailedTry));
    near(read.submits, 3.75 / 6.0);
    near(read.value, (3.75 - 2.25) / 6.0);
    near(read.count, 1.0);
    assert!(read.interval.low() < 0.0 && read.interval.high() > 0.7, "{:?}", read.interval);
    let never = the(&balances(&Transitions::default(), &group, 400, 3), own(FailedTry));
    near(never.value, 0.5);
    near(never.count, 0.0);
    assert!(balances(&Transitions::default(), &Transitions::default(), 10, 1).is_empty());
}
