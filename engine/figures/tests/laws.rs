//! What must hold for any input: limits hold the estimate, shares make 1, errors instead of panics.

use figures::agreement::{AgreementError, AgreementTable};
use figures::competing_risks::cumulative_incidence;
use figures::discoveries::adjusted;
use figures::distributions::{beta_lower, beta_quantile, gamma_lower, gamma_quantile};
use figures::exact_rates::{Count, RateError, rate, rate_ratio};
use figures::incidence_test::gray;
use figures::interval::Level;
use figures::observations::{Observation, ObservationError};
use figures::pooling::{PoolingError, pool_rates, pool_shares};
use figures::proportions::{clopper_pearson, difference, wilson};
use figures::reward_process::{Chain, ChainError};
use figures::sampling::Draws;
use figures::survival::{GroupTestError, kaplan_meier, log_rank};
use figures::trend::{TrendError, mean_trend, rate_trend};
use proptest::prelude::*;

const LEVEL: Level = Level::NINETY_FIVE;

fn observations(least: usize) -> impl Strategy<Value = Vec<Observation>> {
    let one = (0..20_u32, 0..4_usize, prop_oneof![Just(1.0), 0.01..1.0]).prop_map(
        |(time, code, weight)| Observation {
            time: f64::from(time) / 2.0,
            outcome: code.checked_sub(1),
            weight,
        },
    );
    prop::collection::vec(one, least..40)
}

