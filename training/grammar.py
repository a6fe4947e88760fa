"""The grammar of grappling as numbers: states, changes and arcs.

Mirrors engine/decode/src/grammar.rs: the order of states and arcs is the same there, and a test of
the engine compares the two.
"""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

REPOSITORY = Path(__file__).resolve().parent.parent
GRAMMAR_FILE = REPOSITORY / "data" / "grammar" / "changes.tsv"

# Positions with somebody on top, in the order of the network's outputs.
HELD = (
    "closed_guard",
    "open_guard",
    "half_guard",
    "side_control",
    "north_south",
    "knee_on_belly",
    "mount",
    "back_control",
    "turtle",
    "front_headlock",
    "leg_entanglement",
)
# States: every held position with the first athlete on top, then with the second, then these two.
STANDING = 2 * len(HELD)
PAUSE = STANDING + 1
STATES = STANDING + 2

# A position held in a role, or standing: 11 on top, 11 underneath, 1.
PLACES = 2 * len(HELD) + 1

# Kinds of changes and of moments inside a spell, in the order of the network's outputs.
CHANGE_KINDS = (
    "takedown",
    "guard_pull",
    "pass",
    "sweep",
    "reversal",
    "escape",
    "back_take",
    "advance",
)
MOMENT_KINDS = ("submission_attempt", "release", "tap", "failed_try", "submission_escape")

# Roles as the grammar's file writes them; EVEN where nobody is on top.
TOP, BOTTOM, EVEN = "top", "bottom", "-"

# Who acts in an arc that is a stop or a start.
NOBODY = -1


@dataclass(frozen=True)
class Change:
    """A change of position, seen from the athlete who makes it."""

    before: str
    role_before: str
    after: str
    role_after: str
    kind: str


@dataclass(frozen=True)
class Arc:
    """A step from one state to another."""

    source: int
    target: int
    # Which learned weight it has: the index of its change; then one for stops, one for the start.
    weight: int
    # 0 or 1, or NOBODY.
    actor: int
    change: Change | None

    @property
    def stops(self) -> bool:
        return self.target == PAUSE


def read_changes(path: Path = GRAMMAR_FILE) -> list[Change]:
    """The changes in the order of the file: five columns, tabs between them, # for comments."""
    lines = path.read_text(encoding="utf-8").splitlines()
    return [Change(*line.split("\t")) for line in lines if line.strip() and line[0] != "#"]


def state(position: str, top: int | None) -> int:
    """The state with this position and this athlete (0 or 1) on top."""
    if position == "standing":
        return STANDING
    if position == "reset":
        return PAUSE
    assert top is not None, position
    return HELD.index(position) + len(HELD) * top


def held_index(state: int) -> int:
    """The position of a state, whoever is on top: 0 to 10, or the state itself."""
    return state % len(HELD) if state < STANDING else state


def second_on_top(state: int) -> bool:
    """Whether the second athlete is on top."""
    return len(HELD) <= state < STANDING


def place(position: str, role: str) -> int:
    """Where a change leads or starts, seen from the one who makes it."""
    if position == "standing":
        return 2 * len(HELD)
    return HELD.index(position) + (0 if role == TOP else len(HELD))


class Grammar:
    """The changes and the arcs that follow from them."""

    def __init__(self, changes: list[Change]) -> None:
        self.changes = changes
        self.arcs: list[Arc] = []
        for weight, change in enumerate(changes):
            for actor in (0, 1):
                tops = {TOP: actor, BOTTOM: 1 - actor, EVEN: None}
                source = state(change.before, tops[change.role_before])
                target = state(change.after, tops[change.role_after])
                self.arcs.append(Arc(source, target, weight, actor, change))
        stop, start = len(changes), len(changes) + 1
        for source in range(STATES):
            if source != PAUSE:
                self.arcs.append(Arc(source, PAUSE, stop, NOBODY, None))
        self.arcs.append(Arc(PAUSE, STANDING, start, NOBODY, None))
        # Number of learned weights of changes.
        self.weights = start + 1

        self._by_ends: dict[tuple[int, int], list[int]] = {}
        for index, arc in enumerate(self.arcs):
            self._by_ends.setdefault((arc.source, arc.target), []).append(index)

    @classmethod
    def builtin(cls) -> Grammar:
        return cls(read_changes())

    def between(self, source: int, target: int) -> list[int]:
        """The arcs from one state to another: at most two, one for each athlete who could act."""
        return self._by_ends.get((source, target), [])

    def arc(self, source: int, target: int, actor: int) -> int | None:
        """The arc from one state to another, by this athlete if the grammar has that."""
        found = self.between(source, target)
        by_actor = [arc for arc in found if self.arcs[arc].actor == actor]
        return next(iter(by_actor + found), None)
