//! Tries against successes, counted by hand.

use academy::{Athlete, EventKind, Position};
use figures::tallies::tallies;
use figures::tries::{Tries, tries};

use crate::made_rounds::{ANE, BO, bit_of_everything, ledger, rolled};

#[test]
fn what_was_tried_is_told_by_where() {
    use Athlete::{First, Second};
    use EventKind::{Escape, FailedTry, Pass, Sweep, Takedown};
    use Position::{Mount, OpenGuard, SideControl, Standing, Turtle};
    // Ane takes down, passes, and loses the turtle to a way up that she reversed.
    let told = ledger(
        &[
            (20.0, Standing, None),
            (20.0, OpenGuard, Some(First)),
            (20.0, SideControl, Some(First)),
            (20.0, OpenGuard, Some(First)),
            (20.0, Mount, Some(Second)),
            (20.0, SideControl, Some(First)),
            (20.0, Turtle, Some(First)),
        ],
        &[
            (5.0, FailedTry, Some(First)),
            (10.0, FailedTry, Some(Second)),
            (25.0, FailedTry, Some(First)),
            (30.0, FailedTry, Some(First)),
            // Bo under the guard of his own, then under the pin, then nobody knows who.
            (35.0, FailedTry, Some(Second)),
            (45.0, FailedTry, Some(Second)),
            (50.0, FailedTry, None),
            // On top of a pin it may have been anything.
            (55.0, FailedTry, Some(First)),
            (90.0, FailedTry, Some(First)),
        ],
    );
    let rounds = [rolled(&told)];
    let both = tallies(&rounds);
    let counts = |tries: &[Tries]| -> Vec<_> {
        tries.iter().map(|one| (one.kind, one.own, one.worked, one.failed)).collect()
    };
    let of_ane = tries(&both[&ANE]);
    let expected = [
        (Takedown, true, 1.0, 1.0),
        (Pass, true, 1.0, 2.0),
        // From under the mount to the top.
        (Escape, true, 1.0, 1.0),
        (Takedown, false, 0.0, 1.0),
        (Sweep, false, 1.0, 1.0),
        (Escape, false, 2.0, 1.0),
    ];
    assert_eq!(counts(&of_ane), expected);
    let pass = of_ane[1].share;
    // Wilson's limits of one in three.
    let (low, high) = (pass.interval.low(), pass.interval.high());
    assert!((low - 0.0615).abs() < 1e-3 && (high - 0.7923).abs() < 1e-3, "{low} {high}");
    assert!((pass.value - 1.0 / 3.0).abs() < 1e-12 && pass.count == 3.0);
    // Bo's are the same from across.
    let across: Vec<_> =
        tries(&both[&BO]).iter().map(|one| (one.kind, !one.own, one.worked, one.failed)).collect();
    assert!(across.iter().all(|one| expected.contains(one)) && across.len() == expected.len());
    // Where nobody told of any failing, nothing is said.
    let quiet = bit_of_everything();
    assert!(tries(&tallies(&[rolled(&quiet)])[&ANE]).is_empty());
}
