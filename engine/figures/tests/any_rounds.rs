//! Laws that hold for any rounds.

use academy::{Athlete, Event, EventKind, Ledger, Position, Source, Span, Spell, Time};
use figures::actions::{Action, Transitions};
use figures::balance::balances;
use figures::flows::flows;
use figures::getting_out::{Ending, compare, getting_out, stays};
use figures::habits::{GroupHabits, habits};
use figures::meant::{KindNorms, Measure};
use figures::over_time::changed_since;
use figures::round::{
    changes_per_minute, done_per_minute_in, give_and_take, happened_per_minute, holds,
    pinned_share, time_shares,
};
use figures::stretch::Lived;
use figures::tallies::{Tallies, tallies};
use figures::taught::{used, uses};
use figures::train_next::{Targets, train_next};
use figures::two_readings::two_readings;
use figures::worth::worth;
use figures::{AthleteId, KnownRound};
use jiff::civil::date;
use proptest::prelude::*;

use crate::made_rounds::{ANE, BO, rolled, rolled_on};

fn spells() -> impl Strategy<Value = Vec<Spell>> {
    let confidence = prop_oneof![Just(0.0), Just(1.0), 0.05..1.0];
    let spell = (1_u64..60_000, 0..Position::ALL.len(), any::<bool>(), confidence, any::<bool>());
    prop::collection::vec(spell, 1..25).prop_map(|drawn| {
        let mut end = 0;
        (drawn.into_iter())
            .map(|(millis, position, first, confidence, by_hand)| {
                let span = Span::between(Time::from_millis(end), Time::from_millis(end + millis));
                end += millis;
                let position = Position::ALL[position];
                let top = if first { Athlete::First } else { Athlete::Second };
                Spell {
                    span,
                    position,
                    top: position.has_top().then_some(top),
                    variant: None,
                    confidence: if by_hand { 1.0 } else { confidence },
                    source: if by_hand { Source::Hand } else { Source::Talk },
                }
            })
            .collect()
    })
}

pub(crate) fn any_ledger() -> impl Strategy<Value = Ledger> {
    let event = (0.0..1.0, 0..EventKind::ALL.len(), 0..3_usize, 0.0..1.0);
    (spells(), prop::collection::vec(event, 0..12)).prop_map(|(spells, drawn)| {
        let end = spells.last().map_or(0.0, |spell| spell.span.end().seconds());
        let events = drawn.into_iter().map(|(share, kind, actor, confidence)| Event {
            time: Time::from_millis((share * end * 1000.0) as u64),
            kind: EventKind::ALL[kind],
            actor: Athlete::BOTH.get(actor).copied(),
            technique: None,
            confidence,
            source: Source::Talk,
        });
        let events = events.collect();
        Ledger::new(spells, events).expect("a ledger made to be one")
    })
}

fn lived(ledger: &Ledger, seat: Athlete) -> [Lived<'_>; 1] {
    [Lived::new(&rolled(ledger), seat)]
}

