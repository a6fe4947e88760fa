"""Examples: the words of a round as rows, and everything that the network should say of them."""

from __future__ import annotations

import random
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from .grammar import Grammar
from .truth import Truth, word_targets
from .words import (
    BLOCKS,
    BUCKETS,
    EITHER,
    OBJECT,
    OTHERS_NAME,
    OTHERS_PRONOUN,
    OWN_NAME,
    OWN_PRONOUN,
    PRONOUN,
    SUBJECT,
    UNKNOWN,
    Round,
    Rows,
    Vocabulary,
)


@dataclass
class Answers:
    """What happened, by bin."""

    kind: str
    states: NDArray[np.int64]
    arcs: NDArray[np.int64]
    moments: NDArray[np.float32]


@dataclass
class Example:
    """A round in one kind of captions."""

    rows: Rows
    form: str
    answers: Answers
    # `2 x words x WORD_TARGETS`, and which words have them at all.
    word_targets: NDArray[np.uint8]
    word_known: NDArray[np.float32]


def answers(truth: Truth, grammar: Grammar) -> Answers:
    return Answers(truth.kind, truth.states(), truth.arcs(grammar), truth.moments())


def example(round: Round, form: str, vocabulary: Vocabulary, answers: Answers) -> Example:
    words = round.forms[form]
    targets, known = word_targets(round.truth, round.lines, [word.start for word in words])
    if form == BLOCKS:
        # The times within a block are too inexact to tell which line a word belongs to.
        targets[:], known[:] = 0, 0
    return Example(Rows.of(words, vocabulary), form, answers, targets, known)


def roughened(example: Example, vocabulary: Vocabulary, rng: random.Random) -> Example:
    """A copy of an example with some words lost, unknown or misspelt, some terms not found,
    some references unclear, and all times shifted: so that the network leans on none of them."""
    noise = np.random.default_rng(rng.getrandbits(40))
    count = len(example.rows)
    lost = rng.choice([0, 0.02, 0.05])
    strange = rng.choice([0, 0.03, 0.1])
    same_pronouns = rng.random() < 0.3
    names_as_pronouns = rng.choice([0, 0, 0, 0.3])
    shift = rng.gauss(0, 0.3)

    rows = example.rows.taken(np.ones(count, bool))
    # Half of the strange words lose their token, half their letters.
    is_strange, without_token = noise.random(count) < strange, noise.random(count) < 0.5
    rows.token[is_strange & without_token] = UNKNOWN
    rows.groups[is_strange & ~without_token] = BUCKETS
    rows.term[noise.random(count) < 0.12] = 0
    if same_pronouns:
        rows.refers[np.isin(rows.refers, (OWN_PRONOUN, OTHERS_PRONOUN))] = EITHER
    named = np.isin(rows.refers, (OWN_NAME, OTHERS_NAME))
    named &= noise.random(count) < names_as_pronouns
    rows.refers[named] = EITHER
    rows.token[named] = vocabulary.token_row(PRONOUN)
    rows.case[named] = np.where(noise.random(named.sum()) < 0.6, SUBJECT, OBJECT)
    rows.start = np.maximum(0, rows.start + shift).astype(np.float32)

    kept = noise.random(count) >= lost
    return replace(
        example,
        rows=rows.taken(kept),
        word_targets=example.word_targets[:, kept],
        word_known=example.word_known[kept],
    )
