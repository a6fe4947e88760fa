//! Habits, flows, worth, teaching and changes over time against small ledgers added up by hand.

use academy::{Athlete, Belt, Event, EventKind, Ledger, Position};
use figures::figure::Tally;
use figures::flows::flows;
use figures::habits::{GroupHabits, Towards, habits, how_attempts_end, leaks, surest_ways};
use figures::layers::layers;
use figures::moments::moments;
use figures::over_time::{by_week, changed_since, habit_trend, monday};
use figures::round::changes_per_minute;
use figures::tallies::{Attempts, Doing, Tallies, tallies};
use figures::taught::used;
use figures::train_next::{Targets, train_next};
use figures::worth::worth;
use figures::{KnownRound, Place, Role};
use jiff::civil::date;

use crate::made_rounds::{ANE, BO, bit_of_everything, ledger, rolled, rolled_on};

fn near(one: f64, other: f64) {
    assert!((one - other).abs() < 1e-9, "{one} is not {other}");
}

fn at(position: Position, role: Role) -> Place {
    Place { position, role }
}

fn doing(position: Position, role: Role, kind: EventKind, own: bool) -> Doing {
    Doing { place: at(position, role), kind, own }
}

fn of(ledger: &Ledger) -> [Tallies; 2] {
    let mut all = tallies(&[rolled(ledger)]);
    [ANE, BO].map(|who| all.remove(&who).expect("made to be there"))
}

#[test]
fn habits_count_moves_by_the_spells_and_submissions_by_the_moments() {
    let told = bit_of_everything();
    let [ane, bo] = of(&told);
    let none = GroupHabits::default();
    let seen = habits(&ane, &none, &none);
    let value = |doing| seen.iter().find(|habit| habit.doing == doing).map(|one| one.seen.value);
    // One in 30 seconds each: passed the closed guard, was escaped from, was swept.
    let top = Role::Top;
    near(value(doing(Position::ClosedGuard, top, EventKind::Pass, true)).unwrap(), 2.0);
    near(value(doing(Position::SideControl, top, EventKind::Escape, false)).unwrap(), 2.0);
    near(value(doing(Position::OpenGuard, top, EventKind::Sweep, false)).unwrap(), 2.0);
    // One tap in 20 seconds of mount; one takedown in 30 seconds of standing.
    near(value(doing(Position::Mount, Role::Bottom, EventKind::Tap, true)).unwrap(), 3.0);
    near(value(doing(Position::Standing, Role::Neither, EventKind::Takedown, true)).unwrap(), 2.0);
    assert_eq!(seen.iter().find(|habit| habit.pooled.is_some()), None);
    near(bo.count(doing(Position::OpenGuard, Role::Bottom, EventKind::Sweep, true)), 1.0);
}

#[test]
fn attempts_end_finished_let_go_or_escaped() {
    let told = bit_of_everything();
    let [ane, bo] = of(&told);
    let none = GroupHabits::default();
    let ane = how_attempts_end(&ane, &none, &none).unwrap();
    near(ane.attempts.released.all, 1.0);
    near(ane.caught.value, 1.0);
    let bo = how_attempts_end(&bo, &none, &none).unwrap();
    near(bo.attempts.finished.all, 1.0);
    let spells = [(200.0, Position::Mount, Some(Athlete::First))];
    let (try_, out) = (EventKind::SubmissionAttempt, EventKind::SubmissionEscape);
    let told = ledger(
        &spells,
        &[
            (10.0, try_, Some(Athlete::First)),
            (15.0, out, Some(Athlete::Second)),
            (20.0, try_, Some(Athlete::First)),
            (30.0, try_, Some(Athlete::First)),
            // Nearly three minutes later: of another attempt that nobody told of.
            (195.0, EventKind::Tap, Some(Athlete::Second)),
        ],
    );
    let ended = how_attempts_end(&of(&told)[0], &none, &none).unwrap();
    near(ended.attempts.escaped.all, 1.0);
    near(ended.attempts.open.all, 2.0);
    near(ended.caught.value, 0.0);
    near(ended.caught.count, 1.0);
}

