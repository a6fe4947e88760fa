"""hmmlearn on the chain of `invented.rs`: the same draws, the same matrices, the same answers?

    python hmm_reference.py          checks, then prints the fastest of many runs

Needs hmmlearn 0.3.3. The numbers expected below are also asserted by the Rust tests
(`tests/semi_markov/published.rs`), so that both decoders are held to the same answers.
"""

import platform
import time

import hmmlearn
import numpy as np
from hmmlearn import _hmmc, hmm

STATES, SYMBOLS = 25, 40
# bins: (log of the total weight, log weight of the best path)
EXPECTED = {
    720: (-2672.340533786, -2738.316523542),
    21600: (-80164.093628131, -81850.642147262),
}


class Draws:
    """The linear congruential generator of `invented.rs`."""

    def __init__(self, seed):
        self.state = seed

    def next(self):
        self.state = (self.state * 6364136223846793005 + 1442695040888963407) % 2**64
        return (self.state >> 32) / 2**32

    def shares(self, count):
        draws = [self.next() + 0.05 for _ in range(count)]
        total = 0.0
        for draw in draws:
            total += draw
        return [draw / total for draw in draws]


def chain(bins):
    draws = Draws(7)
    model = hmm.CategoricalHMM(n_components=STATES, implementation="scaling")
    model.startprob_ = np.array(draws.shares(STATES))
    rows = []
    for state in range(STATES):
        row = [0.05 * share for share in draws.shares(STATES)]
        row[state] += 0.95
        rows.append(row)
    model.transmat_ = np.array(rows)
    model.emissionprob_ = np.array([draws.shares(SYMBOLS) for _ in range(STATES)])
    model.n_features = SYMBOLS
    seen = np.array([[int(draws.next() * SYMBOLS)] for _ in range(bins)])
    return model, seen


def fastest(action, runs):
    best = float("inf")
    for _ in range(runs):
        start = time.perf_counter()
        action()
        best = min(best, time.perf_counter() - start)
    return best * 1e3


def forward_backward(start, trans, weights):
    """The compiled kernels alone, from matrices to marginals, without Python's checks."""
    _, forward, scaling = _hmmc.forward_scaling(start, trans, weights)
    backward = _hmmc.backward_scaling(start, trans, weights, scaling)
    marginals = forward * backward
    marginals /= marginals.sum(axis=1, keepdims=True)
    return marginals


def main():
    print(f"hmmlearn {hmmlearn.__version__}, numpy {np.__version__}, Python {platform.python_version()}")
    for bins, (total, best) in EXPECTED.items():
        model, seen = chain(bins)
        log_path, _ = model.decode(seen)
        for found, expected in ((model.score(seen), total), (log_path, best)):
            assert abs(found - expected) < 1e-6, f"{bins} bins: {found} is not {expected}"
        weights = model.emissionprob_.T[seen[:, 0]]
        log_start, log_trans, log_weights = map(
            np.log, (model.startprob_, model.transmat_, weights)
        )
        runs = 300 if bins < 10_000 else 15
        kernels = fastest(
            lambda: forward_backward(model.startprob_, model.transmat_, weights), runs
        )
        viterbi = fastest(lambda: _hmmc.viterbi(log_start, log_trans, log_weights), runs)
        whole = fastest(lambda: model.score_samples(seen), runs)
        decode = fastest(lambda: model.decode(seen), runs)
        model.implementation = "log"
        logs = fastest(lambda: model.score_samples(seen), max(runs // 10, 3))
        print(
            f"{bins} bins, answers agree. forward-backward: kernels {kernels:.2f} ms, "
            f"score_samples {whole:.2f} ms, in log space {logs:.2f} ms; "
            f"Viterbi: kernel {viterbi:.2f} ms, decode {decode:.2f} ms"
        )


if __name__ == "__main__":
    main()
