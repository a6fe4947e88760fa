"""Batches: several examples side by side, filled up to the longest."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, fields

import numpy as np
import torch
from torch import Tensor
from torch.utils.data import DataLoader, Dataset

from .examples import Example
from .grammar import MOMENT_KINDS
from .truth import BIN_SECONDS, STAY, WORD_TARGETS
from .words import BUCKETS, FORMS, MOST_GROUPS

# Kinds of rounds in the order of the network's table.
ROUND_KINDS = ("flow", "positional", "hard")


@dataclass
class Batch:
    """Examples as tensors; the first side is the example, then words or bins."""

    token: Tensor
    groups: Tensor
    group_scale: Tensor
    term: Tensor
    refers: Tensor
    case: Tensor
    gap: Tensor
    # The bin in which each word begins.
    bin: Tensor
    # 1 for words and bins that are there, 0 for filling.
    word_mask: Tensor
    bin_mask: Tensor
    timing: Tensor
    round_kind: Tensor
    states: Tensor
    arcs: Tensor
    moments: Tensor
    word_targets: Tensor
    word_known: Tensor

    def to(self, device: torch.device) -> Batch:
        moved = {f.name: getattr(self, f.name).to(device, non_blocking=True) for f in fields(self)}
        return Batch(**moved)

    def pin_memory(self) -> Batch:
        return Batch(**{f.name: getattr(self, f.name).pin_memory() for f in fields(self)})


def collate(examples: Sequence[Example]) -> Batch:
    count = len(examples)
    words = max(len(example.rows) for example in examples)
    bins = max(len(example.answers.states) for example in examples)
    # Pairs of bins share a row in the network.
    bins += bins % 2

    def whole(*shape: int) -> Tensor:
        return torch.zeros(count, *shape, dtype=torch.long)

    batch = Batch(
        token=whole(words),
        groups=torch.full((count, words, MOST_GROUPS), BUCKETS, dtype=torch.int32),
        group_scale=torch.zeros(count, words),
        term=whole(words),
        refers=whole(words),
        case=whole(words),
        gap=torch.zeros(count, words),
        bin=whole(words),
        word_mask=torch.zeros(count, words),
        bin_mask=torch.zeros(count, bins),
        timing=whole(),
        round_kind=whole(),
        states=whole(bins),
        arcs=torch.full((count, bins), STAY),
        moments=torch.zeros(count, 2, bins, len(MOMENT_KINDS)),
        word_targets=torch.zeros(count, 2, words, WORD_TARGETS, dtype=torch.uint8),
        word_known=torch.zeros(count, words),
    )
    for i, example in enumerate(examples):
        rows, answers = example.rows, example.answers
        n, t = len(rows), len(answers.states)
        for name in ("token", "groups", "group_scale", "term", "refers", "case", "gap"):
            getattr(batch, name)[i, :n] = torch.from_numpy(getattr(rows, name))
        bin = np.clip((rows.start / BIN_SECONDS).astype(np.int64), 0, t - 1)
        batch.bin[i, :n] = torch.from_numpy(bin)
        batch.word_mask[i, :n] = 1
        batch.bin_mask[i, :t] = 1
        batch.timing[i] = FORMS.index(example.form)
        batch.round_kind[i] = ROUND_KINDS.index(answers.kind)
        batch.states[i, :t] = torch.from_numpy(answers.states)
        batch.arcs[i, :t] = torch.from_numpy(answers.arcs)
        batch.moments[i, :, :t] = torch.from_numpy(answers.moments)
        targets = np.ascontiguousarray(example.word_targets)
        batch.word_targets[i, :, :n] = torch.from_numpy(targets)
        batch.word_known[i, :n] = torch.from_numpy(example.word_known)
    return batch


class BatchMaker(Dataset[Batch]):
    """Makes the batches of one pass, each by its number, so that workers can share the work."""

    def __init__(self, count: int, make: Callable[[int], Sequence[Example]]) -> None:
        self.count, self.make = count, make

    def __len__(self) -> int:
        return self.count

    def __getitem__(self, number: int) -> Batch:
        return collate(self.make(number))


def loader(maker: BatchMaker, workers: int, pinned: bool) -> DataLoader[Batch]:
    return DataLoader(maker, batch_size=None, num_workers=workers, pin_memory=pinned)
