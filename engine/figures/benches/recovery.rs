//! How well known habits are found again: how often intervals hold the truth, how many rounds it
//! takes until "train next" names a planted leak, and whether its chances are what they say.
//!
//! `cargo bench -p figures --bench recovery` prints three tables. Everything is simulated from a
//! fixed seed, so that the same program prints the same; it takes a minute or so.

#![expect(clippy::disallowed_macros, reason = "a benchmark prints")]
#![expect(clippy::expect_used, reason = "a benchmark may stop")]

#[path = "../tests/made_rounds.rs"]
#[allow(dead_code, reason = "the tests use the rest")]
mod made_rounds;
#[path = "../tests/simulated.rs"]
mod simulated;

use academy::{EventKind, Ledger, Position};
use figures::actions::Transitions;
use figures::balance::balances;
use figures::getting_out::{Ending, getting_out, stays};
use figures::habits::{GroupHabits, habits};
use figures::place::move_of;
use figures::round::time_shares;
use figures::sampling::Draws;
use figures::stretch::Lived;
use figures::tallies::{Doing, Tallies, tallies};
use figures::train_next::{Targets, train_next};
use figures::worth::worth;
use figures::{Figure, KnownRound, Place, Role};
use made_rounds::{ANE, rolled};
use simulated::{Doubt, PLAIN, Ways, doubted, round, true_rates};

const COUNTS: [usize; 5] = [5, 10, 20, 40, 80];

/// How much members of a belt differ in each of their ways, unless said otherwise.
const DIFFER: f64 = 0.35;

fn rounds(ways: Ways, count: usize, draws: &mut Draws) -> Vec<Ledger> {
    (0..count).map(|_| round(ways, 300.0, draws)).collect()
}

fn known(ledgers: &[Ledger]) -> Vec<KnownRound<'_>> {
    ledgers.iter().map(rolled).collect()
}

fn added_up(ledgers: &[Ledger]) -> Tallies {
    tallies(&known(ledgers)).remove(&ANE).expect("made to be there")
}

fn transitions(ledgers: &[Ledger]) -> Transitions {
    let rounds = known(ledgers);
    let lived: Vec<_> = Lived::of_student(&rounds, ANE).collect();
    Transitions::of(&lived, |_| true)
}

/// Ways that differ from the plain ones as members of a belt do, by such a share: a standard
/// deviation.
fn like_a_member(differ: f64, draws: &mut Draws) -> Ways {
    Ways::near_plain(1.0 / (differ * differ), draws)
}

struct Belt {
    together: Tallies,
    habits: GroupHabits,
    targets: Targets,
}

/// Twenty members with thirty rounds each.
fn belt(differ: f64, draws: &mut Draws) -> Belt {
    let member = |draws: &mut Draws| {
        let ways = like_a_member(differ, draws);
        added_up(&rounds(ways, 30, draws))
    };
    let members: Vec<Tallies> = (0..20).map(|_| member(draws)).collect();
    let members: Vec<&Tallies> = members.iter().collect();
    let mut together = Tallies::default();
    members.iter().for_each(|one| together.merge(one));
    Belt { together, habits: GroupHabits::of(&members), targets: Targets::of(&members) }
}

/// A count of intervals, and of those that hold the truth.
#[derive(Clone, Copy, Default)]
struct Covered {
    all: u32,
    holding: u32,
}

impl Covered {
    fn add(&mut self, holds: bool) {
        self.all += 1;
        self.holding += u32::from(holds);
    }

    fn percent(self) -> f64 {
        100.0 * f64::from(self.holding) / f64::from(self.all.max(1))
    }
}

/// What is true of a plain student, from the rates or from many more rounds.
struct Truth {
    shares: Vec<(Place, f64)>,
    worth: Vec<(Place, f64)>,
    balances: Vec<(figures::actions::Action, f64)>,
}

fn truth(belt: &Belt, draws: &mut Draws) -> Truth {
    let many = rounds(PLAIN, 40_000, draws);
    let rounds = known(&many);
    let lived: Vec<_> = Lived::of_student(&rounds, ANE).collect();
    let shares = time_shares(&lived).into_iter().map(|one| (one.place, one.figure.value));
    let transitions = transitions(&many);
    let balances = balances(&transitions, &transitions, 0, 1).into_iter();
    let worth = worth(&true_tallies(PLAIN, &added_up(&many)), &belt.together, 1, 1).into_iter();
    Truth {
        shares: shares.collect(),
        worth: worth.map(|one| (one.place, one.value)).collect(),
        balances: balances.map(|one| (one.action, one.value)).collect(),
    }
}

const KINDS: [&str; 7] = [
    "share of time in a place, over rounds",
    "rate of a habit (Garwood)",
    "the same for a member of a belt, pooled",
    "out of side control by 20 s (Aalen-Johansen)",
    "what a place is worth, a belt's member",
    "balance of an action, a belt's member",
    "change of habit: what it gains",
];

