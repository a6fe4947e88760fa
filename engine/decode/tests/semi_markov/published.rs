//! Worked examples with printed results (FACTS E11).

#[path = "../../benches/invented.rs"]
mod invented;

use decode::semi_markov::{
    Arc, Durations, Ending, Lattice, MarkovChain, Model, Path, Posterior, Weights, Workspace,
};

/// A plain hidden Markov model, in probabilities.
struct Chain<'a> {
    initial: &'a [f64],
    transitions: &'a [f64],
    /// One row per state, one column per symbol.
    emissions: &'a [f64],
}

impl Chain<'_> {
    fn decode(&self, seen: &[usize]) -> (Posterior, Path) {
        let states = self.initial.len();
        let symbols = self.emissions.len() / states;
        let chain = MarkovChain::new(&logs(self.initial), &logs(self.transitions)).unwrap();
        let emissions: Vec<f64> = seen
            .iter()
            .flat_map(|&x| (0..states).map(move |s| self.emissions[s * symbols + x].ln()))
            .collect();
        decode(chain.lattice(), &emissions, &chain.arc_weights(seen.len()))
    }
}

fn logs(shares: &[f64]) -> Vec<f64> {
    shares.iter().map(|share| share.ln()).collect()
}

fn decode(lattice: &Lattice, emissions: &[f64], arcs: &[f64]) -> (Posterior, Path) {
    let weights = Weights::new(emissions, arcs);
    let (mut workspace, mut posterior, mut path) = Default::default();
    lattice.posterior(&weights, &mut workspace, &mut posterior).unwrap();
    lattice.best_path(&weights, &mut workspace, &mut path).unwrap();
    (posterior, path)
}

/// The state of every bin.
fn states(path: &Path) -> Vec<usize> {
    path.segments.iter().flat_map(|s| std::iter::repeat_n(s.state, s.end - s.start)).collect()
}

/// Every second entry, from the first: the marginals of state 0 of two.
fn of_first_state(posterior: &Posterior) -> Vec<f64> {
    posterior.state_marginal.iter().step_by(2).copied().collect()
}

#[track_caller]
fn assert_close(found: &[f64], printed: &[f64], tolerance: f64) {
    assert_eq!(found.len(), printed.len());
    for (found, printed) in found.iter().zip(printed) {
        assert!((found - printed).abs() <= tolerance, "{found} is not {printed}");
    }
}

/// Source: the Healthy/Fever example as worked at thoughtfulexaminations.com,
/// "The Viterbi algorithm: the solution"; smoothed values computed with hmmlearn.
#[test]
fn healthy_or_fever() {
    let chain = Chain {
        initial: &[0.6, 0.4],
        transitions: &[0.7, 0.3, 0.4, 0.6],
        emissions: &[0.5, 0.4, 0.1, 0.1, 0.3, 0.6],
    };
    let (posterior, path) = chain.decode(&[0, 1, 2]);
    assert_close(&[posterior.log_total.exp()], &[0.03628], 1e-12);
    assert_close(&of_first_state(&posterior), &[0.876516, 0.622933, 0.212128], 5e-7);
    assert_eq!(states(&path), [0, 0, 1]);
    assert_close(&[path.log_weight.exp()], &[0.01512], 1e-12);
    // The chances of the changes follow from the same worked forward and backward values.
    assert_close(
        &posterior.arc_marginal,
        &[
            0.0,
            0.0,
            0.3 * 0.3 * 0.3 * 0.4 / 0.03628,
            0.04 * 0.4 * 0.4 * 0.25 / 0.03628,
            0.0904 * 0.3 * 0.6 / 0.03628,
            0.0342 * 0.4 * 0.1 / 0.03628,
        ],
        1e-12,
    );
}

/// Source: Russell and Norvig, "Artificial Intelligence", the umbrella world; the longer sequence
/// computed with hmmlearn. The start is in the slice of the first observation.
#[test]
fn umbrella() {
    let chain = Chain {
        initial: &[0.5, 0.5],
        transitions: &[0.7, 0.3, 0.3, 0.7],
        emissions: &[0.9, 0.1, 0.2, 0.8],
    };
    let (posterior, _) = chain.decode(&[0, 0]);
    assert_close(&of_first_state(&posterior), &[0.883357, 0.883357], 5e-7);

    let seen = [0, 0, 1, 0, 0];
    let (posterior, path) = chain.decode(&seen);
    let smoothed = [0.867339, 0.820419, 0.307484, 0.820419, 0.867339];
    assert_close(&of_first_state(&posterior), &smoothed, 5e-7);
    assert_eq!(states(&path), [0, 0, 1, 0, 0]);
    // Filtering is smoothing of what was seen so far, read at its last bin.
    for (t, filtered) in [0.818182, 0.883357, 0.190668, 0.730794, 0.867339].iter().enumerate() {
        let (posterior, _) = chain.decode(&seen[..=t]);
        assert_close(&of_first_state(&posterior)[t..], &[*filtered], 5e-7);
    }
}

const ROLLS: &str = "315116246446644245311321631164152133625144543631656626566666\
                     651166453132651245636664631636663162326455236266666625151631\
                     222555441666566563564324364131513465146353411126414626253356\
                     366163666466232534413661661163252562462255265252266435353336\
                     233121625364414432335163243633665562466662632666612355245242";

fn casino() -> Chain<'static> {
    Chain {
        initial: &[0.5, 0.5],
        transitions: &[0.95, 0.05, 0.1, 0.9],
        emissions: &[
            1.0 / 6.0,
            1.0 / 6.0,
            1.0 / 6.0,
            1.0 / 6.0,
            1.0 / 6.0,
            1.0 / 6.0,
            0.1,
            0.1,
            0.1,
            0.1,
            0.1,
            0.5,
        ],
    }
}