proptest! {
    #[test]
    fn limits_of_shares_hold_the_share(n in 1..500_u32, part in 0.0..=1.0, level in 0.01..0.999) {
        let (n, level) = (f64::from(n), Level::new(level).unwrap());
        let x = f64::round(n * part);
        for found in [wilson(x, n, level).unwrap(), clopper_pearson(x, n, level).unwrap()] {
            prop_assert!(found.interval.contains(found.value));
            prop_assert!(found.interval.low() >= 0.0 && found.interval.high() <= 1.0);
        }
        let apart = difference((x, n), (n - x, n), level).unwrap();
        prop_assert!(apart.interval.contains(apart.value));
    }

    #[test]
    fn limits_of_rates_hold_the_rate(k in 0.0..1000.0, e in 0.01..1000.0, l in 0.0..1000.0, f in 0.01..1000.0) {
        prop_assume!(k + l > 0.0);
        let (first, second) = (Count::new(k, e).unwrap(), Count::new(l, f).unwrap());
        let found = rate(first, LEVEL);
        prop_assert!(found.interval.contains(found.value));
        let ratio = rate_ratio(first, second, LEVEL).unwrap();
        prop_assert!(ratio.interval.contains(ratio.ratio), "{ratio:?}");
        // The test and the interval say the same.
        prop_assert_eq!(ratio.p_value < 0.05, !ratio.interval.contains(1.0));
        let turned = rate_ratio(second, first, LEVEL).unwrap();
        let product = turned.interval.low() * ratio.interval.high();
        // A trace of an event leaves limits that no double holds.
        prop_assert!(!product.is_finite() || (product - 1.0).abs() < 1e-9, "{product}");
    }

    #[test]
    fn quantiles_undo_the_distribution(p in 0.0001..0.9999, a in 0.05..2000.0, b in 0.05..2000.0) {
        prop_assert!((gamma_lower(a, gamma_quantile(p, a)) - p).abs() < 1e-11);
        // Where a quantile lies within a rounding of 1, no double says where.
        let x = beta_quantile(p, a, b);
        prop_assert!(1.0 - x < 1e-6 || (beta_lower(a, b, x) - p).abs() < 1e-9);
    }

    #[test]
    fn survival_falls_and_incidences_grow(observations in observations(1)) {
        let curve = kaplan_meier(&observations, LEVEL).unwrap();
        let curves = cumulative_incidence(&observations, 3, LEVEL).unwrap();
        let mut before = (1.0, vec![0.0; 3]);
        for (step, all) in curve.steps().iter().zip(curves.steps()) {
            prop_assert!(step.survival <= before.0 && step.survival >= 0.0);
            prop_assert!(step.interval.contains(step.survival), "{step:?}");
            prop_assert!((step.survival - all.going_on).abs() < 1e-12);
            let sum: f64 = all.outcomes.iter().map(|one| one.incidence).sum();
            prop_assert!((sum + all.going_on - 1.0).abs() < 1e-12);
            for (one, before) in all.outcomes.iter().zip(&before.1) {
                prop_assert!(one.incidence >= *before && one.incidence <= 1.0);
                prop_assert!(one.variance >= 0.0 && one.variance.is_finite());
                prop_assert!(one.interval.contains(one.incidence), "{one:?}");
                prop_assert!(one.interval.low() >= 0.0 && one.interval.high() <= 1.0);
            }
            before = (step.survival, all.outcomes.iter().map(|one| one.incidence).collect());
        }
    }

    #[test]
    fn with_one_outcome_incidence_is_what_survival_lacks(observations in observations(1)) {
        let one = |one: Observation| Observation { outcome: one.outcome.map(|_| 0), ..one };
        let observations: Vec<Observation> = observations.into_iter().map(one).collect();
        let curve = kaplan_meier(&observations, LEVEL).unwrap();
        let curves = cumulative_incidence(&observations, 1, LEVEL).unwrap();
        for (step, all) in curve.steps().iter().zip(curves.steps()) {
            prop_assert!((step.variance - all.outcomes[0].variance).abs() < 1e-12);
        }
    }

    /// Two ways to say the same: one whole spell, or parts of it that make a whole.
    #[test]
    fn parts_that_make_a_whole_count_as_one(observations in observations(2), part in 0.1..0.9) {
        let parts = |one: &Observation| {
            [one.weighing(one.weight * part), one.weighing(one.weight * (1.0 - part))]
        };
        let split: Vec<Observation> = observations.iter().flat_map(parts).collect();
        let whole = cumulative_incidence(&observations, 3, LEVEL).unwrap();
        let split = cumulative_incidence(&split, 3, LEVEL).unwrap();
        for (one, other) in whole.steps().iter().zip(split.steps()) {
            for (one, other) in one.outcomes.iter().zip(&other.outcomes) {
                prop_assert!((one.incidence - other.incidence).abs() < 1e-9);
                prop_assert!((one.variance - other.variance).abs() < 1e-9);
            }
        }
    }

    #[test]
    fn tests_do_not_mind_the_order_of_groups(first in observations(5), second in observations(5), third in observations(5)) {
        let one = log_rank(&[&first, &second, &third]);
        let other = log_rank(&[&third, &first, &second]);
        if let (Ok(one), Ok(other)) = (one, other) {
            prop_assert!((one.chi_square - other.chi_square).abs() < 1e-6 * (1.0 + one.chi_square));
            prop_assert!((0.0..=1.0).contains(&one.p_value));
            prop_assert!(one.excess.iter().sum::<f64>().abs() < 1e-9);
        }
        let one = gray(&[&first, &second], 0, 3);
        let other = gray(&[&second, &first], 0, 3);
        if let (Ok(one), Ok(other)) = (one, other) {
            prop_assert!((one.chi_square - other.chi_square).abs() < 1e-6 * (1.0 + one.chi_square), "{one:?} {other:?}");
            prop_assert!((0.0..=1.0).contains(&one.p_value));
        }
    }

    #[test]
    fn shrunken_numbers_lie_within_their_limits(
        counts in prop::collection::vec((0..40_u32, 1.0..60.0), 2..12),
    ) {
        let members: Vec<Count> =
            counts.iter().map(|&(k, e)| Count::new(f64::from(k), e).unwrap()).collect();
        prop_assume!(counts.iter().any(|one| one.0 > 0));
        let group = pool_rates(&members).unwrap();
        for member in members {
            let shrunk = group.shrink(member, LEVEL);
            prop_assert!(shrunk.interval.contains(shrunk.value), "{shrunk:?}");
            prop_assert!(shrunk.interval.low() <= shrunk.interval.high());
            prop_assert!((0.0..=1.0).contains(&shrunk.own_weight));
        }
        let shares: Vec<(f64, f64)> =
            counts.iter().map(|&(k, e)| (f64::from(k), f64::from(k) + e.floor())).collect();
        let group = pool_shares(&shares).unwrap();
        for (x, n) in shares {
            let shrunk = group.shrink(x, n, LEVEL).unwrap();
            prop_assert!(shrunk.interval.contains(shrunk.value), "{shrunk:?}");
        }
    }

    #[test]
    fn agreement_is_at_most_full(table in prop::collection::vec(0.0..50.0, 9)) {
        let rows: Vec<Vec<f64>> = table.chunks(3).map(<[f64]>::to_vec).collect();
        let table = AgreementTable::new(&rows).unwrap();
        let kappa = table.kappa(LEVEL).unwrap();
        prop_assert!(kappa.value <= 1.0 && kappa.value >= -1.0);
        prop_assert!(kappa.interval.contains(kappa.value));
        prop_assert!(table.ac1(LEVEL).value <= 1.0);
        // The plain kappa is the weighted one with all disagreements alike.
        let weights: Vec<Vec<f64>> =
            (0..3).map(|i| (0..3).map(|j| f64::from(u8::from(i != j))).collect()).collect();
        prop_assert!((table.weighted_kappa(&weights).unwrap() - kappa.value).abs() < 1e-12);
    }

    #[test]
    fn adjusting_keeps_the_order(p in prop::collection::vec(0.0..=1.0, 0..30)) {
        let found = adjusted(&p).unwrap();
        for (i, one) in p.iter().enumerate() {
            prop_assert!(found[i] >= *one - 1e-15 && found[i] <= 1.0);
            for (j, other) in p.iter().enumerate() {
                prop_assert!(one > other || found[i] <= found[j]);
            }
        }
    }

    #[test]
    fn ends_of_a_chain_make_one(rows in prop::collection::vec(prop::collection::vec(0.01..1.0, 6), 4)) {
        let shares = |row: &Vec<f64>| -> Vec<f64> {
            row.iter().map(|one| one / row.iter().sum::<f64>()).collect()
        };
        let rows: Vec<Vec<f64>> = rows.iter().map(shares).collect();
        let inner: Vec<Vec<f64>> = rows.iter().map(|row| row[..4].to_vec()).collect();
        let out: Vec<Vec<f64>> = rows.iter().map(|row| row[4..].to_vec()).collect();
        let chain = Chain::new(&inner, &out).unwrap();
        for row in chain.ends().unwrap() {
            prop_assert!((row.iter().sum::<f64>() - 1.0).abs() < 1e-9);
        }
        let visits = chain.visits().unwrap();
        let ones = chain.values(&[1.0; 4]).unwrap();
        for (row, steps) in visits.iter().zip(ones) {
            prop_assert!((row.iter().sum::<f64>() - steps).abs() < 1e-9);
        }
    }

    #[test]
    fn a_steady_factor_is_found_again(slope in -0.2..0.2_f64, level in 1.0..50.0_f64) {
        let points: Vec<(f64, Count)> = (0..10)
            .map(|week| (f64::from(week), Count::new(level * f64::exp(slope * f64::from(week)), 1.0).unwrap()))
            .collect();
        let trend = rate_trend(&points, LEVEL).unwrap();
        prop_assert!((trend.log_slope - slope).abs() < 1e-9);
        prop_assert!(trend.factor.interval.contains(trend.factor.value));
    }
}

