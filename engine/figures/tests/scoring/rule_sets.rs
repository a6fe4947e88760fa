//! Rule sets as data: the shipped ones, and files that can't be used.

use figures::scoring::{Action, RuleError, RuleSet};

const SHIPPED: &str = include_str!("../../../../data/rules/ibjjf.json");

#[test]
fn the_shipped_rule_sets_say_where_they_come_from() {
    for id in ["ibjjf", "adcc"] {
        let rules = RuleSet::from_id(id).unwrap();
        assert_eq!(rules.id(), id);
        assert!(!rules.unsure().is_empty());
        assert!(rules.year() >= 2011 && !rules.source().is_empty() && !rules.edition().is_empty());
    }
    assert_eq!(RuleSet::from_id("none"), None);
}

/// IBJJF rule book, articles 4.1 to 4.6.
#[test]
fn the_points_are_those_of_the_rule_book() {
    let rules = RuleSet::ibjjf();
    for (action, points) in [
        (Action::Takedown, 2),
        (Action::Pass, 3),
        (Action::KneeOnBelly, 2),
        (Action::Mount, 4),
        (Action::BackControl, 4),
        (Action::Sweep, 2),
    ] {
        assert_eq!(rules.points(action, false), points);
    }
}

#[test]
fn a_file_that_can_not_be_used_says_what_is_wrong() {
    let check = |old: &str, new: &str| {
        assert!(SHIPPED.contains(old), "{old}");
        RuleSet::parse(&SHIPPED.replace(old, new)).unwrap_err()
    };
    assert_eq!(check("\"hold_seconds\": 3", "\"hold_seconds\": -1"), RuleError::Hold(-1.0));
    assert_eq!(check("points\": 0", "points\": 1.5"), RuleError::Share(1.5));
    assert_eq!(check("\"IBJJF rule book\"", "\" \""), RuleError::Missing("name"));
    assert_eq!(
        check("\"pass\": 3", "\"pass\": -3"),
        RuleError::Points { action: "pass", points: -3, least: 0 }
    );
    assert_eq!(check("\"turtle\"]", "\"standing\"]"), RuleError::Position("standing".to_owned()));
    assert!(matches!(check("\"repeats\"", "\"repeat\""), RuleError::Form { line: 24, .. }));
    assert!(matches!(RuleSet::parse(""), Err(RuleError::Form { .. })));
}