/// All of a round's numbers in one list, for comparing.
fn numbers(lived: &[Lived<'_>]) -> Vec<f64> {
    let mut all = Vec::new();
    let mut push = |figure: figures::Figure| {
        let interval = figure.interval;
        all.extend([figure.value, figure.count, interval.low(), interval.high(), figure.confirmed]);
    };
    time_shares(lived).into_iter().for_each(|share| push(share.figure));
    for kind in EventKind::ALL {
        done_per_minute_in(lived, kind, true).into_iter().for_each(|of| push(of.figure));
    }
    let figures = [changes_per_minute(lived), give_and_take(lived), pinned_share(lived)];
    figures.into_iter().flatten().for_each(&mut push);
    for hold in holds(lived) {
        push(hold.median);
    }
    all
}

fn same(one: &[f64], other: &[f64]) -> bool {
    one.len() == other.len()
        && one.iter().zip(other).all(|(one, other)| {
            one == other || (one - other).abs() <= 1e-7 * (1.0 + one.abs().max(other.abs()))
        })
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(128))]

    #[test]
    fn whatever_was_rolled_gives_figures_that_are_numbers(
        ledgers in prop::collection::vec(any_ledger(), 1..8),
        confirmed in any::<bool>(),
    ) {
        let partner = |at: usize| AthleteId(2 + (at % 6) as i64);
        let day = |at: usize| date(2026, 5, 1 + at as i8 * 3);
        let rounds: Vec<_> = (ledgers.iter().enumerate())
            .map(|(at, ledger)| KnownRound {
                athletes: [ANE, partner(at)],
                confirmed,
                ..rolled_on(day(at), ledger)
            })
            .collect();
        let all = tallies(&rounds);
        let members: Vec<&Tallies> = all.values().collect();
        let group = GroupHabits::of(&members);
        let own = &all[&ANE];
        for habit in habits(own, &group, &group) {
            let seen = habit.seen;
            prop_assert!(seen.value.is_finite() && seen.interval.contains(seen.value));
            if let Some(pooled) = habit.pooled {
                prop_assert!(pooled.value.is_finite());
                prop_assert!((0.0..=1.0).contains(&pooled.above));
                prop_assert!((0.0..=1.0 + 1e-9).contains(&pooled.own_weight));
                prop_assert!(pooled.interval.high().is_finite());
            }
        }
        let mut everybody = Tallies::default();
        members.iter().for_each(|member| everybody.merge(member));
        for worth in worth(own, &everybody, 20, 1) {
            prop_assert!(worth.value.is_finite() && worth.interval.contains(worth.value));
        }
        let changes = train_next(own, &everybody, &Targets::of(&members), 20, 1);
        for change in &changes {
            prop_assert!(change.gain.is_finite() && (0.0..=1.0).contains(&change.best));
        }
        let changed = changed_since(&rounds, ANE, day(3));
        let habits = changed.habits.iter().map(|one| one.adjusted);
        for adjusted in habits.chain(changed.getting_out.iter().map(|one| one.adjusted)) {
            prop_assert!((0.0..=1.0).contains(&adjusted));
        }
        for flow in flows(own) {
            prop_assert!((0.0..=1.0).contains(&flow.share.value));
        }
        let stays = stays(&rounds, ANE);
        let others: Vec<_> = (2..8).flat_map(|who| figures::getting_out::stays(&rounds, AthleteId(who))).collect();
        for position in figures::place::BAD {
            if let Some(figure) = getting_out(&stays, position) {
                let ended: f64 = figure.ended.iter().sum();
                prop_assert!(ended <= figure.stays + 1e-9);
            }
            for ending in Ending::ALL {
                if let Some(comparison) = compare(&stays, &others, position, ending) {
                    prop_assert!((0.0..=1.0).contains(&comparison.p_value));
                }
            }
        }
        let beside = KindNorms::of(&rounds).meant(0, &rounds[0]);
        prop_assert!(beside.evidence.iter().all(|one| one.value.is_finite()));
        let taught = used(&rounds, "armbar", day(2), |_| true);
        prop_assert!(taught.ratio.is_none());
        let names = ["Armbar".to_owned(), "triangle".to_owned()];
        let in_one_pass = uses(&rounds, &names, day(2), |who| who == ANE);
        for (name, [there, elsewhere]) in names.iter().zip(in_one_pass) {
            prop_assert_eq!(there, used(&rounds, name, day(2), |who| who == ANE));
            prop_assert_eq!(elsewhere, used(&rounds, name, day(2), |who| who != ANE));
        }
    }

    #[test]
    fn shares_sum_to_one_and_every_figure_lies_within_its_limits(ledger in any_ledger()) {
        let lived = lived(&ledger, Athlete::First);
        let shares = time_shares(&lived);
        if lived[0].rolling() > 0.0 {
            let sum: f64 = shares.iter().map(|share| share.figure.value).sum();
            prop_assert!((sum - 1.0).abs() < 1e-9);
        } else {
            prop_assert!(shares.is_empty());
        }
        let others = [changes_per_minute(&lived), give_and_take(&lived), pinned_share(&lived)];
        let figures = shares.iter().map(|share| share.figure).chain(others.into_iter().flatten());
        for figure in figures {
            prop_assert!(figure.interval.low() <= figure.value + 1e-9);
            prop_assert!(figure.value <= figure.interval.high() + 1e-9);
            prop_assert!((0.0..=1.0).contains(&figure.confirmed));
            prop_assert!(figure.count >= 0.0);
        }
    }

    #[test]
    fn measures_of_a_round_are_its_figures(ledger in any_ledger()) {
        let round = rolled(&ledger);
        let lived = lived(&ledger, Athlete::First);
        let told = |kind| happened_per_minute(&lived, kind);
        let figures = [
            (Measure::Changes, changes_per_minute(&lived)),
            (Measure::Pinned, pinned_share(&lived)),
            (Measure::GiveAndTake, give_and_take(&lived)),
            (Measure::Attempts, told(EventKind::SubmissionAttempt)),
            (Measure::Releases, told(EventKind::Release)),
            (Measure::Taps, told(EventKind::Tap)),
        ];
        for (measure, figure) in figures {
            match (measure.of(&round), figure) {
                (Some(value), Some(figure)) => {
                    prop_assert!((value - figure.value).abs() < 1e-9 * (1.0 + value));
                }
                (value, figure) => prop_assert_eq!(value, figure.map(|figure| figure.value)),
            }
        }
    }

    #[test]
    fn the_other_athlete_sees_the_same_round_from_across(ledger in any_ledger()) {
        let (first, second) = (lived(&ledger, Athlete::First), lived(&ledger, Athlete::Second));
        let mut across: Vec<_> = time_shares(&second);
        for share in &mut across {
            share.place = share.place.across();
        }
        across.sort_by_key(|share| share.place);
        let shares = time_shares(&first);
        prop_assert_eq!(shares.len(), across.len());
        for (one, other) in shares.iter().zip(&across) {
            prop_assert_eq!(one.place, other.place);
            prop_assert!((one.figure.value - other.figure.value).abs() < 1e-12);
        }
        prop_assert_eq!(changes_per_minute(&first), changes_per_minute(&second));
        let even = |lived: &[Lived<'_>]| give_and_take(lived).map_or(0.0, |figure| figure.value);
        prop_assert!((even(&first) - even(&second)).abs() < 1e-9);
        for (one, other) in first[0].changes().zip(second[0].changes()) {
            prop_assert_eq!(one.from.across(), other.from);
            let (one, other) = (one.what, other.what);
            prop_assert_eq!(one.map(|what| (what.kind, what.own)), other.map(|what| (what.kind, !what.own)));
        }
        let balances_of = |lived: &[Lived<'_>]| {
            let transitions = Transitions::of(lived, |_| true);
            balances(&transitions, &transitions, 20, 1)
        };
        let across = balances_of(&second);
        for one in balances_of(&first) {
            prop_assert!((-1.0..=1.0).contains(&one.value) && one.interval.contains(one.value));
            let mirrored = Action { own: !one.action.own, ..one.action };
            let other = across.iter().find(|other| other.action == mirrored).unwrap();
            prop_assert!((one.value + other.value).abs() < 1e-9);
            prop_assert!((one.count - other.count).abs() < 1e-9);
        }
        // Swapping the seats along with the ids changes nothing for either.
        let round = rolled(&ledger);
        let swapped = swap(&ledger);
        let swapped = KnownRound { athletes: [BO, ANE], ..rolled(&swapped) };
        prop_assert_eq!(stays(&[round], ANE), stays(&[swapped], ANE));
    }

    #[test]
    fn two_readings_are_the_same_from_either_side(one in any_ledger(), other in any_ledger()) {
        let (there, back) = (two_readings(&one, &other), two_readings(&other, &one));
        let common = one.end().min(other.end()).seconds();
        prop_assert!((there.compared + there.left_out - common).abs() < 1e-6);
        prop_assert_eq!(there.compared, back.compared);
        let differing: f64 = there.disagreements.iter().map(|one| one.span.seconds()).sum();
        match (there.position_and_top, back.position_and_top) {
            (Some(agreed), Some(swapped)) => {
                let same = agreed.share.value;
                prop_assert!((same * there.compared + differing - there.compared).abs() < 1e-6);
                prop_assert!((same - swapped.share.value).abs() < 1e-9);
                prop_assert!((agreed.ac1.value - swapped.ac1.value).abs() < 1e-9);
                prop_assert!(same <= there.position.unwrap().share.value + 1e-9);
            }
            (one, other) => prop_assert!(one.is_none() && other.is_none()),
        }
    }

    #[test]
    fn a_spell_may_be_split_where_one_likes(ledger in any_ledger(), share in 0.1..0.9) {
        let mut halves = Vec::new();
        for spell in ledger.spells() {
            let millis = (spell.span.millis() as f64 * share) as u64;
            let border = spell.span.start().later(millis);
            if millis == 0 {
                halves.push(spell.clone());
                continue;
            }
            let (start, end) = (spell.span.start(), spell.span.end());
            halves.push(Spell { span: Span::between(start, border), ..spell.clone() });
            halves.push(Spell { span: Span::between(border, end), ..spell.clone() });
        }
        let split = Ledger::new(halves, ledger.events().to_vec()).unwrap();
        let (whole, halves) = (lived(&ledger, Athlete::First), lived(&split, Athlete::First));
        prop_assert!(same(&numbers(&whole), &numbers(&halves)));
        let (whole, halves) = (stays(&[rolled(&ledger)], ANE), stays(&[rolled(&split)], ANE));
        prop_assert_eq!(whole.len(), halves.len());
    }

    #[test]
    fn a_round_of_others_changes_nothing(ledger in any_ledger(), unrelated in any_ledger()) {
        let own = rolled(&ledger);
        let others = KnownRound { athletes: [AthleteId(8), AthleteId(9)], ..rolled(&unrelated) };
        let alone: Vec<_> = Lived::of_student(&[own], ANE).collect();
        let among: Vec<_> = Lived::of_student(&[others, own], ANE).collect();
        prop_assert!(same(&numbers(&alone), &numbers(&among)));
    }

    #[test]
    fn one_doubt_over_all_scales_counts_and_leaves_values(ledger in any_ledger(), doubt in 0.1..1.0) {
        let scaled = |doubt: f64| {
            let spells = ledger.spells().iter().cloned();
            let events = ledger.events().iter().cloned();
            Ledger::new(
                spells.map(|one| Spell { confidence: doubt * one.confidence, ..one }).collect(),
                events.map(|one| Event { confidence: doubt * one.confidence, ..one }).collect(),
            ).unwrap()
        };
        let less = scaled(doubt);
        let (full, less) = (lived(&ledger, Athlete::First), lived(&less, Athlete::First));
        for (one, other) in time_shares(&full).iter().zip(&time_shares(&less)) {
            prop_assert!((one.figure.value - other.figure.value).abs() < 1e-9);
            prop_assert!((doubt * one.figure.count - other.figure.count).abs() < 1e-9);
        }
        if let (Some(one), Some(other)) = (changes_per_minute(&full), changes_per_minute(&less)) {
            prop_assert!((one.value - other.value).abs() < 1e-9 * (1.0 + one.value));
        }
    }
}

/// The same round with the names of the athletes the other way round.
fn swap(ledger: &Ledger) -> Ledger {
    let spells = ledger.spells().iter().cloned();
    let events = ledger.events().iter().cloned();
    Ledger::new(
        spells.map(|spell| Spell { top: spell.top.map(Athlete::other), ..spell }).collect(),
        events.map(|event| Event { actor: event.actor.map(Athlete::other), ..event }).collect(),
    )
    .expect("a ledger made to be one")
}