/// A round of so many seconds under side control, so many of which end in an escape to a guard.
fn escaping(escapes: usize, seconds: f64) -> Ledger {
    let each = seconds / (escapes as f64 + 1.0);
    let mut spells = Vec::new();
    for _ in 0..escapes {
        spells.push((each, Position::SideControl, Some(Athlete::Second)));
        spells.push((10.0, Position::OpenGuard, Some(Athlete::Second)));
    }
    spells.push((each, Position::SideControl, Some(Athlete::Second)));
    ledger(&spells, &[])
}

#[test]
fn small_samples_are_drawn_towards_the_belt_and_say_so() {
    let many: Vec<Tallies> = [2, 8, 4, 12, 6, 10, 7, 5]
        .iter()
        .map(|one| of(&escaping(*one, 480.0))[0].clone())
        .collect();
    let belt = GroupHabits::of(&many.iter().collect::<Vec<_>>());
    let none = GroupHabits::default();
    let escape = doing(Position::SideControl, Role::Bottom, EventKind::Escape, true);
    let few = &of(&escaping(3, 60.0))[0];
    let find = |own: &Tallies, belt: &GroupHabits, academy: &GroupHabits| {
        let all = habits(own, belt, academy);
        all.into_iter().find(|habit| habit.doing == escape).unwrap()
    };
    let habit = find(few, &belt, &none);
    let pooled = habit.pooled.unwrap();
    // 3 in a minute against a belt of about 54 in 64 minutes.
    near(habit.seen.value, 3.0);
    assert!(pooled.group < pooled.value && pooled.value < habit.seen.value);
    assert!(pooled.interval.low() < pooled.value && pooled.value < pooled.interval.high());
    assert_eq!(pooled.towards, Towards::Belt);
    let mixed = pooled.own_weight * 3.0 + (1.0 - pooled.own_weight) * pooled.group;
    // Only nearly: the doubt about the spread goes along with the doubt about the mean.
    assert!((pooled.value - mixed).abs() < 0.05);
    // Too few of the belt: towards the academy.
    let thin = GroupHabits::of(&many.iter().take(2).collect::<Vec<_>>());
    assert_eq!(find(few, &thin, &belt).pooled.unwrap().towards, Towards::Academy);
    // With far more than the belt over a long time it is a surest way; with none it is a leak.
    let quick = habits(&of(&escaping(30, 480.0))[0], &belt, &none);
    assert_eq!(surest_ways(&quick)[0].habit.doing, escape);
    assert!(surest_ways(&quick)[0].chance > 0.95);
    assert!(leaks(&quick).iter().all(|leak| leak.habit.doing != escape));
    let stuck = habits(&of(&escaping(0, 900.0))[0], &belt, &none);
    assert_eq!(leaks(&stuck)[0].habit.doing, escape);
}

#[test]
fn layers_read_a_place_belt_by_belt() {
    let of_belt = |belt: Belt, escapes: [usize; 5]| {
        escapes.map(|escapes| (belt, of(&escaping(escapes, 120.0))[0].clone()))
    };
    let mut members = of_belt(Belt::Blue, [4, 6, 5, 4, 6]).to_vec();
    members.extend(of_belt(Belt::White, [1, 2, 3, 1, 3]));
    // Four brown belts are too few to read.
    members.extend(of_belt(Belt::Brown, [9; 5]).into_iter().take(4));
    let members: Vec<(Belt, &Tallies)> = members.iter().map(|(belt, own)| (*belt, own)).collect();
    let read = layers(&members, at(Position::SideControl, Role::Bottom));
    assert_eq!(read.iter().map(|one| one.belt).collect::<Vec<_>>(), [Belt::White, Belt::Blue]);
    // White: 10 escapes in 5 times 2 minutes; in guard another 10 times 10 seconds.
    let escape = read[0].habits.iter().find(|habit| habit.doing.own).unwrap().rate;
    near(escape.value, 1.0);
    near(escape.count, 10.0);
    near(read[0].share.value, 600.0 / 700.0);
    // Residuals -1, 0, 1, -1, 1: se = sqrt(5 / 4 * 4) / 10; Student's t with 4 degrees is 2.7764.
    assert!((escape.interval.high() - (1.0 + 2.776_445 * 5.0_f64.sqrt() / 10.0)).abs() < 1e-5);
    near(read[1].habits.iter().find(|habit| habit.doing.own).unwrap().rate.value, 2.5);
}

