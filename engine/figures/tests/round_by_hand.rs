//! A round's figures against the same round added up by hand.

use academy::{Athlete, EventKind, Ledger, Position, RoundKind};
use figures::meant::{KindNorms, Measure, Reading, UNLIKE, meant};
use figures::place::{Move, move_of};
use figures::round::{
    changes_per_minute, done_per_minute, done_per_minute_in, give_and_take, happened_per_minute,
    holds, pinned_share, time_shares,
};
use figures::stretch::Lived;
use figures::{KnownRound, Place, Role};

use crate::made_rounds::{bit_of_everything, guessed, ledger, rolled};

fn near(one: f64, other: f64) {
    assert!((one - other).abs() < 1e-9, "{one} is not {other}");
}

fn at(position: Position, role: Role) -> Place {
    Place { position, role }
}

#[test]
fn the_round_adds_up_as_by_hand() {
    let told = bit_of_everything();
    let lived = [Lived::new(&rolled(&told), Athlete::First)];
    // 150 seconds less the pause of 10.
    near(lived[0].rolling(), 140.0);
    let shares = time_shares(&lived);
    let share = |place| shares.iter().find(|share| share.place == place).unwrap().figure;
    // Standing 10 + 20 of 140, in two stretches.
    let standing = share(at(Position::Standing, Role::Neither));
    near(standing.value, 30.0 / 140.0);
    near(standing.count, 2.0);
    near(standing.confirmed, 1.0);
    // Told by hand: this is what happened, without a doubt.
    near(standing.interval.low(), standing.value);
    near(standing.interval.high(), standing.value);
    near(share(at(Position::Mount, Role::Bottom)).value, 20.0 / 140.0);
    // At 10, 40, 70 and 100; not into and out of the pause.
    let changes = changes_per_minute(&lived).unwrap();
    near(changes.count, 4.0);
    near(changes.value, 4.0 / (140.0 / 60.0));
    // Ane 30 + 30 + 30 seconds on top, Bo 20: 1 - 70 / 110.
    let shared = give_and_take(&lived).unwrap();
    near(shared.value, 1.0 - 70.0 / 110.0);
    near(shared.count, 4.0);
    // Side control 30 and mount 20 of 140.
    near(pinned_share(&lived).unwrap().value, 50.0 / 140.0);
}

#[test]
fn what_was_done_is_told_per_minute_and_per_minute_in_the_place() {
    let told = bit_of_everything();
    let lived = [Lived::new(&rolled(&told), Athlete::First)];
    let minutes = 140.0 / 60.0;
    near(done_per_minute(&lived, EventKind::SubmissionAttempt, true).unwrap().value, 1.0 / minutes);
    near(happened_per_minute(&lived, EventKind::SubmissionAttempt).unwrap().value, 2.0 / minutes);
    near(done_per_minute(&lived, EventKind::Tap, true).unwrap().value, 1.0 / minutes);
    near(done_per_minute(&lived, EventKind::Tap, false).unwrap().value, 0.0);
    let in_places = done_per_minute_in(&lived, EventKind::SubmissionAttempt, true);
    let place = at(Position::SideControl, Role::Top);
    let pins = in_places.iter().find(|of| of.place == place).unwrap().figure;
    // One in half a minute. FACTS E4: a count of 1 goes from 0.0253 to 5.5716.
    near(pins.value, 2.0);
    assert!((pins.interval.low() - 2.0 * 0.0253).abs() < 1e-4);
    assert!((pins.interval.high() - 2.0 * 5.5716).abs() < 1e-4);
    // The tap at 120 belongs to the mount that it ended, not to the pause.
    let taps = done_per_minute_in(&lived, EventKind::Tap, true);
    let mount = taps.iter().find(|of| of.place == at(Position::Mount, Role::Bottom)).unwrap();
    near(mount.figure.value, 3.0);
}

#[test]
fn an_attempt_on_a_border_belongs_to_what_it_begins_in() {
    use Athlete::{First, Second};
    let told = ledger(
        &[
            (20.0, Position::OpenGuard, Some(First)),
            (30.0, Position::Mount, Some(First)),
            (10.0, Position::Reset, None),
        ],
        &[
            (20.0, EventKind::SubmissionAttempt, Some(First)),
            (50.0, EventKind::SubmissionAttempt, Some(First)),
            (50.0, EventKind::Tap, Some(Second)),
        ],
    );
    let lived = Lived::new(&rolled(&told), First);
    let mount = Some(at(Position::Mount, Role::Top));
    assert!(lived.happenings.iter().all(|happening| happening.place == mount));
}

#[test]
fn holds_have_a_middle_a_longest_and_a_count() {
    use Athlete::{First, Second};
    use Position::{Mount, SideControl};
    let told = ledger(
        &[
            (4.0, SideControl, Some(First)),
            (9.0, Mount, Some(First)),
            (30.0, SideControl, Some(First)),
            (5.0, Mount, Some(Second)),
            (12.0, SideControl, Some(First)),
        ],
        &[],
    );
    let holds = holds(&[Lived::new(&rolled(&told), First)]);
    let sides = holds.iter().find(|hold| hold.place == at(SideControl, Role::Top)).unwrap();
    // 4, 12 and 30; the last one was cut by the clock at 12.
    near(sides.median.value, 12.0);
    near(sides.median.count, 3.0);
    near(sides.longest, 30.0);
    near(sides.cut, 1.0);
    // Three say nothing about their median but that it may be any of them.
    near(sides.median.interval.low(), 4.0);
    near(sides.median.interval.high(), 30.0);
}

