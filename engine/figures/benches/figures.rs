//! How fast all figures of a student and of an academy are worked out, and how that grows.
//!
//! `cargo bench -p figures --bench figures`. Prints the fastest of several runs, and how much memory
//! the program has taken at most by then; the reference libraries are met by `libraries.rs`.

#![expect(
    clippy::disallowed_methods,
    clippy::disallowed_macros,
    reason = "a benchmark looks at the clock and prints"
)]

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
use simulated::{Ways, round};

/// Rounds of an invented academy: everybody rolls with everybody, five minutes each, over two
/// years.
struct Rolled {
    people: i64,
    ledgers: Vec<Ledger>,
}

impl Rolled {
    fn new(people: i64, rounds: usize) -> Rolled {
        let mut draws = Draws::from_seed(2_026);
        let ways: Vec<Ways> = (0..people).map(|_| Ways::near_plain(8.0, &mut draws)).collect();
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
                kind: if at.is_multiple_of(3) { RoundKind::Hard } else { RoundKind::Flow },
                gi: at.is_multiple_of(2),
                athletes: [AthleteId((at % people) as i64), AthleteId(partner as i64)],
                length: 300.0,
                ledger,
                confirmed: at.is_multiple_of(2),
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

/// The most memory this process has held so far, in MiB; 0 where the system doesn't tell.
fn most_memory() -> u64 {
    let status = std::fs::read_to_string("/proc/self/status").unwrap_or_default();
    let line = status.lines().find_map(|line| line.strip_prefix("VmHWM:"));
    let kibibytes = line.and_then(|line| line.split_whitespace().next()?.parse::<u64>().ok());
    kibibytes.unwrap_or(0) / 1024
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
    println!("The academy added up once; then everybody's figures, shared out among two cores");
    for (people, rounds) in [(200, 2_500), (200, 5_000), (200, 10_000), (200, 20_000)] {
        let rolled = Rolled::new(people, rounds);
        let known = rolled.rounds();
        let added = fastest(2, || {
            black_box(AcademyFigures::new(black_box(&known), rolled.belts()));
        });
        let academy = AcademyFigures::new(&known, rolled.belts());
        let all: Vec<AthleteId> = academy.people().collect();
        let work = |people: &[AthleteId]| {
            for who in people {
                black_box(academy.student(&known, *who, Some(date(2025, 11, 1))));
            }
        };
        let everybody = fastest(2, || {
            std::thread::scope(|scope| {
                for half in all.chunks(all.len().div_ceil(2)) {
                    scope.spawn(|| work(half));
                }
            });
        });
        println!(
            "{people:4} people {rounds:6} rounds: added up {:8.1} ms, everybody {:8.1} ms, {} MiB",
            milliseconds(added),
            milliseconds(everybody),
            most_memory()
        );
    }
}