#[test]
fn what_makes_no_sense_is_an_error() {
    assert!(Level::new(1.0).is_err());
    assert!(wilson(1.0, 0.0, LEVEL).is_err());
    assert!(wilson(f64::NAN, 3.0, LEVEL).is_err());
    assert_eq!(Count::new(-1.0, 1.0), Err(RateError::Count(-1.0)));
    assert_eq!(Count::new(1.0, 0.0), Err(RateError::Exposure(0.0)));
    let none = Count::new(0.0, 1.0).unwrap();
    assert_eq!(rate_ratio(none, none, LEVEL), Err(RateError::NothingSeen));
    assert_eq!(kaplan_meier(&[], LEVEL), Err(ObservationError::Nothing));
    let late = Observation::ended(f64::NAN, 0);
    assert!(matches!(kaplan_meier(&[late], LEVEL), Err(ObservationError::Time { .. })));
    let other = cumulative_incidence(&[Observation::ended(1.0, 5)], 2, LEVEL);
    assert!(matches!(other, Err(ObservationError::Outcome { outcome: 5, .. })));
    let cut = [Observation::cut(1.0)];
    assert_eq!(log_rank(&[&cut, &cut]), Err(GroupTestError::NothingToCompare));
    assert_eq!(gray(&[&cut], 0, 1), Err(GroupTestError::Groups));
    assert_eq!(pool_rates(&[none, none]), Err(PoolingError::OneEnd));
    assert_eq!(pool_shares(&[(1.0, 1.0)]), Err(PoolingError::TooFew));
    let same = AgreementTable::new(&[vec![9.0, 0.0], vec![0.0, 0.0]]).unwrap();
    assert_eq!(same.kappa(LEVEL), Err(AgreementError::NoVariety));
    assert_eq!(same.ac1(LEVEL).value, 1.0);
    assert!(adjusted(&[0.5, 1.5]).is_err());
    let some = Count::new(3.0, 1.0).unwrap();
    assert_eq!(rate_trend(&[(0.0, none), (1.0, some)], LEVEL), Err(TrendError::OneEnd));
    assert_eq!(rate_trend(&[(1.0, some), (1.0, some)], LEVEL), Err(TrendError::TooFew(2)));
    assert!(mean_trend(&[(0.0, 1.0, 1.0), (1.0, 2.0, 1.0)], LEVEL).is_err());
}

