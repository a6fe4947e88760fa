"""Draws invented rounds: a small semi-Markov simulation after counts of rounds of known truth.

A spell's length is log-normal, what follows it is drawn by how often that was counted, and inside
it come failed tries and submission attempts at the counted rates. The numbers of the sample rounds
are invented, so what is drawn says nothing about real grappling; it only keeps the trade's rules
of what can follow what.
"""

from __future__ import annotations

import math
import random
from collections import Counter, defaultdict
from collections.abc import Iterable, Mapping
from typing import NamedTuple, TypeVar

from .common_practice import CHANGES, SUBMISSIONS, TECHNIQUES
from .grammar import EVEN, TOP
from .truth import Event, Spell, Truth

# Kinds of rounds, and their share by repetition.
KINDS = ("flow", "flow", "positional", "hard")
# Lengths of rounds, in seconds.
LENGTHS = (240, 300, 360)
# Seconds that a spell lasts at least and at most.
SHORTEST, LONGEST = 2.0, 110
# Hard rounds hold longer.
PACE = {"flow": 1.0, "positional": 1.0, "hard": 1.25}

# A technique or a change counted n times is drawn with weight n to this power: rare ones come
# oftener than they were counted.
TECHNIQUE_POWER = 0.75
CHANGE_POWER = 0.85

# How often the rate of moments in a second is tried, in seconds between tries on average, and the
# most that a try succeeds.
SECONDS_BETWEEN_TRIES = 9
MOST_CHANCE = 0.75


class Way(NamedTuple):
    """How a position is left, seen from the athlete who acts."""

    role: str
    after: str
    role_after: str
    kind: str


class Moment(NamedTuple):
    """A failed try or a submission attempt, seen from the athlete who acts."""

    position: str
    kind: str
    role: str


class Ends(NamedTuple):
    """A change without its kind."""

    before: str
    role: str
    after: str
    role_after: str


Key = TypeVar("Key", str, Way)


def drawn(rng: random.Random, counts: Mapping[Key, float], power: float) -> Key:
    keys = sorted(counts)
    return rng.choices(keys, [counts[key] ** power for key in keys])[0]


class Counts:
    """What is counted in rounds of known truth, with some ways added from common practice."""

    def __init__(self, truths: Iterable[Truth]) -> None:
        self.ways: dict[str, Counter[Way]] = defaultdict(Counter)
        self.techniques: dict[Ends, dict[str, float]] = defaultdict(lambda: defaultdict(float))
        self.moments: Counter[Moment] = Counter()
        self.moment_techniques: dict[Moment, Counter[str]] = defaultdict(Counter)
        self.seconds: dict[str, float] = defaultdict(float)
        self.lengths: dict[str, list[float]] = defaultdict(list)
        self.guards: Counter[str] = Counter()
        for truth in truths:
            self._count(truth)
        self._add_common_practice()

    def _count(self, truth: Truth) -> None:
        for spell in truth.spells:
            self.lengths[spell.position].append(spell.end - spell.start)
            self.seconds[spell.position] += spell.end - spell.start
            if spell.guard:
                self.guards[spell.guard] += 1
        for event in truth.events:
            if event.kind == "reset":
                continue
            if event.before is not None and event.after is not None:
                role = truth.ending_at(event.time)[-1].role(event.actor)
                role_after = truth.starting_at(event.time)[0].role(event.actor)
                self.ways[event.before][Way(role, event.after, role_after, event.kind)] += 1
                ends = Ends(event.before, role, event.after, role_after)
                self.techniques[ends][str(event.technique)] += 1
            elif event.kind in ("failed_try", "submission_attempt"):
                spell = truth.during(event.time)[0]
                moment = Moment(spell.position, event.kind, spell.role(event.actor))
                self.moments[moment] += 1
                self.moment_techniques[moment][str(event.technique)] += 1

    def _add_common_practice(self) -> None:
        for before, role, after, role_after, kind, count, technique in CHANGES:
            self.ways[before][Way(role, after, role_after, kind)] += count
            self.techniques[Ends(before, role, after, role_after)][technique] += count
        for (before, role, after, role_after), techniques in TECHNIQUES:
            for technique, share in techniques.items():
                ends = Ends(before, role, after, role_after)
                self.techniques[ends][technique] += share
        for position, technique, count in SUBMISSIONS:
            moment = Moment(position, "submission_attempt", TOP)
            self.moment_techniques[moment][technique] += count

    def length(self, position: str, rng: random.Random, kind: str) -> float:
        """A length for a spell, in seconds."""
        logs = [math.log(max(length, 1)) for length in self.lengths[position]]
        mean = sum(logs) / len(logs)
        deviation = math.sqrt(sum((x - mean) ** 2 for x in logs) / len(logs))
        return min(max(SHORTEST, math.exp(rng.gauss(mean, deviation)) * PACE[kind]), LONGEST)


