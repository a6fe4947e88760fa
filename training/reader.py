"""The reader as a whole, and how wrong it is."""

from __future__ import annotations

from dataclasses import dataclass

import torch.nn.functional as F
from torch import Tensor, nn, stack

from .batches import Batch
from .chain import Chain
from .evidence import Evidence
from .grammar import Grammar
from .network import Network
from .truth import WORD_TARGETS
from .words import Vocabulary

# What the parts of the loss count.
PATH_SHARE, MOMENT_SHARE, WORD_SHARE = 4.0, 4.0, 0.3


@dataclass
class Loss:
    """Means over the examples of a batch."""

    # Negative log-likelihood of the true path, for each bin.
    path: Tensor
    # Negative log-likelihood of the moments (Poisson), for each bin.
    moments: Tensor
    # Cross-entropy of what each word is about, for each word.
    words: Tensor

    @property
    def total(self) -> Tensor:
        return PATH_SHARE * self.path + MOMENT_SHARE * self.moments + WORD_SHARE * self.words


class Reader(nn.Module):
    def __init__(
        self, vocabulary: Vocabulary, grammar: Grammar, width: int, dropout: float
    ) -> None:
        super().__init__()
        self.network = Network(vocabulary, width, dropout)
        self.evidence = Evidence(grammar)
        self.chain = Chain(grammar)

    def loss(self, batch: Batch) -> Loss:
        outputs = self.network(batch)
        weights = self.evidence(outputs.bins)
        mask, bins = batch.bin_mask, batch.bin_mask.sum(1)

        partition = self.chain.log_partition(weights, mask)
        score = self.chain.path_score(weights, batch.states, batch.arcs, mask).double()
        path = (partition - score) / bins

        rates = F.softplus(stack(weights.moments, 1))
        unlikely = rates - batch.moments * (rates + 1e-6).log()
        moments = (unlikely * mask[:, None, :, None]).sum((1, 2, 3)) / bins

        words = F.binary_cross_entropy_with_logits(
            stack(outputs.words, 1), batch.word_targets.float(), reduction="none"
        )
        assert words.shape[-1] == WORD_TARGETS
        words = (words.sum(-1) * batch.word_known[:, None]).sum()
        return Loss(path.mean(), moments.mean(), words / (batch.word_known.sum() * 2 + 1))
