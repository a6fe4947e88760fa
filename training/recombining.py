"""New rounds of talk from old lines: a drawn round, told with what was said in the training rounds.

Every line that tells one event, or two in a row, is kept with what it tells; so are the lines of
general talk, with the position in which they were said. A drawn round then takes, for each of its
events that gets told at all, a line that told such an event elsewhere, as late as people are, and
general talk in between. Lines of `samples/advice` speak to or of one of the athletes by name, so
that the name tells who is where; they are told as general talk too.
"""

from __future__ import annotations

import random
import re
from bisect import bisect_right
from collections import defaultdict
from dataclasses import dataclass, replace
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from .drawing import KINDS, LENGTHS, Counts, draw
from .examples import Answers, Example, answers
from .grammar import EVEN, STANDING, Grammar, held_index, second_on_top
from .truth import BIN_SECONDS, EARLY, Line, Truth
from .words import (
    AUTO,
    BLOCKS,
    CLEAN,
    EITHER,
    NAME,
    OTHERS_PRONOUN,
    OWN_PRONOUN,
    PRONOUN,
    Round,
    Rows,
    Word,
)

# How many of the events of a kind are told: as the written rounds were asked to.
TOLD = {
    "takedown": 1,
    "guard_pull": 1,
    "sweep": 1,
    "reversal": 0.98,
    "back_take": 1,
    "tap": 1,
    "pass": 0.95,
    "escape": 0.83,
    "advance": 0.73,
    "submission_attempt": 0.8,
    "failed_try": 0.33,
    "submission_escape": 0.23,
    "release": 0.7,
    "reset": 0.05,
}

# Two events nearer than this may be told in one line, in seconds.
TOLD_TOGETHER = 6
# Words take about this long for each syllable (and half a syllable more), in seconds.
SECONDS_A_SYLLABLE = 0.13
# A gap longer than this may be filled with general talk, in seconds.
LONG_SILENCE = 5
# How much of the general talk is a line of advice.
ADVICE_SHARE = 0.3
# Rounds with this at the start of their name hold lines of advice, one for each spell.
ADVICE = "advice_"
# Length of a block as copied from a page, in seconds, and words in a second of the last one.
BLOCK_SECONDS = 40
WORDS_A_SECOND = 2.3
# Longer silences are told from each other no more, in seconds.
LONGEST_GAP = 5


class Told(NamedTuple):
    """What an event is, as far as a line that tells it could tell: in detail and roughly."""

    detail: tuple[str | None, ...]
    rough: tuple[str | None, ...]
    actor: int


def tellable(truth: Truth) -> dict[str, Told]:
    """What each event is, by its id, seen from the one who acts."""
    told = {}
    for event in truth.events:
        if event.kind == "reset":
            continue
        actor = truth.athletes.index(event.actor)
        detail: tuple[str | None, ...]
        rough: tuple[str | None, ...]
        if event.before is not None:
            before, after = truth.ending_at(event.time), truth.starting_at(event.time)
            if not before or not after:
                continue
            roles = before[0].role(event.actor), after[0].role(event.actor)
            rough = (event.kind, event.before, roles[0], event.after, roles[1])
            detail = (*rough, event.technique)
        else:
            spells = truth.during(event.time, slack=1e-6)
            role = spells[0].role(event.actor) if spells else EVEN
            detail = (event.kind, event.position, role, event.technique)
            rough = (event.kind, role, event.technique)
        told[event.id] = Told(detail, rough, actor)
    return told


@dataclass
class Phrase:
    """The words of a line; "self" is the one who acts, or who is on top.

    Their times count from the moment that the line begins.
    """

    rows: Rows
    # Syllables of each word, and half a syllable more.
    syllables: NDArray[np.float32]
    word_targets: NDArray[np.uint8]

    @property
    def seconds(self) -> float:
        return float(self.rows.start[-1]) + 0.4

    def seen_by_other(self) -> Phrase:
        return Phrase(self.rows.seen_by_other(), self.syllables, self.word_targets[::-1])