#[test]
fn doubt_widens_a_share_and_leaves_rates_as_they_are() {
    let told = bit_of_everything();
    let guess = guessed(&told, 0.5);
    let (sure, unsure) = (rolled(&told), rolled(&guess));
    let (sure, unsure) =
        ([Lived::new(&sure, Athlete::First)], [Lived::new(&unsure, Athlete::First)]);
    let (rate, guessed_rate) =
        (changes_per_minute(&sure).unwrap(), changes_per_minute(&unsure).unwrap());
    near(rate.value, guessed_rate.value);
    near(guessed_rate.count, 2.0);
    near(guessed_rate.confirmed, 0.0);
    let (share, guessed_share) = (time_shares(&sure)[0].figure, time_shares(&unsure)[0].figure);
    near(share.value, guessed_share.value);
    assert!(guessed_share.interval.low() < share.value - 0.1);
}

#[test]
fn a_confirmed_round_is_confirmed_whatever_its_spells_say() {
    let told = bit_of_everything();
    let guess = guessed(&told, 0.5);
    let round = KnownRound { confirmed: true, ..rolled(&guess) };
    let lived = [Lived::new(&round, Athlete::First)];
    near(changes_per_minute(&lived).unwrap().confirmed, 1.0);
}

#[test]
fn blank_time_counts_nowhere_and_nothing_is_followed_across_it() {
    let told = bit_of_everything();
    let mut spells = told.spells().to_vec();
    // Nobody knows what was between 40 and 70.
    spells[2].confidence = 0.0;
    spells[2].source = academy::Source::Talk;
    let told = academy::Ledger::new(spells, told.events().to_vec()).unwrap();
    let lived = [Lived::new(&rolled(&told), Athlete::First)];
    near(lived[0].rolling(), 110.0);
    // Left: at 10 and at 100.
    near(changes_per_minute(&lived).unwrap().count, 2.0);
    let nothing = ledger(&[(60.0, Position::Standing, None)], &[]);
    let nothing = guessed(&nothing, 0.0);
    let lived = [Lived::new(&rolled(&nothing), Athlete::First)];
    assert!(time_shares(&lived).is_empty());
    assert!(changes_per_minute(&lived).is_none());
    assert!(give_and_take(&lived).is_none());
}

#[test]
fn changes_have_the_names_that_the_trade_gives_them() {
    use Position::*;
    use Role::{Bottom, Neither, Top};
    let named = |from: (Position, Role), to: (Position, Role)| {
        let Move { kind, own } = move_of(at(from.0, from.1), at(to.0, to.1)).unwrap();
        (kind, own)
    };
    // From FACTS A5 and the counting rules of FACTS B.
    assert_eq!(named((Standing, Neither), (SideControl, Top)), (EventKind::Takedown, true));
    assert_eq!(named((Standing, Neither), (Mount, Bottom)), (EventKind::Takedown, false));
    assert_eq!(named((OpenGuard, Top), (SideControl, Top)), (EventKind::Pass, true));
    assert_eq!(named((ClosedGuard, Bottom), (ClosedGuard, Top)), (EventKind::Sweep, true));
    assert_eq!(named((HalfGuard, Top), (SideControl, Bottom)), (EventKind::Sweep, false));
    assert_eq!(named((Mount, Bottom), (ClosedGuard, Top)), (EventKind::Reversal, true));
    assert_eq!(named((SideControl, Bottom), (HalfGuard, Bottom)), (EventKind::Escape, true));
    assert_eq!(named((SideControl, Bottom), (Standing, Neither)), (EventKind::Escape, true));
    assert_eq!(named((SideControl, Bottom), (Turtle, Bottom)), (EventKind::Escape, true));
    assert_eq!(named((HalfGuard, Bottom), (ClosedGuard, Bottom)), (EventKind::Escape, true));
    assert_eq!(named((ClosedGuard, Bottom), (OpenGuard, Bottom)), (EventKind::Advance, false));
    assert_eq!(named((OpenGuard, Bottom), (LegEntanglement, Top)), (EventKind::Advance, true));
    assert_eq!(named((LegEntanglement, Bottom), (SideControl, Top)), (EventKind::Reversal, true));
    assert_eq!(named((Standing, Neither), (BackControl, Top)), (EventKind::BackTake, true));
    assert_eq!(named((Turtle, Top), (BackControl, Top)), (EventKind::BackTake, true));
    assert_eq!(named((OpenGuard, Bottom), (BackControl, Top)), (EventKind::BackTake, true));
    assert_eq!(named((Mount, Top), (KneeOnBelly, Top)), (EventKind::Advance, true));
    assert_eq!(move_of(at(Mount, Top), at(Reset, Neither)), None);
}

