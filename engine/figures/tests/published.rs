//! Published worked examples, each with its source.

use figures::agreement::AgreementTable;
use figures::competing_risks::cumulative_incidence;
use figures::discoveries::adjusted;
use figures::exact_rates::{Count, least_likely_p_value, rate, rate_ratio};
use figures::interval::{Interval, Level};
use figures::observations::Observation;
use figures::pooling::{BetaPrior, GammaPrior, james_stein, likeliest_shares};
use figures::proportions::{difference, wilson};
use figures::reward_process::{Chain, held};
use figures::sampling::{Draws, split_mix};
use figures::survival::{kaplan_meier, log_rank};
use figures::trend::{mean_trend, rate_trend};

const LEVEL: Level = Level::NINETY_FIVE;

fn near(found: f64, published: f64, tolerance: f64) {
    assert!((found - published).abs() <= tolerance, "{found} found, {published} published");
}

fn within(found: Interval, low: f64, high: f64, tolerance: f64) {
    near(found.low(), low, tolerance);
    near(found.high(), high, tolerance);
}

/// Newcombe 1998, Statistics in Medicine 17:857, table I, method 3.
#[test]
fn shares_of_newcombe() {
    let table = [
        (81.0, 263.0, 0.2553, 0.3662),
        (15.0, 148.0, 0.0624, 0.1605),
        (0.0, 20.0, 0.0, 0.1611),
        (1.0, 29.0, 0.0061, 0.1718),
    ];
    for (x, n, low, high) in table {
        within(wilson(x, n, LEVEL).unwrap().interval, low, high, 5e-5);
    }
}

/// Newcombe 1998, Statistics in Medicine 17:873, table II, method 10.
#[test]
fn differences_of_newcombe() {
    let table = [
        ((56.0, 70.0), (48.0, 80.0), 0.0524, 0.3339),
        ((9.0, 10.0), (3.0, 10.0), 0.1705, 0.8090),
        ((10.0, 10.0), (0.0, 20.0), 0.6791, 1.0),
    ];
    for (first, second, low, high) in table {
        within(difference(first, second, LEVEL).unwrap().interval, low, high, 5e-5);
    }
}

/// Garwood 1936, Biometrika 28:437: limits of a Poisson mean for counts 0 to 20.
#[test]
fn counts_of_garwood() {
    let table = [
        (0.0, 0.0, 3.6889),
        (1.0, 0.0253, 5.5716),
        (2.0, 0.2422, 7.2247),
        (3.0, 0.6187, 8.7673),
        (5.0, 1.6235, 11.6683),
        (10.0, 4.7954, 18.3904),
        (15.0, 8.3954, 24.7402),
        (20.0, 12.2165, 30.8884),
    ];
    for (count, low, high) in table {
        within(rate(Count::new(count, 1.0).unwrap(), LEVEL).interval, low, high, 5e-5);
    }
}

/// Fluoroscopy and breast cancer, the example of Ng and Tang 2005 (Statistics in Medicine 24:955)
/// and Gu and others 2008; exact limits as scipy 1.12 gives them.
#[test]
fn a_ratio_of_rates() {
    let (first, second) = ((60, 51477.5), (30, 54308.7));
    let count = |one: (u32, f64)| Count::new(f64::from(one.0), one.1).unwrap();
    let ratio = rate_ratio(count(first), count(second), LEVEL).unwrap();
    near(ratio.ratio, 2.109998, 5e-7);
    within(ratio.interval, 1.339736, 3.388366, 5e-7);
    near(least_likely_p_value(first, second).unwrap(), 0.000675183, 5e-10);
}

/// Weeks to relapse, 6-MP and placebo: Freireich and others 1963, Blood 21:699.
fn freireich() -> [Vec<Observation>; 2] {
    let ended = |weeks: &[u32]| -> Vec<Observation> {
        weeks.iter().map(|week| Observation::ended(f64::from(*week), 0)).collect()
    };
    let mut treated = ended(&[6, 6, 6, 7, 10, 13, 16, 22, 23]);
    let cut = [6, 9, 10, 11, 17, 19, 20, 25, 32, 32, 34, 35];
    treated.extend(cut.map(|week| Observation::cut(f64::from(week))));
    let placebo = ended(&[1, 1, 2, 2, 3, 4, 4, 5, 5, 8, 8, 8, 8, 11, 11, 12, 12, 15, 17, 22, 23]);
    [treated, placebo]
}