#[test]
fn flows_share_what_leaves_a_place() {
    let told = ledger(
        &[
            (10.0, Position::OpenGuard, Some(Athlete::First)),
            (10.0, Position::SideControl, Some(Athlete::First)),
            (10.0, Position::OpenGuard, Some(Athlete::First)),
            (10.0, Position::SideControl, Some(Athlete::First)),
            (10.0, Position::OpenGuard, Some(Athlete::First)),
            (10.0, Position::OpenGuard, Some(Athlete::Second)),
        ],
        &[],
    );
    let flows = flows(&of(&told)[0]);
    let (guard, pin) = (at(Position::OpenGuard, Role::Top), at(Position::SideControl, Role::Top));
    let pass = flows.iter().find(|flow| (flow.from, flow.to) == (guard, pin)).unwrap();
    near(pass.count, 2.0);
    near(pass.share.value, 2.0 / 3.0);
    near(pass.share.count, 3.0);
    assert_eq!(flows.len(), 3);
}

#[test]
fn a_place_is_worth_what_comes_of_it() {
    // A minute of mount and a tap at its end: the rate of taps is gamma with shape 1 in one minute,
    // the round lasts a minute. From mount r / (r + 1) submissions are to come, and nothing more
    // is known to come from standing; the median of r is ln 2, so the middle is ln 2 / (ln 2 + 1).
    let told = ledger(
        &[(60.0, Position::Mount, Some(Athlete::First))],
        &[(60.0, EventKind::Tap, Some(Athlete::Second))],
    );
    let [ane, bo] = of(&told);
    let nobody = Tallies::default();
    let values = worth(&ane, &nobody, 4000, 1);
    assert_eq!(values.len(), 1);
    let ln2 = std::f64::consts::LN_2;
    assert!((values[0].value - ln2 / (ln2 + 1.0)).abs() < 0.02);
    // What it is worth to one is what it costs the other: the same draws with the other sign.
    let across = worth(&bo, &nobody, 4000, 1);
    near(across[0].value, -values[0].value);
    assert_eq!(across[0].place, values[0].place.across());
    assert!(worth(&nobody, &nobody, 10, 1).is_empty());
}

fn with_technique(told: &Ledger, technique: &str) -> Ledger {
    let named = |event: &Event| Event { technique: Some(technique.to_owned()), ..event.clone() };
    Ledger::new(told.spells().to_vec(), told.events().iter().map(named).collect())
        .expect("made to be there")
}

#[test]
fn a_taught_technique_is_counted_before_and_since() {
    // FACTS E5: 9 in 40 minutes against 2 in 30 minutes: ratio 3.375, limits 0.698559 to 32.0998.
    let tries = |count: usize, minutes: f64| {
        let spells = [(minutes * 60.0, Position::Mount, Some(Athlete::First))];
        let event =
            |at: usize| (at as f64 + 1.0, EventKind::SubmissionAttempt, Some(Athlete::First));
        let told = ledger(&spells, &(0..count).map(event).collect::<Vec<_>>());
        with_technique(&told, "Armbar")
    };
    let (before, since) = (tries(2, 30.0), tries(9, 40.0));
    let day = date(2026, 5, 4);
    let rounds = [rolled_on(date(2026, 5, 3), &before), rolled_on(day, &since)];
    let use_ = used(&rounds, "armbar", day, |who| who == ANE);
    let ratio = use_.ratio.unwrap();
    near(ratio.ratio, 3.375);
    assert!((ratio.interval.low() - 0.698_559).abs() < 1e-5);
    assert!((ratio.interval.high() - 32.099_8).abs() < 1e-3);
    assert_eq!(use_.people, 1);
    assert!(!use_.never_appeared());
    let other = used(&rounds, "kimura", day, |_| true);
    assert!(other.ratio.is_none() && other.never_appeared());
    assert_eq!(other.people, 2);
    assert!(used(&rounds, "armbar", day, |_| false).since.is_none());
}

