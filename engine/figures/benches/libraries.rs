//! The mathematics on inputs that reference libraries then get too.
//!
//! `cargo bench -p figures --bench libraries -- FOLDER` writes the inputs, its answers and its fastest
//! times to FOLDER; `reference/same_input.py FOLDER` then times the libraries on the same files, holds
//! both answers against each other and prints one table. `make bench-figures` does both.

#![expect(
    clippy::disallowed_methods,
    clippy::disallowed_macros,
    reason = "a benchmark looks at the clock and writes files"
)]

use std::fmt::Write as _;
use std::fs;
use std::hint::black_box;
use std::path::{Path, PathBuf};
use std::time::Instant;

use figures::agreement::AgreementTable;
use figures::competing_risks::cumulative_incidence;
use figures::discoveries::adjusted;
use figures::exact_rates::{Count, rate};
use figures::incidence_test::gray;
use figures::interval::Level;
use figures::observations::Observation;
use figures::proportions::wilson;
use figures::reward_process::Chain;
use figures::sampling::Draws;
use figures::survival::{kaplan_meier, log_rank};

/// Stays in bad positions of an academy of 200 over two years.
const STAYS: usize = 20_000;
/// Stays compared by Gray's test.
const COMPARED: usize = 2_000;
/// Counts and shares with intervals.
const COUNTS: usize = 10_000;
/// Seconds of rounds that two coaches read.
const SECONDS: usize = 100_000;
/// Positions that they tell apart.
const KINDS: usize = 12;
/// Chains of as many states as there are places.
const CHAINS: usize = 1_000;
const STATES: usize = 22;

const LEVEL: Level = Level::NINETY_FIVE;

type Rows = Vec<Vec<f64>>;

/// One line per subject: its name, the fastest run in seconds, and one number that sums the answer.
#[derive(Default)]
struct Results(String);

impl Results {
    fn measure(&mut self, subject: &str, mut work: impl FnMut() -> f64) {
        let (mut best, mut answer) = (f64::INFINITY, 0.0);
        for _ in 0..7 {
            let start = Instant::now();
            answer = black_box(work());
            best = best.min(start.elapsed().as_secs_f64());
        }
        println!("{subject:24} {:10.3} ms", best * 1000.0);
        writeln!(self.0, "{subject},{best:e},{answer:.17e}").expect("a string takes everything");
    }
}

fn stays(draws: &mut Draws) -> Vec<(Observation, usize)> {
    let mut stay = || {
        let group = usize::from(draws.uniform() < 0.3);
        // Whole tenths of a second, so that many end together, as stays set by hand do.
        let hold = -draws.uniform().ln() * if group == 1 { 25.0 } else { 20.0 };
        let drawn = draws.uniform();
        let outcome = match drawn {
            share if share < 0.5 => Some(0),
            share if share < 0.7 => Some(1),
            share if share < 0.85 => Some(2),
            _ => None,
        };
        let time = (hold * 10.0).ceil() / 10.0;
        (Observation { time, outcome, weight: 1.0 }, group)
    };
    (0..STAYS).map(|_| stay()).collect()
}

fn write(folder: &Path, name: &str, lines: impl Iterator<Item = String>) {
    let text: Vec<String> = lines.collect();
    fs::write(folder.join(name), text.join("\n") + "\n").expect("the folder can be written to");
}

fn curves(folder: &Path, draws: &mut Draws, results: &mut Results) {
    let stays = stays(draws);
    let line = |(stay, group): &(Observation, usize)| {
        format!("{},{},{group}", stay.time, stay.outcome.map_or(0, |outcome| outcome + 1))
    };
    write(folder, "stays.csv", stays.iter().map(line));
    let all: Vec<Observation> = stays.iter().map(|stay| stay.0).collect();
    results.measure("cumulative incidence", || {
        let curves = cumulative_incidence(&all, 3, LEVEL).expect("stays make a curve");
        curves.steps().iter().map(|step| step.outcomes[0].incidence).sum()
    });
    let once: Vec<Observation> =
        all.iter().map(|stay| Observation { outcome: stay.outcome.map(|_| 0), ..*stay }).collect();
    results.measure("Kaplan-Meier", || {
        let curve = kaplan_meier(&once, LEVEL).expect("stays make a curve");
        curve.steps().iter().map(|step| step.survival).sum()
    });
    let part = |of: &[Observation], wanted: usize, most: usize| -> Vec<Observation> {
        let pairs = of.iter().zip(&stays).take(most);
        pairs.filter(|(_, stay)| stay.1 == wanted).map(|(one, _)| *one).collect()
    };
    let groups = [0, 1].map(|group| part(&once, group, STAYS));
    results.measure("log-rank", || {
        log_rank(&[&groups[0], &groups[1]]).expect("two groups compare").chi_square
    });
    let groups = [0, 1].map(|group| part(&all, group, COMPARED));
    results.measure("Gray", || {
        gray(&[&groups[0], &groups[1]], 0, 3).expect("two groups compare").chi_square
    });
}