/// The curve, its errors and its median as printed by many textbooks (Kalbfleisch and Prentice).
#[test]
fn remission_of_freireich() {
    let [treated, placebo] = freireich();
    let curve = kaplan_meier(&treated, LEVEL).unwrap();
    let table = [
        (6.0, 21.0, 0.857143, 0.076360),
        (7.0, 17.0, 0.806723, 0.086935),
        (10.0, 15.0, 0.752941, 0.096350),
        (13.0, 12.0, 0.690196, 0.106815),
        (16.0, 11.0, 0.627451, 0.114054),
        (22.0, 7.0, 0.537815, 0.128234),
        (23.0, 6.0, 0.448179, 0.134591),
    ];
    for (week, at_risk, survival, error) in table {
        let step = curve.at(week).unwrap();
        assert_eq!(step.at_risk, at_risk);
        near(step.survival, survival, 5e-7);
        near(step.variance.sqrt(), error, 5e-7);
    }
    within(curve.at(10.0).unwrap().interval, 0.5032, 0.8894, 5e-5);
    within(curve.at(23.0).unwrap().interval, 0.1881, 0.6801, 5e-5);
    let median = curve.median();
    assert_eq!((median.time, median.low, median.high), (Some(23.0), Some(13.0), None));
    near(curve.restricted_mean(23.0), 17.909244, 5e-7);
    let curve = kaplan_meier(&placebo, LEVEL).unwrap();
    assert_eq!(curve.median().time, Some(8.0));
    near(curve.restricted_mean(23.0), 8.666667, 5e-7);
}

/// The log-rank statistic of the same data, published as 16.79.
#[test]
fn log_rank_of_freireich() {
    let [treated, placebo] = freireich();
    let test = log_rank(&[&treated, &placebo]).unwrap();
    near(test.chi_square, 16.79294, 5e-6);
    near(test.p_value, 4.1688e-5, 5e-10);
    near(test.excess[0], 9.0 - 19.2505, 5e-5);
}

/// Own data, computed by lifelines 0.30.3 (`AalenJohansenFitter`).
#[test]
fn two_outcomes() {
    let codes = [1, 2, 1, 0, 1, 2, 0, 1, 2, 0];
    let observations: Vec<Observation> = codes
        .iter()
        .zip(1..)
        .map(|(&code, time)| match code {
            0 => Observation::cut(f64::from(time)),
            outcome => Observation::ended(f64::from(time), outcome - 1),
        })
        .collect();
    let curves = cumulative_incidence(&observations, 2, LEVEL).unwrap();
    let at = |time: f64| {
        let step = curves.at(time).unwrap();
        (step.outcomes[0].incidence, step.outcomes[1].incidence, step.going_on)
    };
    for (time, first, second, survival) in [
        (2.0, 0.1, 0.1, 0.8),
        (5.0, 0.316667, 0.1, 0.583333),
        (6.0, 0.316667, 0.216667, 0.466667),
        (10.0, 0.472222, 0.372222, 0.155556),
    ] {
        let found = at(time);
        near(found.0, first, 5e-7);
        near(found.1, second, 5e-7);
        near(found.2, survival, 5e-7);
    }
}

/// The eighteen batters of Efron and Morris 1975, JASA 70:311: factor .212, estimates .294 to .242.
#[test]
fn batters_of_efron_and_morris() {
    let hits = [18, 17, 16, 15, 14, 14, 13, 12, 11, 11, 10, 10, 10, 10, 10, 9, 8, 7].map(f64::from);
    let averages = hits.map(|hits| hits / 45.0);
    let mean = averages.iter().sum::<f64>() / 18.0;
    let (factor, shrunk) = james_stein(&averages, mean * (1.0 - mean) / 45.0).unwrap();
    near(factor, 0.211653, 5e-7);
    near(shrunk[0], 0.294, 5e-4);
    near(shrunk[17], 0.242, 5e-4);
    // The same people by marginal likelihood; scipy.stats.betabinom with Nelder-Mead.
    let (mean, strength) = likeliest_shares(&hits.map(|hits| (hits, 45.0))).unwrap();
    near(strength / 793.2, 1.0, 1e-3);
    near(mean, 210.55 / 793.23, 1e-5);
}

