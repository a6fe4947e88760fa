"""The chain against plain sums, and the file form against itself."""

from __future__ import annotations

import random
import tempfile
import unittest
from pathlib import Path

import torch
from torch import Tensor

from training import export
from training.chain import Chain
from training.evidence import Weights
from training.grammar import CHANGE_KINDS, STANDING, STATES, Grammar
from training.make_parity_fixture import VOCABULARY, tiny_reader
from training.truth import STAY

BINS = 7


def random_weights(grammar: Grammar, count: int) -> Weights:
    generator = torch.Generator().manual_seed(5)
    states = torch.randn(count, BINS, STATES, generator=generator)
    arcs = torch.randn(count, BINS, len(grammar.arcs), generator=generator)
    return Weights(states, arcs, (states[..., :5], states[..., :5]))


def forward_sum(chain: Chain, weights: Weights, bins: int) -> Tensor:
    """The partition of the first example, one bin after the other."""
    steps = chain.steps(weights.arcs)[0].double()
    states = weights.states[0].double()
    reached = states[0] + chain.first.double()
    for bin in range(1, bins):
        reached = torch.logsumexp(reached[:, None] + steps[bin], 0) + states[bin]
    return torch.logsumexp(reached, 0)


class ChainTest(unittest.TestCase):
    def setUp(self) -> None:
        self.grammar = Grammar.builtin()
        self.chain = Chain(self.grammar)
        with torch.no_grad():
            self.chain.stay.normal_(0, 1)

    def test_partition_by_pairs_is_the_sum_bin_by_bin(self) -> None:
        weights = random_weights(self.grammar, 2)
        mask = torch.ones(2, BINS)
        for bins in (1, 2, 6, 7):
            mask[:, bins:] = 0
            got = self.chain.log_partition(weights, mask)[0]
            self.assertAlmostEqual(got.item(), forward_sum(self.chain, weights, bins).item(), 5)
            mask[:] = 1

    def test_marginals_of_states_sum_to_one_in_every_bin(self) -> None:
        weights = random_weights(self.grammar, 1)
        weights.states.requires_grad_()
        self.chain.log_partition(weights, torch.ones(1, BINS)).sum().backward()
        marginals = weights.states.grad
        assert marginals is not None
        torch.testing.assert_close(marginals.sum(-1), torch.ones(1, BINS))

    def test_a_path_with_one_way_through_has_all_the_weight(self) -> None:
        weights = random_weights(self.grammar, 1)
        # The path: two standing, a change by the first arc that leads from there, then staying.
        arc = next(i for i, arc in enumerate(self.grammar.arcs) if arc.source == STANDING)
        target = self.grammar.arcs[arc].target
        path = torch.tensor([[STANDING] * 2 + [target] * (BINS - 2)])
        arcs = torch.full((1, BINS), STAY)
        arcs[0, 2] = arc
        closed = torch.full_like(weights.states, -1e4)
        states = closed.scatter(-1, path[..., None], weights.states)
        only = torch.full_like(weights.arcs, -1e4)
        only[0, 2, arc] = weights.arcs[0, 2, arc]
        weights = Weights(states, only, weights.moments)
        mask = torch.ones(1, BINS)
        score = self.chain.path_score(weights, path, arcs, mask).item()
        self.assertAlmostEqual(self.chain.log_partition(weights, mask).item(), score, 4)


class GrammarTest(unittest.TestCase):
    def test_every_change_is_made_by_either_athlete(self) -> None:
        grammar = Grammar.builtin()
        rng = random.Random(3)
        for weight in rng.sample(range(len(grammar.changes)), 40):
            arcs = [arc for arc in grammar.arcs if arc.weight == weight]
            self.assertEqual([arc.actor for arc in arcs], [0, 1])
            self.assertIn(grammar.changes[weight].kind, CHANGE_KINDS)


class FileTest(unittest.TestCase):
    def test_what_is_written_is_read_again(self) -> None:
        grammar = Grammar.builtin()
        with tempfile.TemporaryDirectory() as folder:
            first, second = Path(folder) / "1.reader", Path(folder) / "2.reader"
            export.write(first, tiny_reader(grammar), VOCABULARY)
            file = export.read(first)
            export.write(second, export.load(file, grammar, dropout=0.1), file.vocabulary)
            self.assertEqual(first.read_bytes(), second.read_bytes())


if __name__ == "__main__":
    unittest.main()
