//! The sequence table for a scorer, both rule sets; derived from the published rules of the editions
//! that `data/rules/` names. Rows marked unsure or from memory say so.

use figures::scoring::{Action, RuleSet, Scored, Why};

use super::rounds::scored;

/// A row: its number, what happens, what `a` gets under either rule set, and how sure the row is.
type Row = (u8, &'static str, i32, i32, &'static str);

/// Every place lasts at least the hold unless the row is about one that doesn't.
const TABLE: [Row; 27] = [
    (1, "standing - 5, +takedown a, closed_guard a 10", 2, 2, "found"),
    (2, "standing - 5, +takedown a, side_control a 10", 2, 4, "found"),
    (3, "standing - 5, +takedown a, mount a 10", 6, 4, "ADCC unsure"),
    (4, "open_guard a 10, side_control a 10, mount a 10", 7, 5, "found"),
    (5, "open_guard a 10, mount a 10", 7, 3, "found"),
    // The same with a moment in side control on the way.
    (5, "open_guard a 10, side_control a 1, mount a 10", 7, 3, "found"),
    (6, "closed_guard b 10, +sweep a, closed_guard a 10", 2, 2, "found"),
    (7, "half_guard b 10, +sweep a, side_control a 10", 2, 4, "found"),
    (8, "mount b 10, +reversal a, closed_guard a 10", 0, 2, "IBJJF from memory"),
    (9, "side_control b 10, +escape a, half_guard b 10", 0, 0, "found"),
    (10, "turtle a 10, +back_take a, back_control a 10", 4, 3, "found"),
    (11, "turtle a 10, one_hook a 10", 0, 0, "found"),
    (12, "mount a 10, back_control a 10", 4, 3, "found"),
    (13, "mount a 10, knee_on_belly a 10", 0, 2, "ADCC unsure"),
    (14, "standing - 5, +guard_pull a, open_guard b 10", 0, -1, "found"),
    (15, "open_guard b 10, +sweep a, open_guard a 2, open_guard b 10", 0, 0, "found"),
    (16, "open_guard a 10, side_control a 10, half_guard a 10, side_control a 10", 6, 6, "memory"),
    (17, "closed_guard a 10, +submission_attempt b, mount a 3", 0, 0, "found"),
    // Beyond the table, from the rules it is derived from.
    (
        18,
        "open_guard b 10, standing - 2, open_guard a 10",
        2,
        2,
        "found: both come up, still the sweep",
    ),
    (19, "turtle a 10, side_control a 10", 0, 0, "found: a pass needs a guard"),
    (20, "open_guard a 9, side_control a 9, mount a 9, side_control a 9, mount a 9", 7, 7, "found"),
    (
        21,
        "closed_guard a 10, +submission_attempt b, mount a 5, +submission_escape a, mount a 4",
        7,
        3,
        "found: nothing until free and held, then the chain",
    ),
    (
        22,
        "open_guard a 10, side_control a 1, knee_on_belly a 1, mount a 10",
        9,
        3,
        "IBJJF article 3.4: a chain whose last position is held",
    ),
    (23, "open_guard a 10, leg_entanglement b 10, side_control a 10", 3, 3, "common practice"),
    (24, "mount a 10, reset - 5, standing - 1, +takedown a, side_control a 10", 2, 4, "found"),
    (25, "mount a 10, turtle a 10, mount a 10", 4, 2, "memory: the control was lost"),
    (26, "half_guard b 10, back_control a 10", 4, 3, "memory: the back and nothing more"),
];

fn rule_sets() -> [RuleSet; 2] {
    [RuleSet::ibjjf(), RuleSet::adcc()]
}

#[test]
fn the_table_is_scored_as_published() {
    for (row, line, ibjjf, adcc, sure) in TABLE {
        for (rules, points) in rule_sets().iter().zip([ibjjf, adcc]) {
            let seen = scored(line, rules);
            let edition = (rules.name(), rules.edition());
            assert_eq!(
                seen.points,
                [points, 0],
                "row {row} ({sure}): {line}, {edition:?}: {seen:#?}"
            );
            assert_eq!(seen.edition, rules.edition());
        }
    }
}

#[test]
fn the_table_holds_for_the_other_athlete_too() {
    for (row, line, ibjjf, adcc, _) in TABLE {
        let words = line.split(' ').map(|word| match word.trim_end_matches(',') {
            "a" => word.replace('a', "b"),
            "b" => word.replace('b', "a"),
            _ => word.to_owned(),
        });
        let line = words.collect::<Vec<_>>().join(" ");
        for (rules, points) in rule_sets().iter().zip([ibjjf, adcc]) {
            assert_eq!(scored(&line, rules).points, [0, points], "row {row}: {line}");
        }
    }
}

fn why(seen: &Scored) -> Vec<(Option<Action>, Why)> {
    seen.not_counted.iter().map(|not| (not.action, not.why)).collect()
}

