//! Invented models and weights: the same numbers on every machine and in `hmm_reference.py`.

use decode::semi_markov::{Arc, Durations, Ending, Lattice, MarkovChain, Model};

/// A linear congruential generator (Knuth's constants), easy to write in any language.
pub(crate) struct Draws(u64);

impl Draws {
    pub(crate) fn new(seed: u64) -> Self {
        Draws(seed)
    }

    /// At least 0, less than 1, in steps of 2⁻³².
    pub(crate) fn next(&mut self) -> f64 {
        self.0 =
            self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        (self.0 >> 32) as f64 / 4_294_967_296.0
    }

    /// Positive shares that sum to 1.
    fn shares(&mut self, count: usize) -> Vec<f64> {
        let draws: Vec<f64> = (0..count).map(|_| self.next() + 0.05).collect();
        let sum: f64 = draws.iter().sum();
        draws.iter().map(|draw| draw / sum).collect()
    }
}

/// A model of the size and looks of a sparring round, with weights for `bins` half seconds.
pub(crate) struct Round {
    pub(crate) lattice: Lattice,
    pub(crate) emissions: Vec<f64>,
    pub(crate) arc_weights: Vec<f64>,
}

/// States of a [`Round`].
const STATES: usize = 25;
/// Tabulated durations: one minute of half seconds.
const LONGEST: usize = 120;
/// Arcs out of every state but some.
const ARCS: usize = 160;

/// 25 states, 120 tabulated durations with a geometric tail, 160 arcs. Durations are gamma-like,
/// none shorter than 1.5 s. Most bins say little; every twentieth speaks strongly for a few states,
/// and lifts a few arcs there.
pub(crate) fn round(bins: usize) -> Round {
    let mut draws = Draws::new(1);
    let arcs: Vec<Arc> = (0..ARCS)
        .map(|i| {
            let (from, step) = (i % STATES, 1 + (draws.next() * 24.0) as usize);
            Arc { from, to: (from + step) % STATES }
        })
        .collect();
    let tables: Vec<(Vec<f64>, Vec<f64>, f64)> = (0..STATES)
        .map(|_| {
            let (scale, goes_on) = (4.0 + 16.0 * draws.next(), 0.9 + 0.08 * draws.next());
            let heights: Vec<f64> = (1..=LONGEST)
                .map(|d| if d < 3 { 0.0 } else { d as f64 * (-(d as f64) / scale).exp() })
                .collect();
            let beyond = heights[LONGEST - 1] * goes_on / (1.0 - goes_on);
            let sum: f64 = heights.iter().sum::<f64>() + beyond;
            let mut left = sum;
            let mut at_least = Vec::new();
            for height in &heights {
                at_least.push((left / sum).ln());
                left -= height;
            }
            // The last entry of both tables belongs to the tail.
            at_least[LONGEST - 1] = (heights[LONGEST - 1] / (1.0 - goes_on) / sum).ln();
            (heights.iter().map(|height| (height / sum).ln()).collect(), at_least, goes_on.ln())
        })
        .collect();
    let durations: Vec<Durations> = tables
        .iter()
        .map(|(exactly, at_least, tail)| Durations { exactly, at_least, tail: *tail })
        .collect();
    let initial: Vec<f64> = draws.shares(STATES).iter().map(|share| share.ln()).collect();
    let model =
        Model { initial: &initial, arcs: &arcs, durations: &durations, ending: Ending::CutOff };
    let base: Vec<f64> = (0..ARCS).map(|_| -1.0 - 3.0 * draws.next()).collect();
    let (mut emissions, mut arc_weights) = (Vec::new(), Vec::new());
    for bin in 0..bins {
        let spoken = bin % 20 == 7;
        for _ in 0..STATES {
            let draw = draws.next();
            emissions.push(match spoken {
                true if draw > 0.12 => -3.0 - 3.0 * draws.next(),
                true => 0.0,
                false => -0.1 * draw,
            });
        }
        for weight in &base {
            let lift = if spoken && draws.next() < 0.1 { 3.0 } else { 0.0 };
            arc_weights.push(weight + lift);
        }
    }
    let lattice = Lattice::new(&model).unwrap_or_else(|error| unreachable!("{error}"));
    Round { lattice, emissions, arc_weights }
}

/// A first-order chain of 25 states and 40 symbols, and a sequence of symbols drawn evenly.
pub(crate) struct Chain {
    pub(crate) chain: MarkovChain,
    pub(crate) emissions: Vec<f64>,
    pub(crate) arc_weights: Vec<f64>,
}

/// The chain that `hmm_reference.py` builds as well, over `bins` symbols.
pub(crate) fn chain(bins: usize) -> Chain {
    const SYMBOLS: usize = 40;
    let mut draws = Draws::new(7);
    let logs = |shares: Vec<f64>| shares.into_iter().map(f64::ln).collect::<Vec<f64>>();
    let initial = logs(draws.shares(STATES));
    let mut transitions = Vec::new();
    for state in 0..STATES {
        let mut row = draws.shares(STATES);
        row.iter_mut().for_each(|share| *share *= 0.05);
        row[state] += 0.95;
        transitions.extend(logs(row));
    }
    let symbols: Vec<Vec<f64>> = (0..STATES).map(|_| logs(draws.shares(SYMBOLS))).collect();
    let mut emissions = Vec::new();
    for _ in 0..bins {
        let symbol = (draws.next() * SYMBOLS as f64) as usize;
        emissions.extend(symbols.iter().map(|row| row[symbol]));
    }
    let chain =
        MarkovChain::new(&initial, &transitions).unwrap_or_else(|error| unreachable!("{error}"));
    let arc_weights = chain.arc_weights(bins);
    Chain { chain, emissions, arc_weights }
}
