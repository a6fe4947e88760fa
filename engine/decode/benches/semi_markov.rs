//! Speed of the semi-Markov decoder: a six-minute round, a three-hour talk, a plain chain.

mod invented;

use criterion::{BenchmarkId, Criterion, Throughput, criterion_group, criterion_main};
use decode::semi_markov::{Lattice, Path, Posterior, Weights, Workspace};
use std::hint::black_box;

/// Six minutes and three hours of half seconds.
const BINS: [usize; 2] = [720, 21_600];

fn both(criterion: &mut Criterion, name: &str, bins: usize, lattice: &Lattice, weights: Weights) {
    let mut group = criterion.benchmark_group(name);
    group.throughput(Throughput::Elements(bins as u64));
    if bins > 10_000 {
        group.sample_size(10);
    }
    let mut workspace = Workspace::new();
    let mut posterior = Posterior::default();
    group.bench_function(BenchmarkId::new("posterior", bins), |bencher| {
        bencher.iter(|| {
            lattice.posterior(black_box(&weights), &mut workspace, &mut posterior).is_ok()
        });
    });
    let mut path = Path::default();
    group.bench_function(BenchmarkId::new("best_path", bins), |bencher| {
        bencher.iter(|| lattice.best_path(black_box(&weights), &mut workspace, &mut path).is_ok());
    });
    group.finish();
}

fn rounds(criterion: &mut Criterion) {
    for bins in BINS {
        let round = invented::round(bins);
        let weights = Weights::new(&round.emissions, &round.arc_weights);
        both(criterion, "round", bins, &round.lattice, weights);
    }
}

fn chains(criterion: &mut Criterion) {
    for bins in BINS {
        let chain = invented::chain(bins);
        let weights = Weights::new(&chain.emissions, &chain.arc_weights);
        both(criterion, "chain", bins, chain.chain.lattice(), weights);
    }
}

criterion_group!(benches, rounds, chains);
criterion_main!(benches);