/// Conjugate posteriors, computed by scipy.
#[test]
fn small_posteriors() {
    let shrunk = BetaPrior::new(2.0, 8.0).unwrap().shrink(3.0, 5.0, LEVEL).unwrap();
    near(shrunk.value, 1.0 / 3.0, 1e-12);
    within(shrunk.interval, 0.127598, 0.581035, 5e-7);
    let count = Count::new(3.0, 10.0).unwrap();
    let shrunk = GammaPrior::new(4.0, 20.0).unwrap().shrink(count, LEVEL);
    near(shrunk.value, 0.233333, 5e-7);
    within(shrunk.interval, 0.093812, 0.435316, 5e-7);
    near(shrunk.own_weight, 1.0 / 3.0, 1e-12);
}

fn table<const N: usize>(rows: [[f64; N]; N]) -> AgreementTable {
    AgreementTable::new(&rows.map(|row| row.to_vec())).unwrap()
}

/// Cohen 1960 and 1968, 200 cases: kappa .492, weighted .348.
#[test]
fn kappa_of_cohen() {
    let table = table([[88.0, 14.0, 18.0], [10.0, 40.0, 10.0], [2.0, 6.0, 12.0]]);
    near(table.share(LEVEL).value, 0.70, 1e-12);
    near(table.kappa(LEVEL).unwrap().value, 0.491525, 5e-7);
    let weights = [[0.0, 1.0, 3.0], [1.0, 0.0, 6.0], [3.0, 6.0, 0.0]].map(|row| row.to_vec());
    near(table.weighted_kappa(&weights).unwrap(), 0.347826, 5e-7);
}

/// Fleiss, Statistical Methods for Rates and Proportions, 1981, chapter 13.
#[test]
fn kappa_of_fleiss() {
    let table = table([[75.0, 1.0, 4.0], [5.0, 4.0, 1.0], [0.0, 0.0, 10.0]]);
    let kappa = table.kappa(LEVEL).unwrap();
    near(kappa.value, 0.676471, 5e-7);
    near(kappa.standard_error, 0.087703, 5e-7);
    near(table.kappa_error_by_chance().unwrap(), 0.076187, 5e-7);
}

/// The paradox of Feinstein and Cicchetti 1990: the same share of agreement, kappa .70 and .32; AC1
/// hardly moves.
#[test]
fn ac1_of_gwet() {
    let even = table([[40.0, 9.0], [6.0, 45.0]]);
    near(even.kappa(LEVEL).unwrap().value, 0.699519, 5e-7);
    near(even.ac1(LEVEL).value, 0.700748, 5e-7);
    let lopsided = table([[80.0, 10.0], [5.0, 5.0]]);
    near(lopsided.kappa(LEVEL).unwrap().value, 0.318182, 5e-7);
    near(lopsided.ac1(LEVEL).value, 0.808, 5e-4);
    let extreme = table([[118.0, 5.0], [2.0, 0.0]]);
    near(extreme.kappa(LEVEL).unwrap().value, -0.023392, 5e-7);
    near(extreme.ac1(LEVEL).value, 0.940776, 5e-7);
}

/// The fifteen p-values of Benjamini and Hochberg 1995: four are kept at 5 %.
#[test]
fn discoveries_of_benjamini_and_hochberg() {
    let p = [
        0.0001, 0.0004, 0.0019, 0.0095, 0.0201, 0.0278, 0.0298, 0.0344, 0.0459, 0.3240, 0.4262,
        0.5719, 0.6528, 0.7590, 1.0,
    ];
    let found = adjusted(&p).unwrap();
    assert_eq!(found.iter().filter(|p| **p <= 0.05).count(), 4);
    near(found[3], 0.0356, 5e-5);
    near(found[9], 0.4860, 5e-5);
}

