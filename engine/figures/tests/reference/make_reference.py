"""Makes the recorded readings that `tests/against_libraries.rs` holds the crate against.

    make references

installs what requirements.txt lists under build/ (that needs the network), runs this and fails where
a file comes out different. By hand, with those libraries:

    python engine/figures/tests/reference/make_reference.py [SUBJECT ...]

Subjects may be named to make only those. It writes one .csv per subject beside itself: random
inputs from a fixed seed, and what the named library makes of them, to ten digits. Lists within a
cell are separated by spaces. All of it takes two minutes or so.
"""

import csv
import pathlib
import sys
import warnings

import numpy as np
import pandas as pd
import scipy.optimize
import scipy.special
import scipy.stats
import statsmodels.api as sm
from comprisk import gray_test
from irrCAC.raw import CAC
from lifelines import KaplanMeierFitter
from lifelines.statistics import multivariate_logrank_test
from sksurv.nonparametric import cumulative_incidence_competing_risks
from statsmodels.stats.inter_rater import cohens_kappa
from statsmodels.stats.proportion import confint_proportions_2indep, proportion_confint
from statsmodels.stats.rates import confint_poisson

warnings.simplefilter("ignore")
HERE = pathlib.Path(__file__).parent
CASES, FEWER = 1000, 500


def cell(value):
    if isinstance(value, (list, tuple, np.ndarray)):
        return " ".join(cell(part) for part in value)
    if isinstance(value, (int, np.integer)):
        return str(int(value))
    return format(float(value), ".10g")


def write(name, header, rows):
    with open(HERE / f"{name}.csv", "w", newline="") as file:
        out = csv.writer(file, lineterminator="\n")
        out.writerow(header)
        out.writerows([cell(value) for value in row] for row in rows)


def nice(value, digits=4):
    """A number with few digits, so that both sides read the very same input."""
    return float(format(value, f".{digits}g"))


def student_quantile(p, degrees):
    """By the incomplete beta function: scipy.stats.t.ppf keeps only eight digits here."""
    rest = scipy.special.betaincinv(degrees / 2, 0.5, 2 * min(p, 1 - p))
    return float(np.copysign(np.sqrt(degrees * (1 - rest) / rest), p - 0.5))


def distributions(random):
    """scipy.special and scipy.stats."""
    for _ in range(FEWER):
        a, b = nice(10 ** random.uniform(-2, 4)), nice(10 ** random.uniform(-2, 4))
        p, degrees = nice(random.uniform(0.001, 0.999)), int(random.integers(1, 60))
        x = nice(random.gamma(a) + 1e-3)
        yield (
            a, b, p, degrees, x,
            scipy.special.gammainc(a, x), scipy.special.gammaincc(a, x),
            scipy.special.betainc(a, b, p), scipy.special.gammaln(a), scipy.special.digamma(a),
            scipy.special.ndtri(p), scipy.stats.gamma.ppf(p, a), scipy.stats.beta.ppf(p, a, b),
            student_quantile(p, degrees), scipy.stats.chi2.sf(x, degrees),
        )


def proportions(random):
    """statsmodels.stats.proportion."""
    for _ in range(CASES):
        n, m = int(random.integers(1, 300)), int(random.integers(1, 300))
        x, y = int(random.integers(0, n + 1)), int(random.integers(0, m + 1))
        alpha = nice(random.uniform(0.01, 0.5), 2)
        yield (
            x, n, y, m, 1 - alpha,
            *proportion_confint(x, n, alpha, "wilson"), *proportion_confint(x, n, alpha, "beta"),
            *confint_proportions_2indep(x, n, y, m, method="newcomb", alpha=alpha),
        )


def rates(random):
    """statsmodels.stats.rates; scipy.stats.beta and binomtest."""
    for _ in range(CASES):
        k, other = int(10 ** random.uniform(0, 2.7)) - 1, int(10 ** random.uniform(0, 2.7))
        e, f = nice(10 ** random.uniform(-1, 3)), nice(10 ** random.uniform(-1, 3))
        alpha = nice(random.uniform(0.01, 0.5), 2)
        low = scipy.stats.beta.ppf(alpha / 2, k, other + 1) if k else 0.0
        high = scipy.stats.beta.ppf(1 - alpha / 2, k + 1, other)
        low, high = low / (1 - low) * f / e, high / (1 - high) * f / e
        share = e / (e + f)
        tails = scipy.stats.binom.sf(k - 1, k + other, share), scipy.stats.binom.cdf(k, k + other, share)
        yield (
            k, e, other, f, 1 - alpha,
            *confint_poisson(k, e, method="exact-c", alpha=alpha), low, high,
            min(1, 2 * min(tails)), scipy.stats.binomtest(k, k + other, share).pvalue,
        )