#[test]
fn what_does_not_count_says_why() {
    for (line, rules, action, reason) in [
        ("mount b 9, closed_guard a 9", RuleSet::ibjjf(), Action::Reversal, Why::NoPoints),
        ("side_control b 9, half_guard b 9", RuleSet::adcc(), Action::GuardRecovery, Why::NoPoints),
        ("turtle a 9, one_hook a 9", RuleSet::ibjjf(), Action::BackControl, Why::OneHook),
        ("mount a 9, knee_on_belly a 9", RuleSet::ibjjf(), Action::KneeOnBelly, Why::MovingDown),
        (
            "open_guard b 9, open_guard a 2, open_guard b 9",
            RuleSet::ibjjf(),
            Action::Sweep,
            Why::TooShort,
        ),
        ("open_guard a 9, mount a 9", RuleSet::adcc(), Action::Mount, Why::Straight),
        ("half_guard b 9, side_control a 9", RuleSet::ibjjf(), Action::Pass, Why::NoGuard),
        (
            "side_control a 9, half_guard a 1, side_control a 9",
            RuleSet::ibjjf(),
            Action::Pass,
            Why::NoGuard,
        ),
        ("standing - 9, closed_guard a 9", RuleSet::ibjjf(), Action::Takedown, Why::NotTold),
        ("mount a 9", RuleSet::ibjjf(), Action::Mount, Why::StartedThere),
        (
            "closed_guard a 9, +submission_attempt b, mount a 3",
            RuleSet::ibjjf(),
            Action::Mount,
            Why::Caught,
        ),
        (
            "mount b 9, half_guard b 9, half_guard a 9, mount a 9, side_control a 9, mount a 9",
            RuleSet::ibjjf(),
            Action::Mount,
            Why::Again,
        ),
    ] {
        let seen = scored(line, &rules);
        assert!(why(&seen).contains(&(Some(action), reason)), "{line}: {seen:#?}");
    }
}

#[test]
fn the_first_half_has_no_points_where_the_rules_say_so() {
    let told = super::rounds::told("open_guard a 10, side_control a 40, mount a 50");
    let ledger = told.ledger();
    let round = super::rounds::round(&ledger);
    let seen = figures::scoring::score(&ledger, &round, &RuleSet::adcc());
    // Passed at 0:10, mounted at 0:50 of a round of 1:40.
    assert_eq!(seen.points, [2, 0]);
    assert!(why(&seen).contains(&(Some(Action::Pass), Why::BeforePoints)));
    assert_eq!(figures::scoring::score(&ledger, &round, &RuleSet::ibjjf()).points, [7, 0]);
}

#[test]
fn a_pulled_guard_is_in_play_at_once() {
    let line = "standing - 9, +guard_pull b, open_guard a 1, side_control a 9";
    assert_eq!(scored(line, &RuleSet::ibjjf()).points, [3, 0]);
    assert_eq!(scored(line, &RuleSet::adcc()).points, [3, -1]);
    let own = "standing - 9, +guard_pull a, open_guard b 1, open_guard a 9";
    assert_eq!(scored(own, &RuleSet::ibjjf()).points, [2, 0]);
    assert_eq!(scored(own, &RuleSet::adcc()).points, [1, 0]);
}

/// Read by hand: a pass (3) and the back (4) after another pass (3) for the first; a sweep (2), a
/// pass (3) and mount (4) for the second, reversed from mount, then tapped.
#[test]
fn a_whole_round_reads_as_by_hand() {
    let text = include_str!("../../../../samples/demo/round.ledger.json");
    let (round, ledger) = academy::ledger_file::read(text).unwrap();
    let seen = figures::scoring::score(&ledger, &round, &RuleSet::ibjjf());
    assert_eq!(seen.points, [10, 9]);
    assert_eq!(seen.ended.unwrap().winner, Some(academy::Athlete::First));
    assert!(seen.advantages.is_empty());
    // Before 1:50 nothing scores: mount (2); a reversal (2), a pass (3) and the back (3).
    let seen = figures::scoring::score(&ledger, &round, &RuleSet::adcc());
    assert_eq!(seen.points, [8, 2]);
}

#[test]
fn advantages_are_for_what_was_nearly_held() {
    let rules = RuleSet::ibjjf();
    let lost = scored("open_guard b 9, open_guard a 2, open_guard b 9", &rules);
    assert_eq!(lost.advantages.len(), 1);
    assert_eq!(lost.advantages[0].action, Action::Sweep);
    // A score that follows in the same movement takes its place.
    let kept = scored("open_guard b 9, open_guard a 2, standing - 1, open_guard a 9", &rules);
    assert_eq!((kept.points, kept.advantages.len()), ([2, 0], 0));
    let hook = scored("turtle a 9, one_hook a 9", &rules);
    assert_eq!(hook.advantages.len(), 1);
    let both = scored("turtle a 9, one_hook a 9, back_control a 9", &rules);
    assert_eq!((both.points, both.advantages.len()), ([4, 0], 0));
    assert!(
        scored("open_guard b 9, open_guard a 2, open_guard b 9", &RuleSet::adcc())
            .advantages
            .is_empty()
    );
}

#[test]
fn a_submission_ends_it() {
    let line = "open_guard a 9, side_control a 9, +submission_attempt a, side_control a 5, +tap b, \
                reset - 5, standing - 5, +takedown b, mount b 9";
    for rules in rule_sets() {
        let seen = scored(line, &rules);
        assert_eq!(seen.points, [3, 0]);
        assert_eq!(seen.ended.as_ref().unwrap().winner, Some(academy::Athlete::First));
        assert!(why(&seen).contains(&(None, Why::AfterSubmission)));
    }
    assert_eq!(scored("standing - 9", &RuleSet::adcc()).ended, None);
}

#[test]
fn seconds_of_control_stand_behind_each_award() {
    let seen = scored("open_guard a 10, side_control a 8, open_guard a 10", &RuleSet::ibjjf());
    let [pass] = seen.awards.as_slice() else { panic!("{seen:#?}") };
    assert_eq!((pass.held_seconds, pass.points), (8.0, 3));
    assert_eq!(pass.time, pass.since.later(3_000));
    assert_eq!(pass.reason, "passed from open guard to side control and held it 8 s");
}