fn coverage(doubt: Option<Doubt>, students: usize) {
    let mut draws = Draws::from_seed(4);
    let belt = belt(DIFFER, &mut draws);
    let truth = truth(&belt, &mut draws);
    let group = transitions(&rounds(PLAIN, 600, &mut draws));
    let by_twenty = 0.5 * (1.0 - (-2.0_f64 / 3.0).exp());
    let mut covered = [[Covered::default(); COUNTS.len()]; KINDS.len()];
    let read = |ledgers: Vec<Ledger>, draws: &mut Draws| match doubt {
        Some(doubt) => ledgers.iter().map(|one| doubted(one, doubt, draws)).collect(),
        None => ledgers,
    };
    for (at, count) in COUNTS.into_iter().enumerate() {
        for _ in 0..students {
            let ledgers = rounds(PLAIN, count, &mut draws);
            let ledgers: Vec<Ledger> = read(ledgers, &mut draws);
            let known = known(&ledgers);
            let lived: Vec<_> = Lived::of_student(&known, ANE).collect();
            let shares = time_shares(&lived);
            for (place, share) in &truth.shares {
                let figure = shares.iter().find(|one| one.place == *place).map(|one| one.figure);
                let holds = |figure: Figure| figure.interval.contains(*share);
                covered[0][at].add(figure.is_some_and(holds));
            }
            let own = added_up(&ledgers);
            let seen = habits(&own, &GroupHabits::default(), &GroupHabits::default());
            for (doing, rate) in true_rates(PLAIN) {
                let habit = seen.iter().find(|habit| habit.doing == doing);
                habit.inspect(|habit| covered[1][at].add(habit.seen.interval.contains(rate)));
            }
            let figure = getting_out(&stays(&known, ANE), Position::SideControl);
            if let Some(step) = figure.as_ref().and_then(|figure| figure.curves.at(20.0)) {
                let escaped = &step.outcomes[Ending::Escaped.index()];
                covered[3][at].add(escaped.interval.contains(by_twenty));
            }
            for one in worth(&own, &belt.together, 200, 1) {
                let known = truth.worth.iter().find(|known| known.0 == one.place);
                known.inspect(|known| covered[4][at].add(one.interval.contains(known.1)));
            }
            for one in balances(&transitions(&ledgers), &group, 200, 1) {
                let known = truth.balances.iter().find(|known| known.0 == one.action);
                known.inspect(|known| covered[5][at].add(one.interval.contains(known.1)));
            }
            let ways = like_a_member(DIFFER, &mut draws);
            let ledgers: Vec<Ledger> = read(rounds(ways, count, &mut draws), &mut draws);
            let own = added_up(&ledgers);
            let pooled = habits(&own, &belt.habits, &belt.habits);
            for (doing, rate) in true_rates(ways) {
                let habit = pooled.iter().find(|habit| habit.doing == doing);
                let pooled = habit.and_then(|habit| habit.pooled);
                pooled.inspect(|pooled| covered[2][at].add(pooled.interval.contains(rate)));
            }
            let gains = true_gains(ways, &own, &belt);
            for change in train_next(&own, &belt.together, &belt.targets, 200, 1) {
                let known = gains.iter().find(|known| known.0 == change.doing);
                known.inspect(|known| {
                    let (low, high) = (change.interval.low(), change.interval.high());
                    covered[6][at].add(low - 1e-6 <= known.1 && known.1 <= high + 1e-6);
                });
            }
        }
    }
    for (kind, covered) in KINDS.into_iter().zip(covered) {
        let percents: Vec<String> =
            covered.iter().map(|covered| format!("{:.1}", covered.percent())).collect();
        println!("| {kind} | {} |", percents.join(" | "));
    }
}

/// What a student's rounds would add up to after so long that every rate is the true one.
fn true_tallies(ways: Ways, own: &Tallies) -> Tallies {
    const MINUTES: f64 = 1e9;
    let sum = |all| figures::figure::Tally { all, told: all };
    let mut tallies = Tallies::default();
    let at = |position, role| Place { position, role };
    let places: Vec<Place> = [Position::OpenGuard, Position::SideControl, Position::Mount]
        .into_iter()
        .flat_map(|position| [at(position, Role::Top), at(position, Role::Bottom)])
        .chain([at(Position::Standing, Role::Neither)])
        .collect();
    for place in &places {
        tallies.seconds.insert(*place, sum(60.0 * MINUTES));
        for (rate, to) in simulated::ways_out(ways, *place) {
            let doing = match to {
                Some(to) => {
                    tallies.moves.insert((*place, to), sum(rate * MINUTES));
                    move_of(*place, to).map(|what| (what.kind, what.own))
                }
                None => Some((EventKind::Tap, place.role == Role::Bottom)),
            };
            if let Some((kind, own)) = doing {
                let done = tallies.done.entry(Doing { place: *place, kind, own }).or_default();
                *done = done.plus(sum(rate * MINUTES));
            }
        }
    }
    // As many rounds as make them as long as the student's are.
    let minutes = MINUTES * places.len() as f64;
    tallies.rounds = (minutes / own.minutes_per_round()).round() as usize;
    tallies.starts = [(at(Position::Standing, Role::Neither), 1.0)].into();
    tallies
}

