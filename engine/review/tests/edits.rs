//! What each edit does, one by one.

use academy::{Athlete, ByHand, EventKind, Ledger, Position, Source};
use review::EditError;

use crate::any_round::{at, event, span, spell};

const FIRST: Option<Athlete> = Some(Athlete::First);
const SECOND: Option<Athlete> = Some(Athlete::Second);

fn guess() -> Ledger {
    let spells = vec![
        spell(0, 20_000, Position::Standing, None),
        spell(20_000, 40_000, Position::Mount, FIRST),
        spell(40_000, 60_000, Position::HalfGuard, SECOND),
    ];
    let events =
        vec![event(20_000, EventKind::Takedown, FIRST), event(45_000, EventKind::Pass, SECOND)];
    Ledger::new(spells, events).unwrap()
}

/// Edits made one after another, each on what is shown then.
struct Review(ByHand);

impl Review {
    fn shown(&self) -> Ledger {
        review::with_hand(&guess(), &self.0)
    }

    fn edit(&mut self, edit: impl Fn(&Ledger, &ByHand) -> Result<ByHand, EditError>) -> &mut Self {
        self.0 = edit(&self.shown(), &self.0).unwrap();
        self
    }

    /// The spells as `start-end position`, told ones with a star.
    fn spells(&self) -> String {
        let line = |s: &academy::Spell| {
            let star = if s.source == Source::Hand { "*" } else { "" };
            let (start, end) = (s.span.start().seconds(), s.span.end().seconds());
            format!("{start}-{end} {}{star}", s.position.id())
        };
        self.shown().spells().iter().map(line).collect::<Vec<_>>().join(", ")
    }

    fn events(&self) -> String {
        let line = |e: &academy::Event| format!("{} {}", e.time.seconds(), e.kind.id());
        self.shown().events().iter().map(line).collect::<Vec<_>>().join(", ")
    }
}

fn review() -> Review {
    Review(ByHand::default())
}

#[test]
fn a_spell_cuts_what_it_covers() {
    let mut round = review();
    round.edit(|s, h| review::set_spell(s, h, span(10_000, 30_000), Position::Turtle, FIRST, None));
    assert_eq!(round.spells(), "0-10 standing, 10-30 turtle*, 30-40 mount, 40-60 half_guard");
    round.edit(|s, h| review::set_spell(s, h, span(15_000, 20_000), Position::Reset, None, None));
    assert_eq!(
        round.spells(),
        "0-10 standing, 10-15 turtle*, 15-20 reset*, 20-30 turtle*, 30-40 mount, 40-60 half_guard"
    );
}

#[test]
fn a_spell_leaves_no_slivers_beside_what_was_told() {
    let mut round = review();
    round.edit(|s, h| review::set_spell(s, h, span(10_000, 30_000), Position::Turtle, FIRST, None));
    round.edit(|s, h| review::set_spell(s, h, span(30_900, 50_000), Position::Mount, FIRST, None));
    round.edit(|s, h| review::set_spell(s, h, span(500, 9_500), Position::Reset, None, None));
    round.edit(|s, h| review::set_spell(s, h, span(20_000, 29_100), Position::Reset, None, None));
    assert_eq!(
        round.spells(),
        "0-10 reset*, 10-20 turtle*, 20-30 reset*, 30-50 mount*, 50-60 half_guard"
    );
}

#[test]
fn the_side_of_a_border_that_gains_time_is_told() {
    let mut round = review();
    round.edit(|s, h| review::move_border(s, h, at(20_000), at(25_000)));
    assert_eq!(round.spells(), "0-25 standing*, 25-40 mount, 40-60 half_guard");
    round.edit(|s, h| review::move_border(s, h, at(40_000), at(30_000)));
    assert_eq!(round.spells(), "0-25 standing*, 25-30 mount, 30-60 half_guard*");
    round.edit(|s, h| review::move_border(s, h, at(30_000), at(35_000)));
    assert_eq!(round.spells(), "0-25 standing*, 25-35 mount*, 35-60 half_guard*");
    round.edit(|s, h| review::move_border(s, h, at(25_000), at(20_000)));
    assert_eq!(round.spells(), "0-20 standing*, 20-35 mount*, 35-60 half_guard*");
}

