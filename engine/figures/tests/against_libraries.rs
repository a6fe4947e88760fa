//! The crate against reference libraries on random inputs. `reference/make_reference.py` names the
//! libraries and makes the recorded readings anew.

use std::collections::HashMap;

use figures::agreement::AgreementTable;
use figures::competing_risks::cumulative_incidence;
use figures::discoveries::adjusted;
use figures::distributions as dist;
use figures::exact_rates::{Count, least_likely_p_value, rate, rate_ratio};
use figures::incidence_test::gray;
use figures::interval::{Interval, Level};
use figures::observations::Observation;
use figures::pooling::{BetaPrior, GammaPrior, likeliest_rates, likeliest_shares};
use figures::proportions::{clopper_pearson, difference, wilson};
use figures::reward_process::Chain;
use figures::special_functions::{digamma, ln_gamma};
use figures::survival::{kaplan_meier, log_rank};
use figures::trend::{mean_trend, rate_trend};

/// One recorded case: lists of numbers by column.
struct Case {
    line: usize,
    cells: HashMap<String, Vec<f64>>,
}

impl Case {
    fn list(&self, column: &str) -> &[f64] {
        &self.cells[column]
    }

    fn get(&self, column: &str) -> f64 {
        self.cells[column][0]
    }

    fn level(&self) -> Level {
        Level::new(self.get("level")).unwrap()
    }

    /// Within `tolerance`, relative where the recorded value is above 1 or below a thousandth.
    fn holds_to(&self, column: &str, found: f64, tolerance: f64) {
        self.holds_list(column, &[found], tolerance);
    }

    fn holds(&self, column: &str, found: f64) {
        self.holds_to(column, found, 1e-9);
    }

    fn holds_list(&self, column: &str, found: &[f64], tolerance: f64) {
        let recorded = self.list(column);
        assert_eq!(recorded.len(), found.len(), "line {} {column}", self.line);
        for (recorded, found) in recorded.iter().zip(found) {
            let size = if recorded.abs() > 1e-3 { recorded.abs().max(1.0) } else { recorded.abs() };
            let near = (recorded - found).abs() <= tolerance * size.max(1e-6);
            assert!(
                near || recorded == found,
                "line {} {column}: {recorded:e} recorded, {found:e} found",
                self.line
            );
        }
    }

    fn holds_interval(&self, low: &str, high: &str, found: Interval) {
        self.holds(low, found.low());
        self.holds(high, found.high());
    }
}

fn cases(subject: &str, least: usize) -> Vec<Case> {
    let path = format!("{}/tests/reference/{subject}.csv", env!("CARGO_MANIFEST_DIR"));
    let text = std::fs::read_to_string(&path).unwrap();
    let mut lines = text.lines();
    let header: Vec<String> = lines.next().unwrap().split(',').map(str::to_owned).collect();
    let case = |(at, line): (usize, &str)| {
        let list = |cell: &str| {
            cell.split(' ').map(|number| number.parse().unwrap()).collect::<Vec<f64>>()
        };
        let cells = header.iter().cloned().zip(line.split(',').map(list)).collect();
        Case { line: at + 2, cells }
    };
    let cases: Vec<Case> = lines.enumerate().map(case).collect();
    assert!(cases.len() >= least, "{subject} has only {} cases", cases.len());
    cases
}

#[test]
fn distributions() {
    for case in cases("distributions", 500) {
        let (a, b, p, x) = (case.get("a"), case.get("b"), case.get("p"), case.get("x"));
        let degrees = case.get("degrees");
        case.holds("gamma_lower", dist::gamma_lower(a, x));
        case.holds("gamma_upper", dist::gamma_upper(a, x));
        case.holds("beta_lower", dist::beta_lower(a, b, p));
        case.holds("ln_gamma", ln_gamma(a));
        case.holds("digamma", digamma(a));
        case.holds("normal", dist::normal_quantile(p));
        case.holds("gamma", dist::gamma_quantile(p, a));
        case.holds("beta", dist::beta_quantile(p, a, b));
        case.holds("student", dist::student_quantile(p, degrees));
        case.holds("chi_square", dist::chi_square_upper(x, degrees as usize));
    }
}