#[test]
fn a_pull_that_was_told_is_no_takedown() {
    use Athlete::{First, Second};
    let spells = [(10.0, Position::Standing, None), (30.0, Position::OpenGuard, Some(First))];
    let pulled = ledger(&spells, &[(11.0, EventKind::GuardPull, Some(Second))]);
    let lived = Lived::new(&rolled(&pulled), Second);
    let change = lived.changes().next().unwrap();
    assert_eq!(change.what, Some(Move { kind: EventKind::GuardPull, own: true }));
    let thrown = ledger(&spells, &[]);
    let lived = Lived::new(&rolled(&thrown), Second);
    let change = lived.changes().next().unwrap();
    assert_eq!(change.what, Some(Move { kind: EventKind::Takedown, own: false }));
}

#[test]
fn who_did_it_follows_from_the_places_where_nobody_is_named() {
    use Athlete::{First, Second};
    let spells = [(20.0, Position::OpenGuard, Some(First)), (30.0, Position::Mount, Some(Second))];
    // Told a second late, when the one who swept is on top already.
    let told = ledger(&spells, &[(21.0, EventKind::Sweep, None), (40.0, EventKind::Tap, None)]);
    let lived = Lived::new(&rolled(&told), Second);
    assert_eq!(lived.happenings[0].own, Some(true));
    assert_eq!(lived.happenings[1].own, None);
}

#[test]
fn a_round_is_compared_with_its_own_kind_only() {
    use Athlete::First;
    use Position::{ClosedGuard, SideControl};
    let pins = ledger(&[(20.0, ClosedGuard, Some(First)), (100.0, SideControl, Some(First))], &[]);
    let round = rolled(&pins);
    // A flow roll of which 100 of 120 seconds are pins.
    let alone = meant(&round, &KindNorms::of(&[]));
    assert_eq!(alone.reading, Reading::MostlyPins);
    assert!(alone.evidence.iter().all(|one| one.others.is_none()));
    let hard = KnownRound { kind: RoundKind::Hard, ..round };
    assert_eq!(meant(&hard, &KindNorms::of(&[])).reading, Reading::NothingToCompare);
    // Beside thirty hard rounds like "a bit of everything", with four changes each, it has few.
    let lively: Vec<_> = (0..30).map(|_| bit_of_everything()).collect();
    let academy: Vec<_> =
        lively.iter().map(|one| KnownRound { kind: RoundKind::Hard, ..rolled(one) }).collect();
    let beside = meant(&hard, &KindNorms::of(&academy));
    assert_eq!(beside.reading, Reading::Unlike);
    near(beside.chance.unwrap(), 1.0 / 31.0);
    let changes = beside.evidence.iter().find(|one| one.measure == Measure::Changes).unwrap();
    near(changes.value, 0.5);
    let others = changes.others.unwrap();
    assert_eq!(others.rounds, 30);
    near(others.quartiles[1], 4.0 / (140.0 / 60.0));
    near(others.below, 0.0);
    // The same whether or not it is among them.
    let among: Vec<_> = academy.iter().copied().chain([hard]).collect();
    let norms = KindNorms::of(&among);
    assert_eq!(norms.meant(30, &hard), beside);
    let one_of_them = norms.meant(0, &academy[0]);
    assert_eq!(one_of_them.reading, Reading::Alike);
    assert_eq!(one_of_them.evidence[0].others.unwrap().rounds, 30);
    // Beside eighteen it could be chance, but there is something to see; beside nineteen it is odd.
    let few = meant(&hard, &KindNorms::of(&academy[..18]));
    assert_eq!((few.reading, few.chance), (Reading::NothingToCompare, None));
    assert!(few.evidence[0].others.is_some());
    let enough = meant(&hard, &KindNorms::of(&academy[..19]));
    assert_eq!((enough.reading, enough.chance), (Reading::Unlike, Some(UNLIKE)));
    assert_eq!(meant(&round, &KindNorms::of(&academy)).reading, Reading::MostlyPins);
}

#[test]
fn a_flow_roll_that_one_had_all_to_themselves_is_asked_about() {
    use Athlete::{First, Second};
    let roll = |last| {
        ledger(&[(95.0, Position::OpenGuard, Some(First)), (5.0, Position::HalfGuard, last)], &[])
    };
    let (alone, shared) = (
        roll(Some(First)),
        ledger(
            &[(70.0, Position::OpenGuard, Some(First)), (30.0, Position::HalfGuard, Some(Second))],
            &[],
        ),
    );
    let read = |told: &Ledger, kind| {
        meant(&KnownRound { kind, ..rolled(told) }, &KindNorms::of(&[])).reading
    };
    assert_eq!(read(&alone, RoundKind::Flow), Reading::OneSided);
    assert_eq!(read(&roll(Some(Second)), RoundKind::Flow), Reading::OneSided);
    assert_eq!(read(&shared, RoundKind::Flow), Reading::NothingToCompare);
    // In a hard round that is nobody's business.
    assert_eq!(read(&alone, RoundKind::Hard), Reading::NothingToCompare);
}