def curves(random):
    """lifelines (Kaplan-Meier, log-rank), scikit-survival (Aalen-Johansen with its variance by
    Dinse and Larson's formula 6), comprisk (Gray's test)."""
    made = 0
    while made < CASES:
        n, groups, outcomes = int(random.integers(12, 30)), int(random.integers(2, 4)), int(random.integers(2, 4))
        longest = int(random.integers(5, 60))
        time, code = random.integers(1, longest, n), random.integers(0, outcomes + 1, n)
        group = random.integers(0, groups, n)
        # Every group there, every outcome seen, and somebody still going on at the end.
        time[0], code[0] = longest, 0
        seen = set(code) - {0}
        if len(set(group)) < groups or len(seen) < outcomes:
            continue
        at = int(random.integers(1, longest))
        ended = code > 0
        km = KaplanMeierFitter().fit(time, ended)
        before = np.searchsorted(km.survival_function_.index, at, side="right") - 1
        survival = km.survival_function_.iloc[before, 0]
        limits = km.confidence_interval_.iloc[before]
        if not 0 < survival < 1:
            continue
        # The library's own median misses shares that rounding puts just above one half.
        half = km.survival_function_.iloc[:, 0] <= 0.5 + 1e-12
        median = half.idxmax() if half.any() else np.inf
        rank = multivariate_logrank_test(time, group, ended)
        times, curve, interval = cumulative_incidence_competing_risks(
            code, time.astype(float), conf_type="log-log", var_type="Dinse_Approx")
        step = np.searchsorted(times, at, side="right") - 1
        if min(curve[1:, step]) <= 0 or not np.isfinite(interval[1:, :, step]).all():
            continue
        gray = gray_test(time, code, group, cause=1)
        if not 0 < gray.stat < 1e3 or np.linalg.cond(gray.var) > 1e6:
            continue
        made += 1
        yield (
            outcomes, time, code, group, at, survival, limits.iloc[0], limits.iloc[1], median,
            rank.test_statistic, rank.p_value, curve[1:, step], interval[1:, 0, step], interval[1:, 1, step],
            gray.stat, gray.pvalue,
        )


def posteriors(random):
    """scipy.stats.gamma and beta."""
    for _ in range(FEWER):
        shape, rate = nice(10 ** random.uniform(-1, 2)), nice(10 ** random.uniform(-1, 2))
        k, e = int(random.integers(0, 30)), nice(10 ** random.uniform(-1, 2))
        n = int(random.integers(0, 40))
        x = int(random.integers(0, n + 1))
        gamma, beta = scipy.stats.gamma(shape + k, scale=1 / (rate + e)), scipy.stats.beta(shape + x, rate + n - x)
        yield shape, rate, k, e, x, n, *gamma.interval(0.95), gamma.mean(), *beta.interval(0.95), beta.mean()


def pools(random):
    """scipy.optimize on the likelihoods of scipy.stats.nbinom and betabinom, where they have a top:
    its place to about six digits."""
    for _ in range(40):
        members = int(random.integers(5, 10))
        e = np.array([nice(x) for x in random.uniform(5, 60, members)])
        k = random.poisson(random.gamma(2, 0.1, members) * e)
        n = random.integers(10, 40, members)
        x = random.binomial(n, random.beta(3, 4, members))

        def rates_fit(p):
            return -scipy.stats.nbinom.logpmf(k, np.exp(p[0]), 1 / (1 + e * np.exp(-p[1]))).sum()

        def shares_fit(p):
            return -scipy.stats.betabinom.logpmf(x, n, *np.exp(p)).sum()

        options = {"xatol": 1e-9, "fatol": 1e-13, "maxiter": 400}
        found = [scipy.optimize.minimize(fit, start, method="Nelder-Mead", options=options)
                 for fit, start in ((rates_fit, [0.7, 2.3]), (shares_fit, [1.0, 1.4]))]
        if all(one.success and one.x.max() < 9 for one in found):
            yield k, e, x, n, np.exp(found[0].x), np.exp(found[1].x)


