//! All figures together: of a student, of a group, of a selection of rounds.

use std::collections::BTreeMap;

use academy::{Belt, EventKind, Ledger, Position, RoundKind};
use figures::habits::Towards;
use figures::overview::{AcademyFigures, Selection};
use figures::sampling::Draws;
use figures::tallies::Doing;
use figures::{AthleteId, KnownRound, Place, Role};
use jiff::ToSpan;
use jiff::civil::date;

use crate::made_rounds::{bit_of_everything, rolled};
use crate::simulated::{PLAIN, Ways, round};

const PEOPLE: usize = 12;
/// One who gets out of mount a tenth as often as the others.
const LEAKY: AthleteId = AthleteId(3);
/// One who may pass the guard more often.
const PASSER: AthleteId = AthleteId(5);
const UNDER_MOUNT: Place = Place { position: Position::Mount, role: Role::Bottom };

/// Everybody rolls 40 rounds with somebody from outside, as the first athlete of them. `passes` is
/// how often the passer passes, per minute on top of a guard.
fn ledgers(passes: f64) -> Vec<Ledger> {
    let mut draws = Draws::from_seed(77);
    let ways = |who: usize| match who {
        3 => Ways { escape_mount: 0.07, ..PLAIN },
        5 => Ways { pass: passes, ..PLAIN },
        _ => PLAIN,
    };
    (0..PEOPLE * 40).map(|at| round(ways(at % PEOPLE), 300.0, &mut draws)).collect()
}

fn rounds(ledgers: &[Ledger]) -> Vec<KnownRound<'_>> {
    let of = |(at, ledger)| {
        let at: usize = at;
        let partner = AthleteId(100 + (at % 7) as i64);
        KnownRound {
            date: date(2026, 1, 5) + ((at / PEOPLE * 2) as i64).days(),
            kind: if (at / PEOPLE).is_multiple_of(4) { RoundKind::Hard } else { RoundKind::Flow },
            gi: (at / PEOPLE).is_multiple_of(2),
            athletes: [AthleteId((at % PEOPLE) as i64), partner],
            ..rolled(ledger)
        }
    };
    ledgers.iter().enumerate().map(of).collect()
}

fn belts() -> BTreeMap<AthleteId, Belt> {
    (0..PEOPLE as i64).map(|who| (AthleteId(who), Belt::Blue)).collect()
}

#[test]
fn the_planted_leak_is_said_on_the_students_page_with_moments_that_show_it() {
    let ledgers = ledgers(PLAIN.pass);
    let rounds = rounds(&ledgers);
    let academy = AcademyFigures::new(&rounds, belts());
    let student = academy.student(&rounds, LEAKY, Some(date(2026, 2, 16))).unwrap();
    assert_eq!((student.rounds, student.towards), (40, Towards::Belt));
    assert!((student.rolled.all / 60.0 - 200.0).abs() < 40.0, "{}", student.rolled.all);
    let escape = Doing { place: UNDER_MOUNT, kind: EventKind::Escape, own: true };
    let first = &student.train_next[0];
    assert_eq!(first.change.doing, escape);
    assert!(first.change.best > 0.5 && student.train_next.len() <= 3);
    // Longest first, and each of them really under mount.
    assert!(first.stays.len() > 10);
    let length = |at: usize| {
        let stay = first.stays[at];
        assert_eq!(rounds[stay.round].athletes[0], LEAKY);
        let mut spells = rounds[stay.round].ledger.spells().iter();
        let spell = spells.find(|one| one.span.start().seconds() == stay.time).unwrap();
        assert_eq!(spell.position, Position::Mount);
        spell.span.seconds()
    };
    assert!((1..5).all(|at| length(at - 1) >= length(at)));
    // Where it worked comes first, from a little before; then where it could have.
    let watched: Vec<_> = first.to_watch().collect();
    assert_eq!(watched.len(), first.seen.len() + first.stays.len());
    let lead_in = first.seen.iter().zip(&watched).map(|(one, from)| one.time - from.time);
    assert!(lead_in.into_iter().all(|before| (0.0..=4.0).contains(&before)));
    assert!(student.leaks.iter().any(|leak| leak.habit.doing == escape));
    let mount = student.getting_out.iter().find(|out| out.own.position == Position::Mount).unwrap();
    let beside = mount.beside.unwrap();
    assert!(beside.comparison.excess < 0.0 && beside.adjusted < 0.05);
    assert!(beside.adjusted >= beside.comparison.p_value);
    // Their habits are the same all along.
    let changed = student.changed.unwrap();
    assert_eq!(changed.rounds, [21, 19]);
    assert!(changed.what.habits.iter().all(|one| one.adjusted > 0.05));
}

