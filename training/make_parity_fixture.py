"""Writes what the engine's test of the network is compared with: a tiny reader with random
parameters, and what PyTorch makes of a few talks.

    python3 -m training.make_parity_fixture

writes tiny.reader and tiny.json into engine/decode/tests/fixtures. Run it again when the network,
the file form, or the grammar changes.
"""

from __future__ import annotations

import json
from typing import Any

import numpy as np
import torch
from torch import Tensor

from . import export
from .batches import ROUND_KINDS, collate
from .examples import Answers, Example
from .grammar import MOMENT_KINDS, REPOSITORY, Grammar
from .reader import Reader
from .truth import STAY, WORD_TARGETS
from .words import AUTO, BLOCKS, BUCKETS, CLEAN, FORMS, PADDING, Rows, Vocabulary, Word, lettered

FOLDER = REPOSITORY / "engine" / "decode" / "tests" / "fixtures"
WIDTH = 8
SEED = 20
DIGITS = 6

VOCABULARY = Vocabulary(
    tokens=sorted(["#", "<name>", "<pron>", "and", "guard", "montée", "passes", "the", "à"]),
    terms=sorted(["guard_pass", "half_guard", "mount"]),
)

# Form, kind of round, number of bins, words; words that follow each other, names and pronouns of
# all kinds and forms, known and unknown terms, tokens that are unknown, accented, of one letter,
# or have more letter groups than count, and words after the last bin.
CASES: list[tuple[str, str, int, list[Word]]] = [
    (
        CLEAN,
        "flow",
        12,
        [
            Word("<name>", 0.1, 0.1, 1, 3, ""),
            Word("passes", 0.6, 0.0, 0, 0, "guard_pass"),
            Word("the", 0.99, 0.0, 0, 0, "guard_pass"),
            Word("guard", 1.0, 0.0, 0, 0, "guard_pass"),
            Word("and", 2.75, 1.5, 0, 0, ""),
            Word("<pron>", 3.0, 0.0, 3, 1, ""),
            Word("it's", 3.5, 0.25, 0, 0, ""),
            Word("<pron>", 5.9, 5.0, 4, 5, ""),
        ],
    ),
    (
        AUTO,
        "positional",
        9,
        [
            Word("<name>", 0.0, 0.0, 2, 0, ""),
            Word("à", 0.0, 0.0, 0, 0, ""),
            Word("montée", 0.5, 0.33, 0, 0, "mount"),
            Word("übergrätschend", 1.26, 0.0, 0, 0, "straddle"),
            Word("i", 1.4, 0.0, 0, 0, ""),
            Word("<pron>", 2.49, 0.7, 5, 2, ""),
            Word("<pron>", 2.5, 0.0, 3, 4, ""),
            Word("#", 4.4, 1.0, 0, 0, ""),
            Word("guard", 30.0, 5.0, 0, 0, "half_guard"),
        ],
    ),
    (
        BLOCKS,
        "hard",
        5,
        [Word("passes", 0.0, 0.0, 0, 0, ""), Word("<pron>", 1.3, 0.0, 4, 3, "half_guard")],
    ),
    (BLOCKS, "flow", 1, [Word("unheardof", 0.2, 0.2, 0, 0, "")]),
]
# The weights of states and arcs are kept for this case only: they are many.
WEIGHED = 2


def tiny_reader(grammar: Grammar) -> Reader:
    torch.manual_seed(SEED)
    reader = Reader(VOCABULARY, grammar, WIDTH, dropout=0.0)
    reader.eval()
    with torch.no_grad():
        for name, parameter in reader.named_parameters():
            parameter.normal_(1.0 if name.endswith("norm.weight") else 0.0, 0.25)
        reader.network.token.weight[PADDING] = 0
        reader.network.term.weight[0] = 0
        reader.network.letters.weight[BUCKETS] = 0
    return reader


def example(form: str, kind: str, bins: int, words: list[Word]) -> Example:
    """A talk without answers."""
    nothing = Answers(
        kind=kind,
        states=np.zeros(bins, np.int64),
        arcs=np.full(bins, STAY, np.int64),
        moments=np.zeros((2, bins, len(MOMENT_KINDS)), np.float32),
    )
    return Example(
        rows=Rows.of(words, VOCABULARY),
        form=form,
        answers=nothing,
        word_targets=np.zeros((2, len(words), WORD_TARGETS), np.uint8),
        word_known=np.zeros(len(words), np.float32),
    )


def numbers(tensor: Tensor) -> Any:
    return np.round(tensor.double().numpy(), DIGITS).tolist()


def case(reader: Reader, index: int) -> dict[str, Any]:
    form, kind, bins, words = CASES[index]
    with torch.no_grad():
        outputs = reader.network(collate([example(form, kind, bins, words)]))
        weights = reader.evidence(outputs.bins)
    made: dict[str, Any] = {
        "timing": FORMS.index(form),
        "kind": ROUND_KINDS.index(kind),
        "bins": bins,
        "words": [
            {
                "token": word.token,
                "lettered": lettered(word.token),
                "term": word.term or None,
                "refers": word.refers,
                "case": word.case,
                "start": word.start,
                "gap": word.gap,
            }
            for word in words
        ],
        # Filled up to an even number of bins in the training.
        "bin_outputs": [numbers(view[0, :bins]) for view in outputs.bins],
        "word_outputs": [numbers(view[0]) for view in outputs.words],
    }
    if index == WEIGHED:
        made["state_weights"] = numbers(weights.states[0, :bins])
        made["arc_weights"] = numbers(weights.arcs[0, :bins])
    return made


def main() -> None:
    grammar = Grammar.builtin()
    path = FOLDER / "tiny.reader"
    export.write(path, tiny_reader(grammar), VOCABULARY)
    # Read again, so that both programs have the same rounded parameters.
    reader = export.load(export.read(path), grammar, dropout=0.0).eval()
    fixture = {
        "arcs": [[arc.source, arc.target, arc.weight] for arc in grammar.arcs],
        "cases": [case(reader, index) for index in range(len(CASES))],
    }
    text = json.dumps(fixture, ensure_ascii=False, separators=(",", ":"))
    (FOLDER / "tiny.json").write_text(text + "\n", encoding="utf-8")


if __name__ == "__main__":
    main()