#[test]
fn proportions() {
    for case in cases("proportions", 1000) {
        let (x, n, level) = (case.get("x"), case.get("n"), case.level());
        let (y, m) = (case.get("y"), case.get("m"));
        case.holds_interval("wilson_low", "wilson_high", wilson(x, n, level).unwrap().interval);
        let exact = clopper_pearson(x, n, level).unwrap().interval;
        case.holds_interval("exact_low", "exact_high", exact);
        let apart = difference((x, n), (y, m), level).unwrap().interval;
        case.holds_interval("difference_low", "difference_high", apart);
    }
}

#[test]
fn rates_and_their_ratios() {
    for case in cases("rates", 1000) {
        let (k, e, l, f) = (case.get("k"), case.get("e"), case.get("l"), case.get("f"));
        let (first, second) = (Count::new(k, e).unwrap(), Count::new(l, f).unwrap());
        case.holds_interval("low", "high", rate(first, case.level()).interval);
        let ratio = rate_ratio(first, second, case.level()).unwrap();
        case.holds_interval("ratio_low", "ratio_high", ratio.interval);
        case.holds("p_central", ratio.p_value);
        case.holds("p_least", least_likely_p_value((k as u32, e), (l as u32, f)).unwrap());
    }
}

#[test]
fn curves_over_time_and_their_tests() {
    for case in cases("curves", 1000) {
        let outcomes = case.get("outcomes") as usize;
        let codes = case.list("time").iter().zip(case.list("code"));
        let observations: Vec<Observation> = codes
            .map(|(&time, &code)| match code as usize {
                0 => Observation::cut(time),
                outcome => Observation::ended(time, outcome - 1),
            })
            .collect();
        let at = case.get("at");
        let curve = kaplan_meier(&observations, Level::NINETY_FIVE).unwrap();
        let step = curve.at(at).unwrap();
        case.holds("survival", step.survival);
        case.holds_interval("low", "high", step.interval);
        case.holds("median", curve.median().time.unwrap_or(f64::INFINITY));

        let curves = cumulative_incidence(&observations, outcomes, Level::NINETY_FIVE).unwrap();
        let shown = &curves.at(at).unwrap().outcomes;
        let all = |part: fn(&figures::competing_risks::OutcomeAt) -> f64| -> Vec<f64> {
            shown.iter().map(part).collect()
        };
        case.holds_list("incidence", &all(|one| one.incidence), 1e-9);
        case.holds_list("incidence_low", &all(|one| one.interval.low()), 1e-9);
        case.holds_list("incidence_high", &all(|one| one.interval.high()), 1e-9);

        let groups: Vec<Vec<Observation>> = (0..3)
            .map(|group| {
                let own = observations.iter().zip(case.list("group"));
                own.filter(|one| *one.1 as usize == group).map(|one| *one.0).collect()
            })
            .filter(|group: &Vec<Observation>| !group.is_empty())
            .collect();
        let groups: Vec<&[Observation]> = groups.iter().map(Vec::as_slice).collect();
        let rank = log_rank(&groups).unwrap();
        case.holds("rank_chi", rank.chi_square);
        case.holds("rank_p", rank.p_value);
        let test = gray(&groups, 0, outcomes).unwrap();
        case.holds("gray_chi", test.chi_square);
        case.holds("gray_p", test.p_value);
    }
}

#[test]
fn posteriors() {
    for case in cases("posteriors", 500) {
        let (shape, rate, level) = (case.get("shape"), case.get("rate"), Level::NINETY_FIVE);
        let count = Count::new(case.get("k"), case.get("e")).unwrap();
        let shrunk = GammaPrior::new(shape, rate).unwrap().shrink(count, level);
        case.holds("rate_mean", shrunk.value);
        case.holds_interval("rate_low", "rate_high", shrunk.interval);
        let prior = BetaPrior::new(shape, rate).unwrap();
        let shrunk = prior.shrink(case.get("x"), case.get("n"), level).unwrap();
        case.holds("share_mean", shrunk.value);
        case.holds_interval("share_low", "share_high", shrunk.interval);
    }
}