#[test]
fn weeks_begin_on_monday_and_hold_their_rounds() {
    assert_eq!(monday(date(2026, 5, 10)), date(2026, 5, 4));
    assert_eq!(monday(date(2026, 5, 4)), date(2026, 5, 4));
    let told = bit_of_everything();
    let days = [date(2026, 5, 17), date(2026, 5, 4), date(2026, 5, 10)];
    let rounds = days.map(|day| rolled_on(day, &told));
    let weeks = by_week(&rounds, ANE, changes_per_minute);
    let mondays: Vec<_> = weeks.iter().map(|week| (week.monday, week.rounds)).collect();
    assert_eq!(mondays, [(date(2026, 5, 4), 2), (date(2026, 5, 11), 1)]);
    near(weeks[0].figure.unwrap().count, 8.0);
    // As often as before in every week: no trend.
    let pass = doing(Position::ClosedGuard, Role::Top, EventKind::Pass, true);
    near(habit_trend(&rounds, ANE, pass).unwrap().factor.value, 1.0);
}

#[test]
fn what_changed_is_more_than_chance_only_where_it_is() {
    let (slow, quick) = (escaping(6, 300.0), escaping(30, 300.0));
    let day = date(2026, 5, 4);
    let rounds: [KnownRound<'_>; 2] =
        [rolled_on(date(2026, 5, 1), &slow), rolled_on(date(2026, 5, 6), &quick)];
    let everything = changed_since(&rounds, ANE, day);
    let changed = &everything.habits;
    let escape = doing(Position::SideControl, Role::Bottom, EventKind::Escape, true);
    assert_eq!(changed[0].doing, escape);
    assert_eq!(changed[0].better, Some(true));
    assert!(changed[0].adjusted < 0.01);
    assert!(changed.iter().all(|one| one.adjusted >= one.ratio.p_value - 1e-12));
    // Sooner out of side control as well, and the only bad position there is.
    assert_eq!(everything.getting_out.len(), 1);
    assert!(everything.getting_out[0].comparison.excess > 0.0);
    // Bo sees the same as something done to him, and for the worse.
    let across = changed_since(&rounds, BO, day).habits;
    assert_eq!(across[0].better, Some(false));
    near(across[0].ratio.ratio, changed[0].ratio.ratio);
}

#[test]
fn the_moments_of_a_habit_can_be_found_again() {
    let told = bit_of_everything();
    let rounds = [rolled_on(date(2026, 5, 1), &told), rolled_on(date(2026, 5, 6), &told)];
    let swept = doing(Position::OpenGuard, Role::Top, EventKind::Sweep, false);
    let found = moments(&rounds, ANE, swept);
    // The later round first.
    assert_eq!(found.iter().map(|one| one.round).collect::<Vec<_>>(), [1, 0]);
    near(found[0].time, 100.0);
    let tap = doing(Position::Mount, Role::Bottom, EventKind::Tap, true);
    near(moments(&rounds, ANE, tap)[0].time, 120.0);
}

#[test]
fn a_submission_ends_once_however_often_it_is_said() {
    use EventKind::{Release, SubmissionAttempt, SubmissionEscape, Tap};
    let (ane, bo) = (Some(Athlete::First), Some(Athlete::Second));
    let place = Place { position: Position::SideControl, role: Role::Bottom };
    let here = |kind, own| Doing { place, kind, own };
    let count = |events: &[(f64, EventKind, Option<Athlete>)]| {
        let told = ledger(&[(120.0, Position::SideControl, bo)], events);
        let all = tallies(&[rolled(&told)]).remove(&ANE).unwrap();
        [here(SubmissionEscape, true), here(Release, false), here(Tap, true)]
            .map(|doing| all.count(doing))
    };
    // Out of it, and then "lets it go": twice, for one armbar.
    let once = [
        (10.0, SubmissionAttempt, bo),
        (17.0, SubmissionEscape, ane),
        (18.0, Release, bo),
        (29.0, Release, bo),
    ];
    assert_eq!(count(&once), [1.0, 0.0, 0.0]);
    // A new attempt can end again, and so can one long after; a tap is always a tap.
    let again = [
        (10.0, SubmissionAttempt, bo),
        (17.0, SubmissionEscape, ane),
        (18.0, SubmissionAttempt, bo),
        (20.0, Release, bo),
        (22.0, Tap, ane),
        (60.0, Release, bo),
    ];
    assert_eq!(count(&again), [1.0, 2.0, 1.0]);
}

#[test]
fn moments_of_being_caught_are_taps_and_what_was_let_go() {
    use EventKind::{Release, SubmissionAttempt, Tap};
    let (ane, bo) = (Some(Athlete::First), Some(Athlete::Second));
    let told = ledger(
        &[(120.0, Position::Mount, bo)],
        &[
            (10.0, SubmissionAttempt, bo),
            (20.0, Release, bo),
            (50.0, SubmissionAttempt, bo),
            (60.0, Tap, ane),
            (90.0, SubmissionAttempt, ane),
            (95.0, Release, ane),
        ],
    );
    let rounds = [rolled(&told)];
    let place = Place { position: Position::Mount, role: Role::Bottom };
    let caught = Doing { place, kind: Tap, own: true };
    let mut times: Vec<f64> = moments(&rounds, ANE, caught).iter().map(|one| one.time).collect();
    times.sort_by(f64::total_cmp);
    assert_eq!(times, [20.0, 60.0]);
    let catches = Doing { place, kind: Tap, own: false };
    assert_eq!(moments(&rounds, ANE, catches).len(), 1);
}

#[test]
fn to_finish_more_is_suggested_only_to_those_who_try() {
    let place = Place { position: Position::Mount, role: Role::Top };
    let catches = Doing { place, kind: EventKind::Tap, own: false };
    let member = |finished: f64, escaped: f64| {
        let sum = |all| Tally { all, told: all };
        let mut one = Tallies { rounds: 10, ..Tallies::default() };
        one.seconds = [(place, sum(600.0))].into();
        one.starts = [(place, 10.0)].into();
        one.done = [(catches, sum(finished))].into();
        let attempts =
            Attempts { finished: sum(finished), escaped: sum(escaped), ..Attempts::default() };
        one.attempts = [(place, attempts)].into();
        one
    };
    let belt: Vec<Tallies> =
        [(6.0, 4.0), (8.0, 2.0), (5.0, 5.0), (7.0, 3.0), (9.0, 1.0), (3.0, 7.0)]
            .map(|(finished, escaped)| member(finished, escaped))
            .into();
    let mut together = Tallies::default();
    belt.iter().for_each(|one| together.merge(one));
    let targets = Targets::of(&belt.iter().collect::<Vec<_>>());
    let found = |own: &Tallies| {
        let changes = train_next(own, &together, &targets, 100, 5);
        changes.into_iter().find(|change| change.doing == catches)
    };
    let change = found(&member(3.0, 7.0)).unwrap();
    // Ten attempts in ten minutes, and the better quarter of the belt finishes some seven of ten.
    assert!((0.6..0.9).contains(&change.target), "{}", change.target);
    assert!(change.gain > 0.0 && change.now < change.target);
    assert!(found(&member(1.0, 1.0)).is_none());
}