/// Deaths from AIDS in Australia by quarter, 1983 to 1986, the Poisson regression of Dobson, An
/// Introduction to Generalized Linear Models: counts against the quarter; statsmodels 0.15 gives a
/// slope of 0.2565 with error 0.0220.
#[test]
fn a_trend_of_counts() {
    let deaths = [0, 1, 2, 3, 1, 4, 9, 18, 23, 31, 20, 25, 37, 45];
    let point = |(deaths, quarter): (&i32, i32)| {
        (f64::from(quarter), Count::new(f64::from(*deaths), 1.0).unwrap())
    };
    let points: Vec<(f64, Count)> = deaths.iter().zip(1..).map(point).collect();
    let trend = rate_trend(&points, LEVEL).unwrap();
    near(trend.log_slope, 0.2565, 5e-5);
    near(trend.standard_error, 0.0220, 5e-5);
}

/// Anscombe 1973, American Statistician 27:17, first set: slope .5001, error .1179, p .00217.
#[test]
fn a_trend_of_means() {
    let x = [10.0, 8.0, 13.0, 9.0, 11.0, 14.0, 6.0, 4.0, 12.0, 7.0, 5.0];
    let y = [8.04, 6.95, 7.58, 8.81, 8.33, 9.96, 7.24, 4.26, 10.84, 4.82, 5.68];
    let points: Vec<(f64, f64, f64)> = x.iter().zip(y).map(|(x, y)| (*x, y, 1.0)).collect();
    let trend = mean_trend(&points, LEVEL).unwrap();
    near(trend.slope.value, 0.5001, 5e-5);
    near(trend.standard_error, 0.1179, 5e-5);
    near(trend.p_value, 0.00217, 5e-6);
}

/// The drunkard's walk of Kemeny and Snell 1960 and of Grinstead and Snell, chapter 11.2.
#[test]
fn the_drunkards_walk() {
    let walk = |right: f64| {
        let left = 1.0 - right;
        let inner = [[0.0, right, 0.0], [left, 0.0, right], [0.0, left, 0.0]];
        let out = [[left, 0.0], [0.0, 0.0], [0.0, right]];
        Chain::new(&inner.map(|row| row.to_vec()), &out.map(|row| row.to_vec())).unwrap()
    };
    let even = walk(0.5);
    let visits = [1.5, 1.0, 0.5, 1.0, 2.0, 1.0, 0.5, 1.0, 1.5];
    for (found, published) in even.visits().unwrap().concat().iter().zip(visits) {
        near(*found, published, 1e-12);
    }
    let (mean, variance) = even.steps().unwrap();
    for ((mean, variance), published) in mean.iter().zip(&variance).zip([3.0, 4.0, 3.0]) {
        near(*mean, published, 1e-12);
        near(*variance, 8.0, 1e-12);
    }
    near(even.ends().unwrap()[0][0], 0.75, 1e-12);
    let steep = walk(2.0 / 3.0);
    near(steep.visits().unwrap()[0][1], 1.2, 1e-12);
    near(steep.ends().unwrap()[2][1], 14.0 / 15.0, 1e-12);
}

/// v = r + Q v by hand: with Q = [.5 .3; .2 .4] and r = (1, −1), v = (1.25, −1.25).
#[test]
fn rewards_on_the_way() {
    let inner = [vec![0.5, 0.3], vec![0.2, 0.4]];
    let chain = Chain::new(&inner, &[vec![0.2], vec![0.4]]).unwrap();
    let rewards = held(&[0.5, -0.1], &[2.0, 10.0]);
    let values = chain.values(&rewards).unwrap();
    near(values[0], 1.25, 1e-12);
    near(values[1], -1.25, 1e-12);
}

/// The first numbers of splitmix64 from 1234567 and of xoshiro256++ from the state 1 2 3 4, as
/// Vigna's reference programs print them.
#[test]
fn draws_of_vigna() {
    let mut state = 1_234_567;
    let first: [u64; 3] = std::array::from_fn(|_| split_mix(&mut state));
    assert_eq!(first, [6457827717110365317, 3203168211198807973, 9817491932198370423]);
    let mut draws = Draws::from_state([1, 2, 3, 4]);
    let first: [u64; 6] = std::array::from_fn(|_| draws.bits());
    assert_eq!(
        first,
        [
            41943041,
            58720359,
            3588806011781223,
            3591011842654386,
            9228616714210784205,
            9973669472204895162
        ]
    );
}