/// What each change of habit truly gains.
fn true_gains(ways: Ways, own: &Tallies, belt: &Belt) -> Vec<(Doing, f64)> {
    let tallies = true_tallies(ways, own);
    let changes = train_next(&tallies, &belt.together, &belt.targets, 1, 1);
    changes.into_iter().map(|change| (change.doing, change.gain)).collect()
}

/// How soon a leak is named: getting out from under mount a tenth as often as the others, in a
/// student who is otherwise like the belt.
fn leak(differ: f64, belts: usize, students: usize) {
    let place = Place { position: Position::Mount, role: Role::Bottom };
    let leak = Doing { place, kind: EventKind::Escape, own: true };
    println!("| rounds | first | among three | chance given | truly best | first of these |");
    println!("|---|---|---|---|---|---|");
    let mut draws = Draws::from_seed(6);
    let belts: Vec<Belt> = (0..belts).map(|_| belt(differ, &mut draws)).collect();
    for count in COUNTS {
        let [mut first, mut among, mut truly, mut first_of_truly] = [Covered::default(); 4];
        let mut chance = 0.0;
        for belt in &belts {
            for _ in 0..students {
                let ways = Ways { escape_mount: 0.07, ..like_a_member(differ, &mut draws) };
                let own = added_up(&rounds(ways, count, &mut draws));
                let mut changes = train_next(&own, &belt.together, &belt.targets, 400, 3);
                changes.sort_by(|one, other| other.best.total_cmp(&one.best));
                let at = changes.iter().position(|change| change.doing == leak);
                first.add(at == Some(0));
                among.add(at.is_some_and(|at| at < 3));
                chance += at.map_or(0.0, |at| changes[at].best);
                let is_best = truly_best(&true_gains(ways, &own, belt)) == Some(leak);
                truly.add(is_best);
                if is_best {
                    first_of_truly.add(at == Some(0));
                }
            }
        }
        println!(
            "| {count} | {:.0} | {:.0} | {:.0} | {:.0} | {:.0} |",
            first.percent(),
            among.percent(),
            100.0 * chance / f64::from(first.all),
            truly.percent(),
            first_of_truly.percent()
        );
    }
}

/// The change that gains most, where any does.
fn truly_best(gains: &[(Doing, f64)]) -> Option<Doing> {
    let best = gains.iter().max_by(|one, other| one.1.total_cmp(&other.1));
    best.filter(|best| best.1 > 0.0).map(|best| best.0)
}

/// Of the changes said to be best with some chance, how many are.
fn chances(belts: usize, students: usize) {
    println!("| chance said | rounds | changes | mean chance | truly best |");
    println!("|---|---|---|---|---|");
    for count in [10, 40] {
        let mut draws = Draws::from_seed(9);
        let mut bins = [(0.0, Covered::default()); 10];
        for _ in 0..belts {
            let belt = belt(DIFFER, &mut draws);
            for _ in 0..students {
                let ways = like_a_member(DIFFER, &mut draws);
                let own = added_up(&rounds(ways, count, &mut draws));
                let gains = true_gains(ways, &own, &belt);
                let best = truly_best(&gains);
                for change in train_next(&own, &belt.together, &belt.targets, 400, 3) {
                    let bin = &mut bins[((change.best * 10.0) as usize).min(9)];
                    bin.0 += change.best;
                    bin.1.add(best == Some(change.doing));
                }
            }
        }
        for (at, (sum, covered)) in bins.into_iter().enumerate() {
            let mean = 100.0 * sum / f64::from(covered.all.max(1));
            let (low, high, all) = (10 * at, 10 * at + 10, covered.all);
            let truly = covered.percent();
            println!("| {low} to {high} % | {count} | {all} | {mean:.0} | {truly:.0} |");
        }
    }
}

fn main() {
    let doubts = [
        ("confirmed", None),
        ("guessed, doubts of 0.6 to 1 over four spells", Some(Doubt::Tops { least: 0.6 })),
        ("guessed, doubts of 0.6 to 1 spell by spell", Some(Doubt::Spells { least: 0.6 })),
        ("guessed, doubts of 0.9 to 1 spell by spell", Some(Doubt::Spells { least: 0.9 })),
    ];
    println!("How many of a hundred intervals of 95 % hold the truth, after 5 to 80 rounds\n");
    for (name, doubt) in doubts {
        println!("| {name} | {} |", COUNTS.map(|count| count.to_string()).join(" | "));
        println!("|---|{}", "---|".repeat(COUNTS.len()));
        coverage(doubt, 200);
        println!();
    }
    for differ in [0.2, DIFFER] {
        println!("A planted leak in \"train next\", percent of 400 students");
        println!("(others of the belt differ by {differ} of each rate)\n");
        leak(differ, 8, 50);
        println!();
    }
    println!("The chance to be the best change, beside how many are\n");
    chances(20, 40);
}