class PhraseBank:
    """The lines of training rounds by what they tell."""

    def __init__(self, rounds: list[tuple[Round, dict[str, Example]]]) -> None:
        self.by_detail: dict[tuple[str, tuple[str | None, ...]], list[Phrase]] = defaultdict(list)
        self.by_rough: dict[tuple[str, tuple[str | None, ...]], list[Phrase]] = defaultdict(list)
        # By the rough meaning of two events, and whether the same athlete acts in both.
        self.pairs: dict[tuple[object, ...], list[Phrase]] = defaultdict(list)
        # General talk: all of it, and by position.
        self.general: dict[str, list[Phrase]] = {CLEAN: [], AUTO: []}
        self.general_in: dict[tuple[str, int], list[Phrase]] = defaultdict(list)
        # By position; nobody has been heard saying them, so all kinds of captions share them.
        self.advice_in: dict[int, list[Phrase]] = defaultdict(list)
        for round, examples in rounds:
            told = tellable(round.truth)
            for form in (CLEAN, AUTO):
                if form in examples:
                    self._add(round, told, examples[form])

    def _add(self, round: Round, told: dict[str, Told], example: Example) -> None:
        starts = [line.start for line in round.lines]
        syllables = np.array([syllables_of(word) for word in round.forms[example.form]], np.float32)
        line_of = np.array([bisect_right(starts, t + EARLY) - 1 for t in example.rows.start])
        for index, line in enumerate(round.lines):
            words = np.nonzero(line_of == index)[0]
            if len(words) < 2:
                continue
            rows = example.rows.taken(words)
            rows.start = rows.start - np.float32(line.start)
            phrase = Phrase(rows, syllables[words], example.word_targets[:, words])
            events = [told[id] for id in line.events if id in told]
            if events:
                self._add_telling(phrase, example.form, events)
            elif not line.events:
                self._add_general(round.name, phrase, example, line)

    def _add_telling(self, phrase: Phrase, form: str, events: list[Told]) -> None:
        first = events[0]
        if first.actor == 1:
            phrase = phrase.seen_by_other()
        if len(events) == 1:
            self.by_detail[form, first.detail].append(phrase)
            self.by_rough[form, first.rough].append(phrase)
        elif len(events) == 2:
            self.pairs[pair_key(form, first, events[1])].append(phrase)

    def _add_general(self, name: str, phrase: Phrase, example: Example, line: Line) -> None:
        state = state_at(example.answers, line.start)
        if second_on_top(state):
            phrase = phrase.seen_by_other()
        if is_advice(name):
            self.advice_in[held_index(state)].append(phrase)
            return
        self.general_in[example.form, held_index(state)].append(phrase)
        self.general[example.form].append(phrase)

    def telling(self, form: str, event: Told, rng: random.Random) -> Phrase | None:
        """A line that told such an event: with the same technique the likelier, the more there
        are of them."""
        exact = self.by_detail.get((form, event.detail), [])
        alike = self.by_rough.get((form, event.rough), [])
        if exact and (rng.random() < len(exact) / (len(exact) + 1.5) or not alike):
            return rng.choice(exact)
        return rng.choice(alike) if alike else None


def is_advice(name: str) -> bool:
    return name.startswith(ADVICE)


def pair_key(form: str, first: Told, second: Told) -> tuple[object, ...]:
    return form, first.rough, second.rough, first.actor == second.actor


def syllables_of(word: Word) -> float:
    if word.token in (NAME, PRONOUN):
        count = 2 if word.token == NAME else 1
    else:
        count = max(1, len(re.findall("[aeiouyà-ÿ]+", word.token)))
    return count + 0.5


def state_at(answers: Answers, time: float) -> int:
    bin = min(len(answers.states) - 1, int(max(0.0, time) / BIN_SECONDS))
    return int(answers.states[bin])


@dataclass
class DrawnRound:
    """A drawn round, not told yet."""

    truth: Truth
    answers: Answers
    told: dict[str, Told]


def draw_round(seed: int, counts: Counts, grammar: Grammar) -> DrawnRound:
    rng = random.Random(seed)
    duration = rng.choice(LENGTHS)
    truth = draw(rng, counts, rng.choice(KINDS), duration)
    return DrawnRound(truth, answers(truth, grammar), tellable(truth))


class _Said(NamedTuple):
    """A phrase at a time, by whom: 0 or 1 is "self" in it."""

    start: float
    phrase: Phrase
    self_is: int


def recombined(
    round: DrawnRound, bank: PhraseBank, form: str, rng: random.Random
) -> Example | None:
    """Tells a drawn round in a kind of captions; nothing if nothing gets said."""
    source = CLEAN
    if form == AUTO or (form == BLOCKS and rng.random() < 0.6):
        source = AUTO if bank.general[AUTO] else CLEAN
    same_pronouns = rng.random() < 0.6
    telling = _choose_phrases(round, bank, source, rng)
    said = _lay_out(round, bank, source, telling, rng)
    return _as_example(round, said, form, same_pronouns) if said else None


