"""A linear-chain conditional random field over the states of a round, one for each bin.

Lafferty, McCallum, Pereira: Conditional random fields (ICML 2001). The partition is computed by
products of pairs of matrices (a scan by halves), which is quick where steps can run side by side.
"""

from __future__ import annotations

import torch
from torch import Tensor, nn

from .evidence import Weights
from .grammar import HELD, PAUSE, STANDING, STATES, Grammar

# Log weight of what the grammar does not allow.
FORBIDDEN = -1e4
# Log weight that a true change gets which the grammar does not know.
UNKNOWN_CHANGE = -30.0
# Log weights of the first state: rounds begin standing.
FIRST_STANDING, FIRST_PAUSE, FIRST_HELD = 0.0, -8.0, -4.0


class Chain(nn.Module):
    def __init__(self, grammar: Grammar) -> None:
        super().__init__()
        # Log weight of staying for one more bin: the held positions, standing, the pause.
        self.stay = nn.Parameter(torch.zeros(len(HELD) + 2))
        # Which arcs lead from a state to another, by source and target; the index after the last
        # arc stands for none.
        arcs = torch.full((2, STATES * STATES), len(grammar.arcs))
        for source in range(STATES):
            for target in range(STATES):
                found = grammar.between(source, target)
                assert len(found) <= 2, (source, target)
                for which, arc in enumerate(found):
                    arcs[which, source * STATES + target] = arc
        first = torch.full((STATES,), FIRST_HELD)
        first[STANDING], first[PAUSE] = FIRST_STANDING, FIRST_PAUSE
        self.register_buffer("arcs", arcs, persistent=False)
        self.register_buffer("first", first, persistent=False)

    def stays(self) -> Tensor:
        """Log weight of staying, for each state."""
        held = self.stay[: len(HELD)]
        return torch.cat([held, held, self.stay[len(HELD) :]])

    def steps(self, arcs: Tensor) -> Tensor:
        """The arcs' weights as `... x STATES x STATES`, from row to column."""
        padded = torch.cat([arcs, torch.full_like(arcs[..., :1], FORBIDDEN)], -1)
        one, other = (padded.index_select(-1, which) for which in self.arcs)
        steps = torch.logaddexp(one, other).view(*arcs.shape[:-1], STATES, STATES)
        same = torch.eye(STATES, device=arcs.device).bool()
        return torch.where(same, torch.diag_embed(self.stays()), steps)

    def log_partition(self, weights: Weights, bin_mask: Tensor) -> Tensor:
        """Logarithm of the summed weight of all paths, for each example; in double precision."""
        states = weights.states.double()
        steps = self.steps(weights.arcs).double()[:, 1:] + states[:, 1:, None, :]
        # Bins that are filling change nothing.
        same = torch.eye(STATES, device=states.device, dtype=states.dtype)
        filling = bin_mask[:, 1:] < 0.5
        nothing = torch.where(same.bool(), 0.0, FORBIDDEN).double()
        steps = torch.where(filling[..., None, None], nothing, steps)

        largest = steps.amax((-1, -2), keepdim=True)
        products, logs = (steps - largest).exp(), largest[..., 0, 0]
        while products.shape[1] > 1:
            if products.shape[1] % 2:
                count = len(products)
                products = torch.cat([products, same.expand(count, 1, STATES, STATES)], 1)
                logs = torch.cat([logs, torch.zeros_like(logs[:, :1])], 1)
            pairs = products[:, 0::2] @ products[:, 1::2]
            logs = logs[:, 0::2] + logs[:, 1::2]
            scale = pairs.amax((-1, -2), keepdim=True).detach().clamp(min=1e-300)
            products, logs = pairs / scale, logs + scale[..., 0, 0].log()

        first = states[:, 0] + self.first.double()
        largest = first.amax(-1, keepdim=True)
        last = ((first - largest).exp()[:, None] @ products[:, 0]).squeeze(1)
        return last.sum(-1).log() + largest[:, 0] + logs[:, 0]

    def path_score(
        self, weights: Weights, states: Tensor, arcs: Tensor, bin_mask: Tensor
    ) -> Tensor:
        """Log weight of the path through these states by these arcs, for each example."""
        visited = weights.states.gather(-1, states[..., None])[..., 0] * bin_mask
        padded = torch.cat(
            [weights.arcs, torch.full_like(weights.arcs[..., :1], UNKNOWN_CHANGE)], -1
        )
        changed = padded.gather(-1, arcs.clamp(min=0)[..., None])[..., 0]
        taken = torch.where(arcs >= 0, changed, self.stays()[states]) * bin_mask
        return visited.sum(1) + taken[:, 1:].sum(1) + self.first[states[:, 0]]
