//! Figures in words: what they sound like, and what they must never say.

use academy::{EventKind, Pronoun};
use figures::actions::Transitions;
use figures::balance::balances;
use figures::exact_rates::{Count, rate, rate_ratio};
use figures::figure::Figure;
use figures::habits::{Habit, Pooled, SetsApart, Towards};
use figures::interval::Level;
use figures::over_time::Changed;
use figures::overview::{AcademyFigures, StudentFigures};
use figures::proportions::wilson;
use figures::round::{Holds, OfPlace};
use figures::stretch::Lived;
use figures::tallies::Doing;
use figures::taught::used;
use figures::train_next::Change;
use figures::two_readings::two_readings;
use figures::worth::Worth;
use figures::{KnownRound, Place};
use proptest::prelude::*;
use reports::sentences::{self, Said};
use reports::{Voice, Whose};

use crate::invented::{Academy, LAST_TALK, PETRA, belts, petra, petras, places};

/// Everything there is to say about a student.
fn everything(whose: &Whose<'_>, figures: &StudentFigures, rounds: &[KnownRound<'_>]) -> Vec<Said> {
    let mut said = Vec::new();
    said.push(sentences::confirmed(figures.rolled, figures.rounds));
    said.extend(sentences::time_by_place(whose, &figures.time, figures.rounds, figures.rolled.all));
    said.extend(figures.pace.iter().map(|pace| sentences::pace(whose, pace)));
    said.extend(figures.give_and_take.iter().map(|even| sentences::give_and_take(whose, even)));
    said.extend(figures.holds.iter().map(|hold| sentences::hold(whose, hold)));
    said.extend(figures.getting_out.iter().map(|out| {
        sentences::getting_out(whose, &out.own, out.beside.as_ref(), "the other blue belts")
    }));
    said.extend(figures.habits.iter().map(sentences::habit));
    said.extend(figures.surest.iter().map(|one| sentences::surest_way(whose, one)));
    said.extend(figures.leaks.iter().map(|one| sentences::leak(whose, one)));
    said.extend(figures.attempts.iter().map(|ends| sentences::attempts(whose, ends)));
    said.extend(figures.done.iter().map(|done| sentences::done(whose, done)));
    said.extend(figures.worth.iter().map(|worth| sentences::worth(whose, worth)));
    said.extend(
        figures
            .train_next
            .iter()
            .enumerate()
            .map(|(at, next)| sentences::train_next(whose, &next.change, at == 0, figures.rounds)),
    );
    if let Some(changes) = &figures.changed {
        said.extend(sentences::what_changed(whose, changes, 5));
        said.extend(changes.what.habits.iter().map(|one| sentences::changed(whose, one)));
        said.extend(changes.what.getting_out.iter().map(|one| sentences::changed_out(whose, one)));
    }
    said.extend(sentences::flows(whose, &figures.flows));
    said.extend(figures.flows.iter().map(|flow| sentences::flow(whose, flow)));
    said.extend(figures.weeks.pace.iter().map(|pace| sentences::trend("changes a minute", pace)));
    let use_of = used(rounds, "kimura", LAST_TALK, |_| true);
    said.push(sentences::taught("kimura", &use_of, "those who were in that class"));
    if let Some(round) = rounds.first() {
        let norms = figures::meant::KindNorms::of(rounds);
        let meant = norms.meant(0, round);
        said.push(sentences::meant(&meant));
        said.extend(meant.evidence.iter().map(sentences::evidence));
    }
    said
}

/// What no sentence may hold, whatever the figures are.
fn check(said: &Said) -> Result<(), TestCaseError> {
    for text in [&said.line, &said.numbers] {
        for never in [
            "NaN",
            "inf",
            "  ",
            " 1 times",
            " 1 rounds",
            " 1 stays",
            " 1 people",
            " 1 minutes",
            " ,",
            " .",
            "..",
            "-0",
            "you is",
            "you gets",
            "she get ",
            "injur",
            "Bo",
            "\u{2212}0 ",
        ] {
            prop_assert!(!text.contains(never), "{never:?} in {text:?}");
        }
        prop_assert!(text.ends_with('.'), "{text:?}");
        prop_assert!(text.chars().next().is_some_and(|first| !first.is_lowercase()), "{text:?}");
    }
    Ok(())
}

fn lines(said: &[Said]) -> String {
    said.iter().map(|one| format!("{}\n    {}\n", one.line, one.numbers)).collect()
}

#[test]
fn said_to_the_student() {
    petras(40, |figures, rounds| {
        let said = everything(&petra(Voice::You), figures, rounds);
        said.iter().for_each(|one| check(one).unwrap());
        assert!(said.iter().all(|one| !one.line.contains("Petra")));
        insta::assert_snapshot!(lines(&said));
    });
}

#[test]
fn said_to_the_coach_after_few_rounds() {
    petras(3, |figures, rounds| {
        let said = everything(&petra(Voice::Third), figures, rounds);
        said.iter().for_each(|one| check(one).unwrap());
        insta::assert_snapshot!(lines(&said));
    });
}

#[test]
fn a_suggestion_is_never_surer_than_it_is() {
    petras(40, |figures, _| {
        let change = figures.train_next[0].change;
        let say = |best, first, rounds| {
            sentences::train_next(&petra(Voice::You), &Change { best, ..change }, first, rounds)
                .line
        };
        assert!(say(0.4, true, 40).contains("likeliest the one thing that would change most for you (2 in 5), though it may be another"));
        assert!(
            say(1.0, true, 40).contains(
                "likely the one thing that would change most for you (more than 19 in 20)"
            )
        );
        assert!(say(0.2, false, 40).contains("may be the one that would change most (1 in 5)"));
        let few = say(0.4, true, 4);
        assert!(few.contains("perhaps") && few.contains("from 4 rounds that is a guess"));
        assert!(!few.contains("likel") && !few.contains("2 in 5"));
        assert!(!say(0.4, true, 40).contains("guess"));
    });
}