#[test]
fn a_border_stays_between_its_neighbours() {
    let crosses = |to| review::move_border(&guess(), &ByHand::default(), at(20_000), at(to)).err();
    let expected = Some(EditError::Crosses { earliest: at(1_000), latest: at(39_000) });
    assert_eq!((crosses(500), crosses(39_500)), (expected.clone(), expected));
    assert_eq!((crosses(1_000), crosses(39_000)), (None, None));
    let none = review::move_border(&guess(), &ByHand::default(), at(20_100), at(25_000));
    assert_eq!(none, Err(EditError::NoBorder(at(20_100))));
    // The end of the round is no border.
    let end = review::move_border(&guess(), &ByHand::default(), at(60_000), at(50_000));
    assert_eq!(end, Err(EditError::NoBorder(at(60_000))));
}

#[test]
fn a_spell_can_be_told_anew_or_split() {
    let mut round = review();
    round.edit(|s, h| review::retell(s, h, at(25_000), Position::BackControl, SECOND));
    assert_eq!(round.spells(), "0-20 standing, 20-40 back_control*, 40-60 half_guard");
    round.edit(|s, h| review::split(s, h, at(50_000), Position::Mount, SECOND));
    round.edit(|s, h| review::split(s, h, at(30_000), Position::Turtle, SECOND));
    assert_eq!(
        round.spells(),
        "0-20 standing, 20-30 back_control*, 30-40 turtle*, 40-50 half_guard, 50-60 mount*"
    );
}

#[test]
fn an_event_that_is_changed_or_taken_away_does_not_come_back() {
    let mut round = review();
    let (takedown, pass) = (guess().events()[0].clone(), guess().events()[1].clone());
    round.edit(|s, h| {
        review::change_event(s, h, &takedown, event(21_000, EventKind::GuardPull, SECOND))
    });
    assert_eq!(round.events(), "21 guard_pull, 45 pass");
    round.edit(|s, h| review::add_event(s, h, event(46_000, EventKind::Pass, SECOND)));
    assert_eq!(round.events(), "21 guard_pull, 46 pass");
    // The guess at 45 is the same pass.
    let told = round.shown().events()[1].clone();
    round.edit(|s, h| review::delete_event(s, h, &told));
    assert_eq!(round.events(), "21 guard_pull");
    let gone = review::delete_event(&round.shown(), &round.0, &pass);
    assert_eq!(gone, Err(EditError::NoEvent { kind: "pass", time: at(45_000) }));
    // What was struck can be told after all.
    round.edit(|s, h| review::add_event(s, h, pass.clone()));
    assert_eq!(round.events(), "21 guard_pull, 45 pass");
}

#[test]
fn refusals_say_what_to_do() {
    let (shown, none) = (guess(), ByHand::default());
    let told = |result: Result<ByHand, EditError>| result.unwrap_err().to_string();
    assert_eq!(
        told(review::retell(&shown, &none, at(5), Position::Mount, None)),
        "say who was on top in mount"
    );
    assert_eq!(
        told(review::retell(&shown, &none, at(5), Position::Standing, FIRST)),
        "nobody is on top in this position (standing): leave that out"
    );
    assert_eq!(
        told(review::retell(&shown, &none, at(60_001), Position::Standing, None)),
        "1:00 is after the end of the round at 1:00: choose an earlier time"
    );
    assert_eq!(
        told(review::split(&shown, &none, at(20_500), Position::Turtle, FIRST)),
        "a position lasts a second at least: leave more time between 0:20.0 and 0:20.5"
    );
    assert_eq!(
        told(review::split(&shown, &none, at(30_000), Position::Mount, FIRST)),
        "they were in mount before 0:30 already: choose what it changed to"
    );
    assert_eq!(
        told(review::move_border(&shown, &none, at(20_000), at(0))),
        "the border must stay between 0:01.0 and 0:39.0, a second away from the next ones"
    );
    assert_eq!(
        told(review::add_event(&shown, &none, event(70_000, EventKind::Tap, FIRST))),
        "1:10 is after the end of the round at 1:00: choose an earlier time"
    );
    let with_tap = review::add_event(&shown, &none, event(9_000, EventKind::Tap, FIRST)).unwrap();
    assert_eq!(
        told(review::add_event(&shown, &with_tap, event(9_000, EventKind::Tap, FIRST))),
        "the tap at 0:09 is there already"
    );
}
