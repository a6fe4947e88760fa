"""What the network's numbers mean: weights of states and of arcs, and rates of moments.

Mirrors engine/decode/src/evidence.rs.
"""

from __future__ import annotations

from dataclasses import dataclass

import torch
from torch import Tensor, nn

from .grammar import CHANGE_KINDS, HELD, MOMENT_KINDS, PLACES, Grammar, place

# The network's output for a bin: held on top and underneath, standing, pause, kind of change by
# self and by the other, where it leads and where it starts, moments.
GROUPS = (
    2 * len(HELD),
    1,
    1,
    len(CHANGE_KINDS),
    len(CHANGE_KINDS),
    PLACES,
    PLACES,
    len(MOMENT_KINDS),
)
OUTPUTS = sum(GROUPS)

# The learned weight of every change to begin with: changes are rare.
FIRST_WEIGHT = -4.0


@dataclass
class Weights:
    """`batch x bins x ...`: log weights of states and arcs, and moments before the softplus that
    makes rates of them, for either athlete."""

    states: Tensor
    arcs: Tensor
    moments: tuple[Tensor, Tensor]


class Evidence(nn.Module):
    def __init__(self, grammar: Grammar) -> None:
        super().__init__()
        self.change = nn.Parameter(torch.full((grammar.weights,), FIRST_WEIGHT))
        weight = torch.tensor([arc.weight for arc in grammar.arcs])
        stops = torch.tensor([float(arc.stops) for arc in grammar.arcs])
        # Which numbers of the view of the one who acts a change adds up: its kind, where it leads,
        # where it starts.
        numbers = len(CHANGE_KINDS) + 2 * PLACES
        sources = torch.zeros(2 * numbers, len(grammar.arcs))
        for index, arc in enumerate(grammar.arcs):
            change = arc.change
            if change is not None:
                first = arc.actor * numbers
                to = first + len(CHANGE_KINDS)
                sources[first + CHANGE_KINDS.index(change.kind), index] += 1
                sources[to + place(change.after, change.role_after), index] += 1
                sources[to + PLACES + place(change.before, change.role_before), index] += 1
        self.register_buffer("weight", weight, persistent=False)
        self.register_buffer("stops", stops, persistent=False)
        self.register_buffer("sources", sources, persistent=False)

    def forward(self, bins: tuple[Tensor, Tensor]) -> Weights:
        """Adds up what both views say; see `weigh` in evidence.rs."""
        held1, standing1, pause1, own1, other1, to1, from1, moments1 = bins[0].split(GROUPS, -1)
        held2, standing2, pause2, own2, other2, to2, from2, moments2 = bins[1].split(GROUPS, -1)
        n = len(HELD)
        first_on_top = held1[..., :n] + held2[..., n:]
        second_on_top = held2[..., :n] + held1[..., n:]
        pause = pause1 + pause2
        states = torch.cat([first_on_top, second_on_top, standing1 + standing2, pause], -1)
        by_first, by_second = own1 + other2, own2 + other1
        views = torch.cat([by_first, to1, from1, by_second, to2, from2], -1)
        arcs = views @ self.sources + self.change[self.weight] + self.stops * pause
        return Weights(states, arcs, (moments1, moments2))