#[test]
fn a_chain_without_an_end_is_refused() {
    // Two states that lead to each other for ever, one that leaves.
    let inner = [[0.0, 1.0, 0.0], [1.0, 0.0, 0.0], [0.0, 0.0, 0.5]].map(|row| row.to_vec());
    let out = [vec![0.0], vec![0.0], vec![0.5]];
    assert!(matches!(Chain::new(&inner, &out), Err(ChainError::NeverEnds(0))));
    assert!(matches!(Chain::new(&[vec![0.5]], &[vec![0.4]]), Err(ChainError::Sum { .. })));
    assert!(matches!(Chain::new(&[vec![1.0]], &[]), Err(ChainError::Shape(_))));
}

/// Large numbers come back in good time and make sense.
#[test]
fn huge_counts_are_no_trouble() {
    for size in [1e5, 1e7, 1e9] {
        let found = rate(Count::new(size, 1.0).unwrap(), LEVEL);
        let normal = LEVEL.deviations() * size.sqrt();
        assert!(((size - found.interval.low()) / normal - 1.0).abs() < 0.01, "{size}");
        assert!(((found.interval.high() - size) / normal - 1.0).abs() < 0.01, "{size}");
        let share = clopper_pearson(size / 2.0, size, LEVEL).unwrap().interval;
        let normal = LEVEL.deviations() * (0.25 / size).sqrt();
        assert!(((share.high() - 0.5) / normal - 1.0).abs() < 0.01, "{size}");
    }
    let most = rate(Count::new(1e300, 1.0).unwrap(), LEVEL).interval;
    assert!(most.low() <= most.high() || most.low().is_nan());
}

/// Nothing seen is not nothing possible: none of n leaves the upper limit of Clopper and Pearson.
#[test]
fn an_outcome_never_seen_keeps_an_upper_limit() {
    let mut observations = vec![Observation::ended(3.0, 1); 19];
    observations.push(Observation::ended(9.0, 1));
    let curves = cumulative_incidence(&observations, 2, LEVEL).unwrap();
    let exact = clopper_pearson(0.0, 20.0, LEVEL).unwrap().interval.high();
    let step = curves.at(9.0).unwrap();
    assert!((step.outcomes[0].interval.high() - exact).abs() < 1e-12);
    assert!((step.outcomes[1].interval.low() - (1.0 - exact)).abs() < 1e-12);
}