def draw(rng: random.Random, counts: Counts, kind: str, duration: float) -> Truth:
    """Draws a round between A and B."""
    return _Drawing(rng, counts, kind, duration).run()


class _Drawing:
    def __init__(self, rng: random.Random, counts: Counts, kind: str, duration: float) -> None:
        self.rng, self.counts, self.kind, self.duration = rng, counts, kind, duration
        self.athletes = ("A", "B")
        self.spells: list[Spell] = []
        self.events: list[Event] = []

    def run(self) -> Truth:
        time: float = 0
        position, top = "standing", None
        while time < self.duration:
            if position == "reset":
                time = self._pause(time)
                position, top = "standing", None
                continue
            end = time + self.counts.length(position, self.rng, self.kind)
            spell = Spell(round(time, 1), round(min(end, self.duration), 1), position, top)
            if position == "open_guard" and self.rng.random() < 0.6:
                spell.guard = drawn(self.rng, self.counts.guards, TECHNIQUE_POWER)
            end, tapped = self._moments(spell, time, end)
            spell.end = round(min(end, self.duration), 1)
            self.spells.append(spell)
            time = end
            if time >= self.duration:
                break
            time = round(time, 1)
            if tapped:
                position, top = "reset", None
            else:
                position, top = self._change(position, top, time)
        return self._finished()

    def _pause(self, time: float) -> float:
        length = self.rng.uniform(4, 9)
        self.spells.append(Spell(time, min(time + length, self.duration), "reset", None))
        time += length
        if time < self.duration:
            self.events.append(Event(time, "reset", self.athletes[0], None, position="standing"))
        return time

    def _moments(self, spell: Spell, start: float, end: float) -> tuple[float, bool]:
        """Draws what happens inside a spell; when it really ends, and whether by a tap."""
        rng, counts = self.rng, self.counts
        moments = [moment for moment in counts.moments if moment.position == spell.position]
        frequencies = [counts.moments[moment] for moment in moments]
        rate = sum(frequencies) / max(counts.seconds[spell.position], 1)
        chance = min(MOST_CHANCE, rate * SECONDS_BETWEEN_TRIES)
        time = start + rng.uniform(1.5, 5)
        while time < min(end - 1.5, self.duration - 1):
            if rng.random() < chance:
                moment = rng.choices(moments, frequencies)[0]
                actor = self._actor(moment.role, spell.top)
                technique = drawn(rng, counts.moment_techniques[moment], TECHNIQUE_POWER)
                self._moment(time, moment.kind, actor, technique, spell.position)
                if moment.kind == "submission_attempt":
                    over = time + rng.uniform(2, 9)
                    if over < min(end, self.duration):
                        kind = self._outcome()
                        by = actor if kind == "release" else self._other(actor)
                        self._moment(over, kind, by, technique, spell.position)
                        if kind == "tap":
                            return over, True
                    time = max(time, over)
            time += rng.uniform(3, 10)
        return end, False

    def _outcome(self) -> str:
        """How a submission attempt ends."""
        chance = self.rng.random()
        if chance < (0.2 if self.kind == "hard" else 0.13):
            return "tap"
        return "release" if chance < (0.42 if self.kind == "flow" else 0.2) else "submission_escape"

    def _moment(self, time: float, kind: str, actor: str, technique: str, position: str) -> None:
        event = Event(round(time, 1), kind, actor, technique, position=position)
        self.events.append(event)

    def _change(self, position: str, top: str | None, time: float) -> tuple[str, str | None]:
        """Draws how a position is left; the next position and who is on top."""
        way = drawn(self.rng, self.counts.ways[position], CHANGE_POWER)
        actor = self._actor(way.role, top)
        ends = Ends(position, way.role, way.after, way.role_after)
        technique = drawn(self.rng, self.counts.techniques[ends], TECHNIQUE_POWER)
        self.events.append(
            Event(time, way.kind, actor, technique, before=position, after=way.after)
        )
        if way.role_after == EVEN:
            return way.after, None
        return way.after, actor if way.role_after == TOP else self._other(actor)

    def _actor(self, role: str, top: str | None) -> str:
        if role == EVEN or top is None:
            return self.rng.choice(self.athletes)
        return top if role == TOP else self._other(top)

    def _other(self, athlete: str) -> str:
        return self.athletes[1 - self.athletes.index(athlete)]

    def _finished(self) -> Truth:
        events = sorted(self.events, key=lambda event: event.time)
        events = [event for event in events if event.time < self.duration - 0.5]
        for number, event in enumerate(events, 1):
            event.id = f"e{number}"
        for spell in self.spells:
            spell.end = min(spell.end, self.duration)
        self.spells[-1].end = float(self.duration)
        return Truth(self.athletes, self.kind, float(self.duration), self.spells, events)