/// The library finds the top only by comparing heights, so its place is known to six digits or so.
#[test]
fn the_spread_of_a_group() {
    for case in cases("pools", 20) {
        let counts = case.list("k").iter().zip(case.list("e"));
        let members: Vec<Count> = counts.map(|(&k, &e)| Count::new(k, e).unwrap()).collect();
        let (mean, strength) = likeliest_rates(&members).unwrap();
        let found = [mean * strength, strength];
        case.holds_list("gamma", &found, 1e-5);
        let counts = case.list("x").iter().zip(case.list("n"));
        let members: Vec<(f64, f64)> = counts.map(|(&x, &n)| (x, n)).collect();
        let (mean, strength) = likeliest_shares(&members).unwrap();
        let found = [mean * strength, (1.0 - mean) * strength];
        case.holds_list("beta", &found, 1e-5);
    }
}

fn square(list: &[f64], size: usize) -> Vec<Vec<f64>> {
    list.chunks(size).map(<[f64]>::to_vec).collect()
}

#[test]
fn agreement() {
    for case in cases("agreement", 500) {
        let size = case.get("size") as usize;
        let table = AgreementTable::new(&square(case.list("table"), size)).unwrap();
        let kappa = table.kappa(Level::NINETY_FIVE).unwrap();
        case.holds("kappa", kappa.value);
        case.holds("error", kappa.standard_error);
        case.holds("error_by_chance", table.kappa_error_by_chance().unwrap());
        let weight = |i: usize| (0..size).map(|j| i.abs_diff(j) as f64).collect();
        let weights: Vec<Vec<f64>> = (0..size).map(weight).collect();
        case.holds("weighted", table.weighted_kappa(&weights).unwrap());
        let ac1 = table.ac1(Level::NINETY_FIVE);
        case.holds("ac1", ac1.value);
        case.holds("ac1_error", ac1.standard_error);
    }
}

#[test]
fn discoveries() {
    for case in cases("discoveries", 500) {
        case.holds_list("adjusted", &adjusted(case.list("p")).unwrap(), 1e-9);
    }
}

#[test]
fn trends() {
    for case in cases("trends", 500) {
        let counts = case.list("y").iter().zip(case.list("e"));
        let counts = counts.map(|(&y, &e)| Count::new(y, e).unwrap());
        let points: Vec<(f64, Count)> = case.list("t").iter().copied().zip(counts).collect();
        let trend = rate_trend(&points, Level::NINETY_FIVE).unwrap();
        case.holds("log_slope", trend.log_slope);
        case.holds("error", trend.standard_error);
        case.holds("dispersion", trend.dispersion);
        let values = case.list("t").iter().zip(case.list("value")).zip(case.list("e"));
        let points: Vec<(f64, f64, f64)> = values.map(|((&t, &y), &w)| (t, y, w)).collect();
        let trend = mean_trend(&points, Level::NINETY_FIVE).unwrap();
        case.holds("slope", trend.slope.value);
        case.holds("slope_error", trend.standard_error);
        case.holds_interval("slope_low", "slope_high", trend.slope.interval);
        case.holds("slope_p", trend.p_value);
    }
}

#[test]
fn chains() {
    for case in cases("chains", 500) {
        let (states, ends) = (case.get("states") as usize, case.get("ends") as usize);
        let mut rows = square(case.list("rows"), states + ends);
        for row in &mut rows {
            let sum: f64 = row.iter().sum();
            row.iter_mut().for_each(|entry| *entry /= sum);
        }
        let out: Vec<Vec<f64>> = rows.iter_mut().map(|row| row.split_off(states)).collect();
        let chain = Chain::new(&rows, &out).unwrap();
        case.holds_list("ending", &chain.ends().unwrap().concat(), 1e-9);
        case.holds_list("values", &chain.values(case.list("reward")).unwrap(), 1e-9);
        let (mean, variance) = chain.steps().unwrap();
        case.holds_list("steps", &mean, 1e-9);
        case.holds_list("variance", &variance, 1e-9);
    }
}