#[test]
fn the_group_is_told_who_differs_and_what_would_help() {
    let ledgers = ledgers(2.2);
    let rounds = rounds(&ledgers);
    let academy = AcademyFigures::new(&rounds, belts());
    let people: Vec<AthleteId> = (0..PEOPLE as i64).map(AthleteId).collect();
    let group = academy.group(&people).unwrap();
    assert_eq!((group.members.as_slice(), group.rounds), (people.as_slice(), PEOPLE * 40));
    let shares: f64 = group.time.iter().map(|(_, share)| share.value).sum();
    assert!((shares - 1.0).abs() < 1e-9);
    let differs = group.differs.first().unwrap();
    assert_eq!((differs.who, differs.better), (PASSER, true));
    assert_eq!((differs.habit.doing.kind, differs.habit.doing.own), (EventKind::Pass, true));
    assert!(differs.ratio.ratio > 1.5 && differs.adjusted <= 0.1);
    // All the others are alike, and one who has no time under mount to speak of cannot be told.
    let named = |who| group.differs.iter().any(|differs| differs.who == who);
    assert!(group.members.iter().all(|who| !named(*who) || [LEAKY, PASSER].contains(who)));
    assert!(group.needs.iter().any(|need| need.best_for.contains(&LEAKY)));
    assert!(group.needs.windows(2).all(|pair| pair[0].gain >= pair[1].gain));
    // Nobody is counted among those it would help who has hardly rolled.
    let few = AcademyFigures::new(&rounds[..PEOPLE * 2], belts()).group(&people).unwrap();
    assert!(few.needs.is_empty() && few.rounds == PEOPLE * 2);
    // People without rounds, and people named twice, change nothing.
    let twice: Vec<AthleteId> =
        people.iter().chain(&people).copied().chain([AthleteId(999)]).collect();
    assert_eq!(academy.group(&twice).unwrap().rounds, group.rounds);
    assert!(academy.group(&[AthleteId(999)]).is_none());
    assert!(academy.student(&rounds, AthleteId(999), None).is_none());
}

#[test]
fn only_the_selected_rounds_count() {
    let ledgers = ledgers(PLAIN.pass);
    let rounds = rounds(&ledgers);
    let hard = Selection { kinds: vec![RoundKind::Hard], ..Selection::default() };
    let picked = hard.of(&rounds);
    assert_eq!(picked.len(), PEOPLE * 10);
    assert!(picked.iter().all(|round| round.kind == RoundKind::Hard));
    let academy = AcademyFigures::new(&picked, belts());
    assert_eq!(academy.student(&picked, LEAKY, None).unwrap().rounds, 10);
    let no_gi = Selection { gi: Some(false), ..Selection::default() };
    assert_eq!(no_gi.of(&rounds).len(), PEOPLE * 20);
    let (since, until) = (Some(date(2026, 1, 7)), Some(date(2026, 1, 9)));
    let days = Selection { since, until, ..Selection::default() };
    assert_eq!(days.of(&rounds).len(), PEOPLE * 2);
    assert_eq!(Selection::default().of(&rounds).len(), rounds.len());
}

#[test]
fn a_single_round_is_enough_for_a_page_and_too_little_to_say_what_to_train() {
    let ledger = bit_of_everything();
    let rounds = [rolled(&ledger)];
    let academy = AcademyFigures::new(&rounds, BTreeMap::new());
    for who in rounds[0].athletes {
        let student = academy.student(&rounds, who, None).unwrap();
        assert_eq!((student.rounds, student.towards), (1, Towards::Academy));
        assert!((student.rolled.confirmed() - 1.0).abs() < 1e-12);
        assert!(student.train_next.is_empty() && student.changed.is_none());
        assert!(
            student
                .getting_out
                .iter()
                .all(|out| out.beside.is_none() || out.beside.unwrap().adjusted > 0.05)
        );
        assert!(student.surest.is_empty() && student.leaks.is_empty());
        assert_eq!(student.weeks.weeks.len(), 1);
    }
    assert!(academy.layers(UNDER_MOUNT).is_empty());
}