def _choose_phrases(
    round: DrawnRound, bank: PhraseBank, source: str, rng: random.Random
) -> tuple[float, list[_Said]]:
    """A speaker's own lateness (s), and the phrases that tell the events, at the events' times."""
    lateness = rng.gauss(0, 0.5)
    events = [event for event in round.truth.events if event.id in round.told]
    telling = []
    index = 0
    while index < len(events):
        event, told = events[index], round.told[events[index].id]
        if rng.random() > TOLD[event.kind]:
            index += 1
            continue
        phrase, last = None, index
        if index + 1 < len(events) and events[index + 1].time - event.time < TOLD_TOGETHER:
            pairs = bank.pairs.get(pair_key(source, told, round.told[events[index + 1].id]))
            if pairs and rng.random() < 0.5:
                phrase, last = rng.choice(pairs), index + 1
        if phrase is None:
            phrase = bank.telling(source, told, rng)
        if phrase is not None:
            telling.append(_Said(events[last].time, phrase, told.actor))
        index = last + 1
    return lateness, telling


def _lay_out(
    round: DrawnRound,
    bank: PhraseBank,
    source: str,
    chosen: tuple[float, list[_Said]],
    rng: random.Random,
) -> list[_Said]:
    """Gives every phrase its time, one after the other, with general talk in long gaps."""

    def general(time: float) -> tuple[Phrase, int]:
        state = state_at(round.answers, time)
        here = bank.general_in.get((source, held_index(state)))
        advice = bank.advice_in.get(held_index(state))
        if advice and state < STANDING and rng.random() < ADVICE_SHARE:
            here = advice
        if not here or rng.random() < 0.1:
            return rng.choice(bank.general[source]), rng.randrange(2)
        phrase = rng.choice(here)
        return phrase, int(second_on_top(state)) if state < STANDING else rng.randrange(2)

    lateness, telling = chosen
    said: list[_Said] = []
    silent_from = 0.0
    for time, phrase, actor in telling:
        lag = max(-0.6, lateness + rng.gammavariate(3.2, 0.72))
        start = max(silent_from + 0.2, time + lag)
        while start - silent_from > LONG_SILENCE and rng.random() < 0.8:
            begin = silent_from + rng.uniform(0.3, 2.5)
            filler, self_is = general(begin)
            end = begin + max(1.0, filler.seconds)
            if end >= start:
                break
            said.append(_Said(begin, filler, self_is))
            silent_from = end
        if start > round.truth.duration - 0.5:
            break
        said.append(_Said(start, phrase, actor))
        silent_from = start + phrase.seconds
    if round.truth.duration - silent_from > LONG_SILENCE:
        begin = silent_from + 1.5
        filler, self_is = general(begin)
        said.append(_Said(begin, filler, self_is))
    return said


def _as_example(round: DrawnRound, said: list[_Said], form: str, same_pronouns: bool) -> Example:
    parts, targets = [], []
    for start, phrase, self_is in said:
        seen = phrase.seen_by_other() if self_is == 1 else phrase
        times = np.maximum(0, start + seen.rows.start).astype(np.float32)
        parts.append(replace(seen.rows, start=times))
        targets.append(seen.word_targets)
    rows = Rows.joined(parts)
    syllables = np.concatenate([phrase.syllables for _, phrase, _ in said])
    order = np.argsort(rows.start, kind="stable")
    rows, syllables = rows.taken(order), syllables[order]
    if same_pronouns:
        rows.refers[np.isin(rows.refers, (OWN_PRONOUN, OTHERS_PRONOUN))] = EITHER
    if form == BLOCKS:
        rows.start = _spread_in_blocks(rows.start, syllables, round.truth.duration)
        rows.gap = np.zeros(len(rows), np.float32)
    else:
        ends = rows.start[:-1] + syllables[:-1] * SECONDS_A_SYLLABLE
        gaps = np.append(rows.start[:1], rows.start[1:] - ends)
        rows.gap = np.clip(gaps, 0, LONGEST_GAP).astype(np.float32)
    known = np.full(len(rows), form != BLOCKS, np.float32)
    return Example(rows, form, round.answers, np.concatenate(targets, 1)[:, order], known)


def _spread_in_blocks(
    starts: NDArray[np.float32], syllables: NDArray[np.float32], duration: float
) -> NDArray[np.float32]:
    """Times of words that are known by the block only: spread by syllables."""
    blocks = (starts // BLOCK_SECONDS).astype(int)
    spread = np.zeros(len(starts), np.float32)
    for block in np.unique(blocks):
        inside = blocks == block
        begin = block * BLOCK_SECONDS
        end = begin + BLOCK_SECONDS
        if block == blocks[-1]:
            end = min(duration, begin + max(3, inside.sum() / WORDS_A_SECOND))
        so_far = np.cumsum(syllables[inside])
        spread[inside] = begin + (end - begin) * (so_far - syllables[inside]) / so_far[-1]
    return spread
