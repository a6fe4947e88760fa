"""Reference libraries on the inputs that `benches/libraries.rs` wrote: same answers, and how fast?

    python same_input.py FOLDER

Needs the libraries that `tests/reference/make_reference.py` lists; `make bench-figures` runs both
programs one after the other. Every library call is timed as a user would make it, on data that is
already in its own form; the fastest of seven runs counts. Stops with an error where an answer differs
by more than a billionth.
"""

import csv
import pathlib
import platform
import sys
import time
import warnings

import numpy as np
import scipy
import statsmodels
import lifelines
import sksurv
import comprisk
from comprisk import gray_test
from lifelines import KaplanMeierFitter
from lifelines.statistics import multivariate_logrank_test
from sksurv.nonparametric import cumulative_incidence_competing_risks
from statsmodels.stats.inter_rater import cohens_kappa
from statsmodels.stats.multitest import multipletests
from statsmodels.stats.proportion import proportion_confint
from statsmodels.stats.rates import confint_poisson

warnings.simplefilter("ignore")
FOLDER = pathlib.Path(sys.argv[1])
RUNS = 7
COMPARED, KINDS, STATES = 2000, 12, 22


def read(name):
    return np.loadtxt(FOLDER / name, delimiter=",", ndmin=2)


stays = read("stays.csv")
held, outcome, group = stays[:, 0], stays[:, 1].astype(int), stays[:, 2].astype(int)
ended = outcome > 0
events, more = read("counts.csv").T
p_values = read("p_values.csv")[:, 0]
one, other = read("readings.csv").astype(int).T
chains = read("chains.csv").reshape(-1, STATES, STATES + 1)
rewards = np.arange(STATES) - 10.0


def incidence():
    times, curves, interval = cumulative_incidence_competing_risks(
        outcome, held, conf_type="log-log"
    )
    return curves[1].sum()


def kappa():
    table = np.zeros((KINDS, KINDS))
    np.add.at(table, (one, other), 1.0)
    return cohens_kappa(table).kappa


def values():
    # All chains in one call: what a user of numpy would write.
    system = np.eye(STATES) - chains[:, :, :STATES]
    right = np.broadcast_to(rewards[:, None], (len(chains), STATES, 1))
    return np.linalg.solve(system, right)[:, 0, 0].sum()


def kaplan_meier():
    # Its first row is the start, which is no time at which anything ended.
    return KaplanMeierFitter().fit(held, ended).survival_function_.to_numpy()[1:].sum()


few = slice(0, COMPARED)
SUBJECTS = {
    "cumulative incidence": (f"scikit-survival {sksurv.__version__}", incidence),
    "Kaplan-Meier": (f"lifelines {lifelines.__version__}", kaplan_meier),
    "log-rank": (
        f"lifelines {lifelines.__version__}",
        lambda: multivariate_logrank_test(held, group, ended).test_statistic,
    ),
    "Gray": (
        f"comprisk {comprisk.__version__}",
        lambda: gray_test(held[few], outcome[few], group[few], cause=1).stat,
    ),
    "Poisson intervals": (
        f"statsmodels {statsmodels.__version__}",
        lambda: confint_poisson(events, more, method="exact-c")[1].sum(),
    ),
    "Wilson intervals": (
        f"statsmodels {statsmodels.__version__}",
        lambda: proportion_confint(events, events + more, method="wilson")[1].sum(),
    ),
    "Benjamini-Hochberg": (
        f"statsmodels {statsmodels.__version__}",
        lambda: multipletests(p_values, method="fdr_bh")[1].sum(),
    ),
    "kappa": (f"statsmodels {statsmodels.__version__}", kappa),
    "values of chains": (f"numpy {np.__version__}", values),
}


def main():
    with open(FOLDER / "answers.csv", newline="") as file:
        ours = {row[0]: (float(row[1]), float(row[2])) for row in csv.reader(file)}
    print(f"Python {platform.python_version()}, scipy {scipy.__version__}")
    print("| subject | grapevine | library | time | same answer |")
    print("|---|---|---|---|---|")
    apart = []
    for subject, (library, work) in SUBJECTS.items():
        best, answer = float("inf"), None
        for _ in range(RUNS):
            start = time.perf_counter()
            answer = work()
            best = min(best, time.perf_counter() - start)
        seconds, expected = ours[subject]
        differs = abs(answer - expected) / max(1.0, abs(expected))
        if differs > 1e-9:
            apart.append(f"{subject}: {answer} is not {expected}")
        print(
            f"| {subject} | {seconds * 1000:.2f} ms | {library} | {best * 1000:.2f} ms | {differs:.0e} |"
        )
    if apart:
        sys.exit("\n".join(apart))


main()
