//! How fast all figures of a student and of an academy are worked out, and how that grows.
//!
//! `cargo bench -p figures --bench figures`. Prints the fastest of several runs, on one core; what
//! the reference libraries take for the same input is printed by `reference/same_input.py`.

#[path = "../tests/made_rounds.rs"]
#[allow(dead_code, reason = "the tests use the rest")]
mod made_rounds;
#[path = "../tests/simulated.rs"]
#[allow(dead_code, reason = "the tests use the rest")]
mod simulated;

use std::collections::BTreeMap;
use std::hint::black_box;
use std::time::{Duration, Instant};

use academy::{Belt, Ledger, RoundKind};
use figures::overview::AcademyFigures;
use figures::sampling::Draws;
use figures::{AthleteId, KnownRound};
use jiff::ToSpan;
use jiff::civil::{Date, date};
use simulated::{PLAIN, Ways, round};

/// Rounds of an invented academy: everybody rolls with everybody, five minutes each, over two
/// years.
struct Rolled {
    people: i64,
    ledgers: Vec<Ledger>,
}

impl Rolled {
    fn new(people: i64, rounds: usize) -> Rolled {
        let mut draws = Draws::from_seed(2_026);
        let ways: Vec<Ways> = (0..people)
            .map(|_| {
                let mut near = |rate: f64| rate * draws.gamma(8.0, 8.0).unwrap_or(1.0);
                Ways {
                    pass: near(PLAIN.pass),
                    sweep: near(PLAIN.sweep),
                    escape_side: near(PLAIN.escape_side),
                    escape_mount: near(PLAIN.escape_mount),
                    finish: near(PLAIN.finish),
                    passed: near(PLAIN.passed),
                }
            })
            .collect();
        let of = |at: usize| ways[at % ways.len()];
        let ledgers = (0..rounds).map(|at| round(of(at), 300.0, &mut draws)).collect();
        Rolled { people, ledgers }
    }

    fn rounds(&self) -> Vec<KnownRound<'_>> {
        let first: Date = date(2024, 11, 1);
        let people = self.people as usize;
        let of = |(at, ledger)| {
            let at: usize = at;
            let partner = (at + 1 + at / people % (people - 1)) % people;
            KnownRound {
                date: first + ((at * 730 / self.ledgers.len()) as i64).days(),
                kind: if at % 3 == 0 { RoundKind::Hard } else { RoundKind::Flow },
                gi: at % 2 == 0,
                athletes: [AthleteId((at % people) as i64), AthleteId(partner as i64)],
                length: 300.0,
                ledger,
                confirmed: at % 2 == 0,
            }
        };
        self.ledgers.iter().enumerate().map(of).collect()
    }

    fn belts(&self) -> BTreeMap<AthleteId, Belt> {
        let worn = [Belt::White, Belt::Blue, Belt::Purple, Belt::Brown, Belt::Black];
        (0..self.people).map(|who| (AthleteId(who), worn[who as usize % 5])).collect()
    }
}

fn fastest(runs: usize, mut work: impl FnMut()) -> Duration {
    let time = |work: &mut dyn FnMut()| {
        let start = Instant::now();
        work();
        start.elapsed()
    };
    (0..runs).map(|_| time(&mut work)).min().unwrap_or_default()
}

fn milliseconds(time: Duration) -> f64 {
    time.as_secs_f64() * 1000.0
}

fn main() {
    println!("One student of an academy of 40; all figures, the day to compare being given");
    for rounds in [50, 150, 500, 1500] {
        // Two in forty of a round's athletes: so many rounds in all give each their share.
        let rolled = Rolled::new(40, rounds * 20);
        let known = rolled.rounds();
        let academy = AcademyFigures::new(&known, rolled.belts());
        let who = AthleteId(7);
        let own: Vec<_> = known.iter().filter(|one| one.seat(who).is_some()).copied().collect();
        let since = Some(date(2025, 11, 1));
        let time = fastest(5, || {
            black_box(academy.student(black_box(&own), who, since));
        });
        println!("{:6} rounds {:9.1} ms", own.len(), milliseconds(time));
    }
    println!("The academy added up once; then everybody's figures, one after the other");
    for (people, rounds) in [(200, 2_500), (200, 5_000), (200, 10_000), (200, 20_000)] {
        let rolled = Rolled::new(people, rounds);
        let known = rolled.rounds();
        let added = fastest(2, || {
            black_box(AcademyFigures::new(black_box(&known), rolled.belts()));
        });
        let academy = AcademyFigures::new(&known, rolled.belts());
        let everybody = fastest(1, || {
            for who in academy.people() {
                black_box(academy.student(&known, who, Some(date(2025, 11, 1))));
            }
        });
        println!(
            "{people:4} people {rounds:6} rounds: added up {:8.1} ms, everybody {:8.1} ms",
            milliseconds(added),
            milliseconds(everybody)
        );
    }
}