fn counts(folder: &Path, draws: &mut Draws, results: &mut Results) {
    let counts: Vec<(f64, f64)> = (0..COUNTS)
        .map(|_| ((draws.uniform() * 40.0).floor(), (draws.uniform() * 99.0).ceil() + 1.0))
        .collect();
    write(folder, "counts.csv", counts.iter().map(|(events, of)| format!("{events},{of}")));
    let of: Vec<Count> =
        counts.iter().map(|(events, of)| Count::new(*events, *of).expect("a count")).collect();
    results.measure("Poisson intervals", || {
        of.iter().map(|count| rate(*count, LEVEL).interval.high()).sum()
    });
    results.measure("Wilson intervals", || {
        let share = |(events, more): &(f64, f64)| wilson(*events, events + more, LEVEL);
        counts.iter().map(|one| share(one).expect("a share").interval.high()).sum()
    });
    let p_values: Vec<f64> = (0..COUNTS).map(|_| draws.uniform().powi(2)).collect();
    write(folder, "p_values.csv", p_values.iter().map(|p| format!("{p:e}")));
    results.measure("Benjamini-Hochberg", || adjusted(&p_values).expect("p-values").iter().sum());
}

fn readings(folder: &Path, draws: &mut Draws, results: &mut Results) {
    let seconds: Vec<(usize, usize)> = (0..SECONDS)
        .map(|_| {
            let one = (draws.uniform() * KINDS as f64) as usize;
            let same = draws.uniform() < 0.8;
            (one, if same { one } else { (draws.uniform() * KINDS as f64) as usize })
        })
        .collect();
    write(folder, "readings.csv", seconds.iter().map(|(one, other)| format!("{one},{other}")));
    results.measure("kappa", || {
        let mut table = vec![vec![0.0; KINDS]; KINDS];
        for (one, other) in &seconds {
            table[*one][*other] += 1.0;
        }
        let table = AgreementTable::new(&table).expect("a table");
        table.kappa(LEVEL).expect("they differ").value
    });
}

fn chains(folder: &Path, draws: &mut Draws, results: &mut Results) {
    let chains: Vec<Rows> = (0..CHAINS)
        .map(|_| {
            (0..STATES).map(|_| draws.dirichlet(&[0.7; STATES + 1]).expect("shares")).collect()
        })
        .collect();
    let lines = chains
        .iter()
        .flatten()
        .map(|row| row.iter().map(|chance| format!("{chance:e}")).collect::<Vec<_>>().join(","));
    write(folder, "chains.csv", lines);
    let split: Vec<(Rows, Rows)> = (chains.iter())
        .map(|chain| {
            let to = chain.iter().map(|row| row[..STATES].to_vec()).collect();
            (to, chain.iter().map(|row| row[STATES..].to_vec()).collect())
        })
        .collect();
    let rewards: Vec<f64> = (0..STATES).map(|state| state as f64 - 10.0).collect();
    results.measure("values of chains", || {
        let value = |(to, ends): &(Rows, Rows)| {
            Chain::new(to, ends).and_then(|chain| chain.values(&rewards)).expect("they end")[0]
        };
        split.iter().map(value).sum()
    });
}

fn main() {
    // `cargo bench` adds a flag of its own.
    let folder = std::env::args().skip(1).find(|argument| !argument.starts_with("--"));
    let folder = PathBuf::from(folder.unwrap_or_else(|| env!("CARGO_TARGET_TMPDIR").to_owned()));
    fs::create_dir_all(&folder).expect("the folder can be made");
    let (mut draws, mut results) = (Draws::from_seed(41), Results::default());
    curves(&folder, &mut draws, &mut results);
    counts(&folder, &mut draws, &mut results);
    readings(&folder, &mut draws, &mut results);
    chains(&folder, &mut draws, &mut results);
    fs::write(folder.join("answers.csv"), results.0).expect("the folder can be written to");
}