def agreement(random):
    """statsmodels.stats.inter_rater; irrCAC."""
    for _ in range(FEWER):
        size = int(random.integers(2, 5))
        table = random.integers(0, 12, (size, size)) + np.diag(random.integers(0, 30, size))
        if (table.sum(0) + table.sum(1) == 0).any():
            table += 1
        kappa = cohens_kappa(table)
        pairs = [(i, j) for i in range(size) for j in range(size) for _ in range(table[i, j])]
        weights = np.abs(np.subtract.outer(np.arange(size), np.arange(size)))
        ac1 = CAC(pd.DataFrame(pairs), categories=list(range(size)), digits=15).gwet()["est"]
        yield (
            size, table.ravel(), kappa.kappa, kappa.std_kappa, kappa.std_kappa0,
            cohens_kappa(table, weights=weights, return_results=False),
            ac1["coefficient_value"], ac1["se"],
        )


def discoveries(random):
    """scipy.stats.false_discovery_control."""
    for _ in range(FEWER):
        p = [nice(x, 3) for x in random.beta(0.5, 2, int(random.integers(1, 9)))]
        yield p, scipy.stats.false_discovery_control(p)


def trends(random):
    """statsmodels GLM (Poisson) and WLS."""
    made = 0
    while made < FEWER:
        n = int(random.integers(3, 10))
        t = np.sort(random.choice(30, n, replace=False))
        e = np.array([nice(x, 3) for x in random.uniform(1, 40, n)])
        y = random.poisson(e * np.exp(random.normal(-1, 0.5) + random.normal(0, 0.05) * t))
        if y.sum() == 0 or y[1:].sum() == 0 or y[:-1].sum() == 0:
            continue
        fit = sm.GLM(y, sm.add_constant(t), sm.families.Poisson(), exposure=e).fit(tol=1e-14, maxiter=200)
        # The library's errors are those of the last step but one; another start from the top mends it.
        for _ in range(2):
            fit = fit.model.fit(start_params=fit.params, tol=1e-14, maxiter=200)
        if abs(fit.params[1]) > 3:
            continue
        value = np.array([nice(x, 3) for x in random.normal(0, 1, n) + 0.1 * t])
        wls = sm.WLS(value, sm.add_constant(t), weights=e).fit()
        spread = student_quantile(0.975, n - 2) * wls.bse[1]
        made += 1
        yield (
            t, y, e, value, fit.params[1], fit.bse[1], fit.pearson_chi2 / fit.df_resid,
            wls.params[1], wls.bse[1], wls.params[1] - spread, wls.params[1] + spread, wls.pvalues[1],
        )


def chains(random):
    """numpy.linalg."""
    for _ in range(FEWER):
        states, ends = int(random.integers(2, 5)), int(random.integers(1, 4))
        rows = random.integers(0, 9, (states, states + ends))
        rows[:, -1] += 1
        p = rows / rows.sum(1, keepdims=True)
        q, r = p[:, :states], p[:, states:]
        reward = random.integers(-9, 10, states)
        n = np.linalg.inv(np.eye(states) - q)
        t = n.sum(1)
        yield states, ends, rows.ravel(), reward, (n @ r).ravel(), n @ reward, t, (2 * n - np.eye(states)) @ t - t * t


SUBJECTS = [
    (distributions, "a b p degrees x gamma_lower gamma_upper beta_lower ln_gamma digamma normal gamma beta student chi_square"),
    (proportions, "x n y m level wilson_low wilson_high exact_low exact_high difference_low difference_high"),
    (rates, "k e l f level low high ratio_low ratio_high p_central p_least"),
    (curves, "outcomes time code group at survival low high median rank_chi rank_p incidence incidence_low incidence_high gray_chi gray_p"),
    (posteriors, "shape rate k e x n rate_low rate_high rate_mean share_low share_high share_mean"),
    (pools, "k e x n gamma beta"),
    (agreement, "size table kappa error error_by_chance weighted ac1 ac1_error"),
    (discoveries, "p adjusted"),
    (trends, "t y e value log_slope error dispersion slope slope_error slope_low slope_high slope_p"),
    (chains, "states ends rows reward ending values steps variance"),
]

if __name__ == "__main__":
    for number, (subject, header) in enumerate(SUBJECTS):
        if sys.argv[1:] and subject.__name__ not in sys.argv[1:]:
            continue
        write(subject.__name__, header.split(), subject(np.random.default_rng([19630225, number])))
        print(subject.__name__)