/// Source: Durbin, Eddy, Krogh and Mitchison, "Biological sequence analysis" (1998), figure 3.5
/// (rolls and path from memory); log weights computed with hmmlearn.
#[test]
fn occasionally_dishonest_casino() {
    let seen: Vec<usize> = ROLLS.bytes().map(|roll| usize::from(roll - b'1')).collect();
    assert_eq!(seen.len(), 300);
    let (posterior, path) = casino().decode(&seen);
    assert_close(&[posterior.log_total, path.log_weight], &[-516.927712, -539.494003], 5e-7);
    let runs: Vec<(usize, usize)> =
        path.segments.iter().map(|s| (s.state, s.end - s.start)).collect();
    let printed = [(0, 48), (1, 18), (0, 12), (1, 34), (0, 67), (1, 13), (0, 78), (1, 19), (0, 11)];
    assert_eq!(runs, printed);
}

/// Computed with hmmlearn: six sixes from the start.
#[test]
fn six_sixes() {
    let (posterior, path) = casino().decode(&[5; 6]);
    assert_close(&[posterior.log_total.exp()], &[0.005075263], 5e-10);
    assert_close(&[path.log_weight.exp()], &[0.004613203], 5e-10);
    assert_eq!(states(&path), [1; 6]);
}

/// Computed with hmmlearn 0.3.3 by `benches/reference/hmm_reference.py`: the chain that the
/// benchmarks compare, over six minutes and three hours.
#[test]
fn chain_of_the_benchmarks() {
    for (bins, total, best) in
        [(720, -2672.340533786, -2738.316523542), (21_600, -80164.093628131, -81850.642147262)]
    {
        let chain = invented::chain(bins);
        let (posterior, path) = decode(chain.chain.lattice(), &chain.emissions, &chain.arc_weights);
        assert_close(&[posterior.log_total, path.log_weight], &[total, best], 2e-7);
    }
}

/// The round of the benchmarks is one that can be decoded, and its decoding holds together over
/// three hours: shares sum to one, and the best path is no heavier than all paths.
#[test]
fn three_hour_talk() {
    let round = invented::round(21_600);
    let (posterior, path) = decode(&round.lattice, &round.emissions, &round.arc_weights);
    for row in posterior.state_marginal.chunks(round.lattice.states()) {
        assert_close(&[row.iter().sum()], &[1.0], 1e-10);
    }
    assert!(path.log_weight < posterior.log_total);
    assert!(path.segments.len() > 100);
}

/// Two states that always alternate, with tabulated durations; sums over every segmentation were
/// written out by hand.
fn alternating(ending: Ending) -> (Posterior, Path) {
    let durations = [
        (logs(&[0.2, 0.5, 0.3]), logs(&[1.0, 0.8, 0.3])),
        (logs(&[0.4, 0.4, 0.2]), logs(&[1.0, 0.6, 0.2])),
    ];
    let durations: Vec<Durations> = durations
        .iter()
        .map(|(exactly, at_least)| Durations { exactly, at_least, tail: f64::NEG_INFINITY })
        .collect();
    let arcs = [Arc { from: 0, to: 1 }, Arc { from: 1, to: 0 }];
    let initial = logs(&[0.5, 0.5]);
    let model = Model { initial: &initial, arcs: &arcs, durations: &durations, ending };
    let (a, b) = ([0.8, 0.3], [0.2, 0.7]);
    let emissions = logs(&[a, a, b, b, a].concat());
    decode(&Lattice::new(&model).unwrap(), &emissions, &[0.0; 10])
}

#[test]
fn last_segment_ends_exactly() {
    let (posterior, path) = alternating(Ending::Exact);
    assert_close(&[posterior.log_total.exp()], &[0.0194460096], 5e-11);
    let printed = [0.879586, 0.899526, 0.186862, 0.284449, 0.613248];
    assert_close(&of_first_state(&posterior), &printed, 5e-7);
    assert_eq!(states(&path), [0, 0, 1, 1, 0]);
    assert_eq!(path.segments.len(), 3);
    assert_close(&[path.log_weight.exp()], &[0.0050176], 1e-12);
}

#[test]
fn last_segment_is_cut_off() {
    let (posterior, path) = alternating(Ending::CutOff);
    assert_close(&[posterior.log_total.exp()], &[0.05132200], 5e-9);
    let printed = [0.894169, 0.911902, 0.182958, 0.176815, 0.820470];
    assert_close(&of_first_state(&posterior), &printed, 5e-7);
    assert_eq!(states(&path), [0, 0, 1, 1, 0]);
    assert_close(&[path.log_weight.exp()], &[0.025088], 1e-12);
}

/// A workspace that has seen a larger problem gives the same answer.
#[test]
fn workspace_keeps_nothing() {
    let chain = MarkovChain::new(&logs(&[0.5, 0.5]), &logs(&[0.9, 0.1, 0.2, 0.8])).unwrap();
    let emissions: Vec<f64> = (0..80).map(|i| f64::from(i * 37 % 11) / -3.0).collect();
    let arcs = chain.arc_weights(40);
    let large = Weights::new(&emissions, &arcs);
    let small = Weights::new(&emissions[..14], &arcs[..14]);
    let (mut used, mut posterior, mut path) =
        (Workspace::new(), Posterior::default(), Path::default());
    for weights in [large, small, large, small] {
        chain.lattice().posterior(&weights, &mut used, &mut posterior).unwrap();
        chain.lattice().best_path(&weights, &mut used, &mut path).unwrap();
        let fresh = decode(chain.lattice(), weights.emissions, weights.arcs);
        assert_eq!((&posterior, &path), (&fresh.0, &fresh.1));
    }
}
