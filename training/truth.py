"""What really happened in a round, and what the coach said when: the answers to learn from."""

from __future__ import annotations

import json
import math
from bisect import bisect_right
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from .grammar import (
    BOTTOM,
    CHANGE_KINDS,
    EVEN,
    MOMENT_KINDS,
    NOBODY,
    PLACES,
    TOP,
    Grammar,
    place,
    state,
)

# Length of a bin, in seconds.
BIN_SECONDS = 0.5
# Stays in a state have this instead of an arc.
STAY = -1
# An event belongs to the border of a spell if it is nearer than this, in seconds.
SAME_TIME = 0.06
# Who makes a change is looked up among the events nearer than this to it, in seconds.
NEAR_CHANGE = 3.0
# Words up to this long before a line still belong to it, in seconds: heard times are inexact.
EARLY = 0.3

# Numbers for each word: about an event at all; each kind by self, each by the other; where the
# change leads, by self and by the other.
KINDS = CHANGE_KINDS + MOMENT_KINDS
WORD_TARGETS = 1 + 2 * len(KINDS) + 2 * PLACES


@dataclass
class Spell:
    """A stretch of time in one position; times in seconds."""

    start: float
    end: float
    position: str
    top: str | None
    guard: str | None = None

    def role(self, athlete: str) -> str:
        if self.top is None:
            return EVEN
        return TOP if self.top == athlete else BOTTOM


@dataclass
class Event:
    """A change of position, or a moment inside a spell; the time is in seconds."""

    time: float
    kind: str
    actor: str
    technique: str | None
    # For a moment.
    position: str | None = None
    # For a change.
    before: str | None = None
    after: str | None = None
    id: str = ""


@dataclass
class Line:
    """What the coach says at a time (s), and which events it is about."""

    start: float
    events: list[str]


@dataclass
class Truth:
    """What happened in a round."""

    athletes: tuple[str, str]
    kind: str
    duration: float
    spells: list[Spell]
    events: list[Event]

    @property
    def bins(self) -> int:
        return round(self.duration / BIN_SECONDS)

    def ending_at(self, time: float) -> list[Spell]:
        return [spell for spell in self.spells if abs(spell.end - time) < SAME_TIME]

    def starting_at(self, time: float) -> list[Spell]:
        return [spell for spell in self.spells if abs(spell.start - time) < SAME_TIME]

    def during(self, time: float, slack: float = 0.0) -> list[Spell]:
        return [s for s in self.spells if s.start - slack <= time <= s.end + slack]

    def states(self) -> NDArray[np.int64]:
        """The state of every bin. Borders fall to the nearest bin; no spell is lost."""
        spells = sorted(self.spells, key=lambda spell: spell.start)
        borders = [0]
        for spell in spells[:-1]:
            borders.append(max(borders[-1] + 1, round(spell.end / BIN_SECONDS)))
        borders.append(self.bins)
        for i in range(len(borders) - 2, 0, -1):
            borders[i] = min(borders[i], borders[i + 1] - 1)
        states = np.full(self.bins, -1, np.int64)
        for i, spell in enumerate(spells):
            top = None if spell.top is None else self.athletes.index(spell.top)
            states[borders[i] : borders[i + 1]] = state(spell.position, top)
        assert (states >= 0).all()
        return states

    def arcs(self, grammar: Grammar) -> NDArray[np.int64]:
        """The arc that leads into every bin, STAY where nothing changes.

        A change that the grammar does not know has the index after the last arc.
        """
        states = self.states()
        arcs = np.full(len(states), STAY, np.int64)
        changes = [event for event in self.events if event.before is not None]
        for bin in range(1, len(states)):
            source, target = int(states[bin - 1]), int(states[bin])
            if source == target:
                continue
            time = bin * BIN_SECONDS
            near = [event for event in changes if abs(event.time - time) < NEAR_CHANGE]
            near.sort(key=lambda event: abs(event.time - time))
            able = {grammar.arcs[arc].actor for arc in grammar.between(source, target)}
            actors = (self.athletes.index(event.actor) for event in near)
            actor = next((actor for actor in actors if actor in able), NOBODY)
            arc = grammar.arc(source, target, actor)
            arcs[bin] = len(grammar.arcs) if arc is None else arc
        return arcs

    def moments(self) -> NDArray[np.float32]:
        """Moments as `2 x bins x kinds`: each is spread over the bins near it, one in all."""
        moments = np.zeros((2, self.bins, len(MOMENT_KINDS)), np.float32)
        for event in self.events:
            if event.kind not in MOMENT_KINDS:
                continue
            actor, kind = self.athletes.index(event.actor), MOMENT_KINDS.index(event.kind)
            for bin in range(self.bins):
                # A bell curve with a deviation of one second.
                distance = (bin + 0.5) * BIN_SECONDS - event.time
                if abs(distance) < 4.0:
                    moments[actor, bin, kind] += math.exp(-0.5 * distance * distance)
        return moments / np.float32(math.sqrt(2 * math.pi) / BIN_SECONDS)


def word_targets(
    truth: Truth, lines: list[Line], starts: Sequence[float]
) -> tuple[NDArray[np.uint8], NDArray[np.float32]]:
    """What each word is about: `2 x words x WORD_TARGETS` for either athlete as "self", and 1 for
    every word that belongs to a line. `starts` are the times of the words, in seconds."""
    targets = np.zeros((2, len(starts), WORD_TARGETS), np.uint8)
    known = np.zeros(len(starts), np.float32)
    events = {event.id: event for event in truth.events}
    line_starts = [line.start for line in lines]
    for word, start in enumerate(starts):
        line = bisect_right(line_starts, start + EARLY) - 1
        if line < 0:
            continue
        known[word] = 1
        for event in (events.get(id) for id in lines[line].events):
            if event is None or event.kind == "reset":
                continue
            actor = truth.athletes.index(event.actor)
            for view in (0, 1):
                other = view != actor
                targets[view, word, 0] = 1
                targets[view, word, 1 + KINDS.index(event.kind) + other * len(KINDS)] = 1
                if event.after is not None and event.after != "reset":
                    after = truth.starting_at(event.time)
                    role = after[0].role(event.actor) if after else BOTTOM
                    leads = 1 + 2 * len(KINDS) + other * PLACES + place(event.after, role)
                    targets[view, word, leads] = 1
    return targets, known


def read_truth(path: Path) -> Truth:
    """Reads `NAME.truth.json`."""
    data: dict[str, Any] = json.loads(path.read_text(encoding="utf-8"))
    spells = [
        Spell(s["start"], s["end"], s["position"], s["top"], s.get("guard")) for s in data["spells"]
    ]
    events = [
        Event(
            time=e["t"],
            kind=e["kind"],
            actor=e["actor"],
            technique=e["technique"],
            position=e.get("position"),
            before=e.get("from"),
            after=e.get("to"),
            id=e["id"],
        )
        for e in data["events"]
    ]
    first, second = data["athletes"]
    return Truth((first, second), data["kind"], data["duration"], spells, events)


def read_lines(path: Path) -> list[Line]:
    """Reads `NAME.say.tsv`: start (s), ids of events or -, what is said."""
    lines = []
    for text in path.read_text(encoding="utf-8").splitlines():
        if text.strip():
            start, ids, _ = text.split("\t")
            lines.append(Line(float(start), [] if ids in ("-", "") else ids.split(",")))
    return lines