#[test]
fn two_readings_and_what_actions_bring() {
    petras(40, |_, rounds| {
        let (one, other) = (rounds[0].ledger, rounds[1].ledger);
        let same = sentences::two_readings(&two_readings(one, one)).unwrap();
        check(&same).unwrap();
        let start = "The two readings agree nearly everywhere (100 %), more than chance";
        assert!(same.line.starts_with(start), "{}", same.line);
        let apart = sentences::two_readings(&two_readings(one, other)).unwrap();
        check(&apart).unwrap();
        assert!(
            apart.line.starts_with("The two readings agree on less than half"),
            "{}",
            apart.line
        );
        let lived: Vec<Lived<'_>> = Lived::of_student(rounds, PETRA).collect();
        let own = Transitions::of(&lived, |_| true);
        let balances = balances(&own, &own, 50, 1);
        assert!(balances.len() > 10);
        for balance in &balances {
            check(&sentences::balance(balance)).unwrap();
        }
    });
}

#[test]
fn layers_describe_and_set_no_norm() {
    let academy = Academy::with_rounds(10);
    let rounds = academy.rounds();
    let figures = AcademyFigures::new(&rounds, belts());
    for place in places() {
        for layer in figures.layers(place) {
            let said = sentences::layer(&layer, place);
            check(&said).unwrap();
            assert!(said.line.starts_with("At blue belt (") && !said.line.contains("should"));
        }
    }
}

#[test]
fn what_a_group_needs_names_nobody() {
    let academy = Academy::with_rounds(10);
    let rounds = academy.rounds();
    let all = AcademyFigures::new(&rounds, belts());
    let people: Vec<_> = all.people().collect();
    let group = all.group(&people).unwrap();
    assert!(!group.needs.is_empty());
    for need in &group.needs {
        let said = sentences::need(need, group.members.len());
        check(&said).unwrap();
        assert!(!said.line.contains("Petra"));
    }
}

fn kinds() -> impl Strategy<Value = EventKind> {
    proptest::sample::select(EventKind::ALL.to_vec())
}

fn some_place() -> impl Strategy<Value = Place> {
    proptest::sample::select(places())
}

fn whoever() -> impl Strategy<Value = Whose<'static>> {
    let pronoun = proptest::sample::select(vec![
        None,
        Some(Pronoun::He),
        Some(Pronoun::She),
        Some(Pronoun::They),
    ]);
    let voice = proptest::sample::select(vec![Voice::You, Voice::Third, Voice::Together]);
    (pronoun, voice).prop_map(|(pronoun, voice)| {
        let name = if voice == Voice::Together { "the blue belts" } else { "Petra" };
        Whose { name, pronoun, voice }
    })
}

proptest! {
    #[test]
    fn nothing_silly_is_said_of_any_figure(
        whose in whoever(), place in some_place(), kind in kinds(), own: bool, rounds in 1_usize..60,
        count in prop_oneof![Just(0.0), Just(1.0), 0.0..200.0_f64], other in 0_u32..50,
        minutes in 0.01..300.0_f64, chance in 0.0..=1.0_f64, value in -3.0..3.0_f64,
    ) {
        let doing = Doing { place, kind, own };
        let level = Level::NINETY_FIVE;
        let per_minute = |count: f64| {
            let estimate = rate(Count::new(count, minutes).unwrap(), level);
            Figure { value: estimate.value, count, interval: estimate.interval, confirmed: chance }
        };
        let share = wilson(count.min(200.0), 200.0, level).unwrap();
        let of_one = Figure { value: share.value, count, interval: share.interval, confirmed: chance };
        let seen = per_minute(count);
        let pooled = Pooled { value: seen.value, interval: seen.interval, own_weight: chance, towards: Towards::Belt, group: 0.8, above: chance };
        let habit = Habit { doing, minutes, seen, pooled: own.then_some(pooled) };
        let apart = SetsApart { habit, chance };
        let (now, then) = (Count::new(count, minutes).unwrap(), Count::new(f64::from(other), 20.0).unwrap());
        let mut said = vec![
            sentences::habit(&habit),
            sentences::surest_way(&whose, &apart),
            sentences::leak(&whose, &apart),
            sentences::pace(&whose, &seen),
            sentences::give_and_take(&whose, &of_one),
            sentences::hold(&whose, &Holds { place, median: Figure { value: minutes, ..seen }, longest: minutes * 2.0, cut: count / 3.0 }),
            sentences::worth(&whose, &Worth { place, value, interval: seen.interval, minutes, confirmed: chance }),
            sentences::train_next(&whose, &Change { doing, now: seen.value, target: 2.0, gain: value.abs(), interval: share.interval, best: chance, count, minutes, confirmed: chance }, own, rounds),
            sentences::done(&whose, &figures::overview::Done { kind, own, rate: seen }),
        ];
        said.extend(sentences::time_by_place(&whose, &[OfPlace { place, figure: of_one }], rounds, minutes));
        if let Ok(ratio) = rate_ratio(now, then, level) {
            let changed = Changed { doing, before: per_minute(f64::from(other)), since: seen, ratio, adjusted: chance, better: figures::habits::is_good(doing).map(|good| good == own) };
            said.push(sentences::changed(&whose, &changed));
        }
        for one in &said {
            check(one)?;
            if whose.voice == Voice::You {
                prop_assert!(!one.line.contains("Petra"), "{}", one.line);
            }
        }
    }
}
