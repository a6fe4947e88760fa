"""The words of the rounds as `grapevine prepare` writes them, and as rows of numbers.

Mirrors engine/decode/src/reader/network.rs, where the program makes the same rows.
"""

from __future__ import annotations

import json
import math
from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass, field, replace
from functools import cache
from pathlib import Path
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from .truth import Line, Truth, read_lines, read_truth

# Kinds of captions; their timing has the same number in the network.
FORMS = ("clean", "auto", "blocks")
CLEAN, AUTO, BLOCKS = FORMS

# Letter groups are hashed into so many rows; the index after the last stands for no group.
BUCKETS = 8192
MOST_GROUPS = 12
# Rows for padding and for unknown tokens come before those of the known ones.
PADDING, UNKNOWN, RESERVED = 0, 1, 2

NAME, PRONOUN, NUMBER = "<name>", "<pron>", "#"

# Kinds of reference: none, own name, other's name, own pronoun, other's pronoun, either.
REFERS = 6
OWN_NAME, OTHERS_NAME, OWN_PRONOUN, OTHERS_PRONOUN, EITHER = 1, 2, 3, 4, 5
# Which kind of reference each becomes when the other athlete is "self".
OTHER_VIEW = np.array([0, 2, 1, 4, 3, 5])

# Forms of pronouns.
CASES = 6
SUBJECT, OBJECT = 1, 2

# A token is learned if the rounds have it so often, a term likewise.
LEAST_TOKENS = 3
LEAST_TERMS = 2


class Word(NamedTuple):
    """One word as `grapevine prepare` writes it; times in seconds."""

    token: str
    start: float
    gap: float
    refers: int
    case: int
    term: str


@dataclass
class Round:
    """A round with its truth and its talk in each kind of captions."""

    name: str
    truth: Truth
    lines: list[Line]
    forms: dict[str, list[Word]]


@dataclass
class Vocabulary:
    """The tokens and terms that the network knows, sorted."""

    tokens: list[str]
    terms: list[str]
    _token_rows: dict[str, int] = field(init=False, repr=False)
    _term_rows: dict[str, int] = field(init=False, repr=False)

    def __post_init__(self) -> None:
        self._token_rows = {token: row for row, token in enumerate(self.tokens, RESERVED)}
        self._term_rows = {term: row for row, term in enumerate(self.terms, 1)}

    @classmethod
    def of(cls, rounds: Iterable[Round]) -> Vocabulary:
        tokens: Counter[str] = Counter()
        terms: Counter[str] = Counter()
        for words in (words for round in rounds for words in round.forms.values()):
            # Once for each talk.
            tokens.update({word.token for word in words})
            terms.update({word.term for word in words if word.term})
        return cls(
            sorted(token for token, count in tokens.items() if count >= LEAST_TOKENS),
            sorted(term for term, count in terms.items() if count >= LEAST_TERMS),
        )

    def token_row(self, token: str) -> int:
        return self._token_rows.get(token, UNKNOWN)

    def term_row(self, term: str) -> int:
        """0 is no term."""
        return self._term_rows.get(term, 0)


@dataclass
class Rows:
    """The words of a talk as arrays with one entry (of `groups`: one row) for each word."""

    token: NDArray[np.int64]
    # Letter groups, filled up with BUCKETS, and what their sum is multiplied by.
    groups: NDArray[np.int32]
    group_scale: NDArray[np.float32]
    term: NDArray[np.int64]
    refers: NDArray[np.int64]
    case: NDArray[np.int64]
    # Seconds.
    start: NDArray[np.float32]
    gap: NDArray[np.float32]

    @classmethod
    def of(cls, words: list[Word], vocabulary: Vocabulary) -> Rows:
        groups = np.full((len(words), MOST_GROUPS), BUCKETS, np.int32)
        group_scale = np.zeros(len(words), np.float32)
        for row, word in enumerate(words):
            if lettered(word.token):
                found = letter_groups(word.token)
                groups[row, : len(found)] = found
                group_scale[row] = 1 / math.sqrt(len(found))
        return cls(
            token=np.array([vocabulary.token_row(word.token) for word in words], np.int64),
            groups=groups,
            group_scale=group_scale,
            term=np.array([vocabulary.term_row(word.term) for word in words], np.int64),
            refers=np.array([word.refers for word in words], np.int64),
            case=np.array([word.case for word in words], np.int64),
            start=np.array([word.start for word in words], np.float32),
            gap=np.array([word.gap for word in words], np.float32),
        )

    def __len__(self) -> int:
        return len(self.token)

    def taken(self, which: NDArray[np.bool_] | NDArray[np.int64]) -> Rows:
        """Copies of some of the rows."""
        return Rows(**{name: array[which] for name, array in vars(self).items()})

    def seen_by_other(self) -> Rows:
        """The same words with the other athlete as "self"."""
        return replace(self, refers=OTHER_VIEW[self.refers])

    @staticmethod
    def joined(parts: list[Rows]) -> Rows:
        names = vars(parts[0])
        return Rows(**{n: np.concatenate([vars(part)[n] for part in parts]) for n in names})


def lettered(token: str) -> bool:
    """Whether the letters mean something; not those of stand-ins."""
    return token[0] not in (NAME[0], NUMBER)


@cache
def letter_groups(token: str) -> tuple[int, ...]:
    """The groups of three and four letters of a word between marks, as hashes: sorted, each once,
    at most twelve."""
    marked = f"<{token}>"
    groups = {
        fnv(marked[i : i + length]) % BUCKETS
        for length in (3, 4)
        for i in range(len(marked) - length + 1)
    }
    return tuple(sorted(groups)[:MOST_GROUPS])


def fnv(text: str) -> int:
    """The 32-bit FNV-1a hash (Fowler, Noll, Vo)."""
    hash = 0x811C9DC5
    for byte in text.encode():
        hash = ((hash ^ byte) * 0x01000193) & 0xFFFFFFFF
    return hash


def read_rounds(words: Path, samples: list[Path]) -> list[Round]:
    """Reads what `grapevine prepare` wrote, with the truth of each round from these folders."""
    rounds = []
    for line in words.read_text(encoding="utf-8").splitlines():
        prepared = json.loads(line)
        name = prepared["name"]
        folders = [folder for folder in samples if (folder / f"{name}.truth.json").exists()]
        if not folders:
            raise FileNotFoundError(f"no {name}.truth.json in {', '.join(map(str, samples))}")
        rounds.append(
            Round(
                name=name,
                truth=read_truth(folders[0] / f"{name}.truth.json"),
                lines=read_lines(folders[0] / f"{name}.say.tsv"),
                forms={f: [Word(*w) for w in words] for f, words in prepared["forms"].items()},
            )
        )
    return rounds