/// How often the 95 % limits of pooled rates and shares hold the truth of simulated members: few and
/// many, much alike and far apart.
#[test]
fn pooled_limits_cover() {
    for (members, alike) in [(4, 3.0), (12, 3.0), (12, 30.0), (12, 1.0), (40, 3.0)] {
        let [rates, shares] = coverage(members, alike);
        assert!((0.90..=0.985).contains(&rates), "{members} {alike}: rates {rates}");
        assert!((0.90..=0.985).contains(&shares), "{members} {alike}: shares {shares}");
    }
}

/// For members whose rates are gamma of this shape with mean 0.3, seen for 5 to 25, and whose shares
/// are beta with mean 3/7 and strength 7/3 of that shape, seen 5 to 24 times.
fn coverage(members: usize, alike: f64) -> [f64; 2] {
    let mut draws = Draws::from_seed(4);
    let (mut held, mut all) = ([0.0; 2], 0.0);
    for _ in 0..2400 / members {
        let mut seen = Vec::new();
        for _ in 0..members {
            let rate = draws.gamma(alike, alike / 0.3).unwrap();
            let share = draws.beta(alike, alike * 4.0 / 3.0).unwrap();
            let (exposure, trials) = (5.0 + 20.0 * draws.uniform(), 5 + draws.bits() % 20);
            let (mut events, mut time) = (0.0, -draws.uniform().ln() / rate);
            while time < exposure {
                events += 1.0;
                time -= draws.uniform().ln() / rate;
            }
            let successes = (0..trials).filter(|_| draws.uniform() < share).count();
            let count = Count::new(events, exposure).unwrap();
            seen.push((rate, count, share, (successes as f64, trials as f64)));
        }
        let counts: Vec<Count> = seen.iter().map(|one| one.1).collect();
        let trials: Vec<(f64, f64)> = seen.iter().map(|one| one.3).collect();
        let (Ok(rates), Ok(shares)) = (pool_rates(&counts), pool_shares(&trials)) else { continue };
        for (rate, count, share, (x, n)) in seen {
            let found = rates.shrink(count, LEVEL).interval;
            held[0] += f64::from(u8::from(found.contains(rate)));
            let found = shares.shrink(x, n, LEVEL).unwrap().interval;
            held[1] += f64::from(u8::from(found.contains(share)));
            all += 1.0;
        }
    }
    held.map(|held| held / all)
}

/// Means and variances of many draws, within five standard errors.
#[test]
fn draws_have_the_right_moments() {
    let mut draws = Draws::from_seed(1);
    let count = 40_000;
    let mut check = |mean: f64, variance: f64, draw: &mut dyn FnMut(&mut Draws) -> f64| {
        let values: Vec<f64> = (0..count).map(|_| draw(&mut draws)).collect();
        let found = values.iter().sum::<f64>() / f64::from(count);
        let spread = values.iter().map(|x| (x - mean).powi(2)).sum::<f64>() / f64::from(count);
        assert!(
            (found - mean).abs() < 5.0 * (variance / f64::from(count)).sqrt(),
            "{found} {mean}"
        );
        assert!((spread / variance - 1.0).abs() < 0.1, "{spread} {variance}");
    };
    check(0.5, 1.0 / 12.0, &mut Draws::uniform);
    check(0.0, 1.0, &mut Draws::normal);
    check(1.5, 0.75, &mut |draws| draws.gamma(3.0, 2.0).unwrap());
    check(0.25, 0.125, &mut |draws| draws.gamma(0.5, 2.0).unwrap());
    check(0.25, 0.0375, &mut |draws| draws.beta(1.0, 3.0).unwrap());
    check(0.2, 0.16 / 1.05, &mut |draws| draws.dirichlet(&[0.01, 0.02, 0.02]).unwrap()[0]);
}

/// The same seed gives the same draws; nothing that is no parameter gets through.
#[test]
fn draws_come_from_the_seed() {
    let shares = |seed| Draws::from_seed(seed).dirichlet(&[1e-9, 1e-9, 1e-9]).unwrap();
    assert_eq!(shares(7), shares(7));
    assert!((shares(7).iter().sum::<f64>() - 1.0).abs() < 1e-12);
    assert!(Draws::from_seed(0).gamma(0.0, 1.0).is_err());
    assert!(Draws::from_seed(0).beta(1.0, f64::NAN).is_err());
}
