"""The network: from the words of a talk to numbers for every half second, seen from each athlete.

The same as engine/decode/src/reader/network.rs, in a form that learns. Parameters have the names
that they have in the parameters file, but for `half`, which PyTorch uses already.
"""

from __future__ import annotations

from dataclasses import dataclass

import torch
import torch.nn.functional as F
from torch import Tensor, nn

from .batches import ROUND_KINDS, Batch
from .evidence import OUTPUTS
from .truth import WORD_TARGETS
from .words import BUCKETS, CASES, FORMS, OTHER_VIEW, PADDING, REFERS, RESERVED, Vocabulary

WORD_DILATIONS = (1, 2, 4)
BIN_DILATIONS = (1, 2, 4, 6)
# How many rows a convolution looks at.
TAPS = 5
# Words are dropped less than the rest.
WORD_DROPOUT = 0.6


@dataclass
class Outputs:
    """What the network says, for each athlete as "self"."""

    # `batch x bins x OUTPUTS` each.
    bins: tuple[Tensor, Tensor]
    # `batch x words x WORD_TARGETS` each.
    words: tuple[Tensor, Tensor]


class Block(nn.Module):
    """Looks at neighbouring rows: norm, convolution, rectifier, linear, and the input added."""

    def __init__(self, width: int, dilation: int, dropout: float) -> None:
        super().__init__()
        padding = dilation * (TAPS // 2)
        self.norm = nn.LayerNorm(width)
        self.convolution = nn.Conv1d(width, width, TAPS, padding=padding, dilation=dilation)
        self.linear = nn.Conv1d(width, width, 1)
        self.dropout = nn.Dropout(dropout)

    def forward(self, rows: Tensor, mask: Tensor) -> Tensor:
        """`rows` is batch x width x length, `mask` batch x 1 x length."""
        normed = self.norm(rows.transpose(1, 2)).transpose(1, 2) * mask
        hidden = F.relu(self.convolution(normed))
        return (rows + self.dropout(self.linear(hidden))) * mask


class Network(nn.Module):
    def __init__(self, vocabulary: Vocabulary, width: int, dropout: float) -> None:
        super().__init__()
        self.width, self.dropout_share = width, dropout
        tokens, terms = len(vocabulary.tokens) + RESERVED, len(vocabulary.terms) + 1
        self.token = nn.Embedding(tokens, width, padding_idx=PADDING)
        self.letters = nn.EmbeddingBag(BUCKETS + 1, width, mode="sum", padding_idx=BUCKETS)
        self._start(self.token, 0.1, zero=PADDING)
        self._start(self.letters, 0.03, zero=BUCKETS)
        self.refers = nn.Embedding(REFERS, width)
        self.term = nn.Embedding(terms, width, padding_idx=0)
        self._start(self.term, 0.05, zero=0)
        self.case = nn.Embedding(CASES, width)
        self.timing = nn.Embedding(len(FORMS), width)
        self.gap = nn.Linear(2, width)
        self._start(self.refers, 0.3)
        self._start(self.case, 0.1)
        self._start(self.timing, 0.1)
        self.words = nn.ModuleList([Block(width, d, dropout) for d in WORD_DILATIONS])
        self.bins = nn.ModuleList([Block(width, d, dropout) for d in BIN_DILATIONS])
        self.to_bin = nn.Linear(width, width)
        self.halves = nn.Linear(width, width, bias=False)
        self.round_kind = nn.Embedding(len(ROUND_KINDS), width)
        self._start(self.round_kind, 0.1)
        self.norm = nn.LayerNorm(width)
        self.dropout = nn.Dropout(dropout)
        # A pair of bins shares a row.
        self.out = nn.Linear(width, 2 * OUTPUTS)
        nn.init.normal_(self.out.weight, std=0.02)
        nn.init.zeros_(self.out.bias)
        self.word_out = nn.Linear(width, WORD_TARGETS)
        self.register_buffer("other_view", torch.from_numpy(OTHER_VIEW), persistent=False)

    @staticmethod
    def _start(
        table: nn.Embedding | nn.EmbeddingBag, deviation: float, zero: int | None = None
    ) -> None:
        nn.init.normal_(table.weight, std=deviation)
        if zero is not None:
            with torch.no_grad():
                table.weight[zero] = 0

    def forward(self, batch: Batch) -> Outputs:
        said = self._word_rows(batch)
        first_bins, first_words = self._view(said, batch.refers, batch)
        second_bins, second_words = self._view(said, self.other_view[batch.refers], batch)
        return Outputs((first_bins, second_bins), (first_words, second_words))

    def _word_rows(self, batch: Batch) -> Tensor:
        """What is said, whoever is "self"."""
        letters = self.letters(batch.groups.flatten(0, 1)).view(*batch.token.shape, self.width)
        gap = torch.stack([batch.gap, torch.log1p(batch.gap)], -1)
        rows: Tensor = self.token(batch.token) + letters * batch.group_scale[..., None]
        rows = rows + self.term(batch.term) + self.case(batch.case) + self.gap(gap)
        return rows + self.timing(batch.timing)[:, None]

    def _view(self, said: Tensor, refers: Tensor, batch: Batch) -> tuple[Tensor, Tensor]:
        """The outputs by bin and by word with one athlete as "self"."""
        mask = batch.word_mask[:, None]
        hidden = (said + self.refers(refers)).transpose(1, 2) * mask
        hidden = F.dropout(hidden, self.dropout_share * WORD_DROPOUT, self.training)
        for block in self.words:
            hidden = block(hidden, mask)
        hidden = hidden.transpose(1, 2)
        by_word = self.word_out(hidden)

        # Pairs of bins share a row; which half a word falls into is told apart by a sign.
        sign = batch.bin % 2 * 2.0 - 1
        laid = self.to_bin(hidden) + self.halves(hidden) * sign[..., None]
        laid = laid * batch.word_mask[..., None]
        count, bins = batch.bin_mask.shape
        pairs = torch.zeros(count, bins // 2, self.width, device=laid.device, dtype=laid.dtype)
        rows = (batch.bin // 2)[..., None].expand(-1, -1, self.width)
        pairs = pairs.scatter_add(1, rows, laid)
        pairs = pairs + self.round_kind(batch.round_kind)[:, None]
        mask = batch.bin_mask[:, None, ::2]
        pairs = pairs.transpose(1, 2) * mask
        for block in self.bins:
            pairs = block(pairs, mask)
        out = self.out(self.dropout(self.norm(pairs.transpose(1, 2))))
        return out.view(count, bins, OUTPUTS), by_word
