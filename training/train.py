"""Trains a reader: see README.md for the commands.

python3 -m training.train --words build/words.jsonl --out build/talk.reader --seconds 470
"""

from __future__ import annotations

import argparse
import math
import random
import time
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

import torch

from . import export
from .batches import Batch, BatchMaker, loader
from .drawing import Counts
from .examples import Example, answers, example, roughened
from .grammar import REPOSITORY, Grammar
from .reader import Reader
from .recombining import DrawnRound, PhraseBank, draw_round, is_advice, recombined
from .words import FORMS, Round, Vocabulary, read_rounds

# Rounds are drawn after the counts of this folder, and told by the lines of all.
COUNTED = REPOSITORY / "samples" / "rounds"
SAMPLES = [COUNTED, REPOSITORY / "samples" / "training", REPOSITORY / "samples" / "advice"]

BETAS = (0.95, 0.98)
MOST_GRADIENT = 1.0
# The learning rate rises over this share of the training, then falls as half a cosine.
WARM_UP = 0.06
LEAST_RATE = 1e-6


@dataclass
class Options:
    """How to train; the defaults are those of the shipped readers."""

    words: Path
    samples: list[Path]
    left_out: set[str]
    out: Path
    start: Path | None
    seconds: float
    steps: int
    width: int
    dropout: float
    rate: float
    decay: float
    batch: int
    averaging: float
    recombined: float
    drawn: int
    seed: int
    workers: int
    device: str


def options(arguments: Sequence[str] | None = None) -> Options:
    parser = argparse.ArgumentParser(prog="training.train", description="Trains a reader.")
    add = parser.add_argument
    add("--words", type=Path, required=True, help="what `grapevine prepare` wrote, all folders")
    add("--samples", type=Path, nargs="+", default=SAMPLES, help="folders with the truth")
    add("--left-out", default="", help="rounds not to learn from: r01,r02")
    add("--out", type=Path, required=True, help="the parameters file to write")
    add("--start", type=Path, help="go on from this parameters file, with its vocabulary")
    length = parser.add_mutually_exclusive_group(required=True)
    length.add_argument("--seconds", type=float, default=0.0, help="train for so long")
    length.add_argument("--steps", type=int, default=0, help="train for so many steps")
    add("--width", type=int, default=80, help="of a new network")
    add("--dropout", type=float, default=0.2)
    add("--rate", type=float, default=3e-3, help="largest learning rate")
    add("--decay", type=float, default=0.05, help="weight decay")
    add("--batch", type=int, default=32, help="rounds in a step")
    add("--averaging", type=float, default=0.998, help="decay of the mean of the parameters")
    add("--recombined", type=float, default=3.0, help="recombined rounds for each written one")
    add("--drawn", type=int, default=3000, help="how many rounds are drawn to be told")
    add("--seed", type=int, default=1)
    add("--workers", type=int, default=2, help="processes that make batches")
    add("--device", default="cuda" if torch.cuda.is_available() else "cpu")
    given = vars(parser.parse_args(arguments))
    given["left_out"] = set(filter(None, given["left_out"].split(",")))
    return Options(**given)


@dataclass
class Material:
    """Everything to learn from."""

    vocabulary: Vocabulary
    # Written rounds, each in each kind of captions.
    written: list[Example]
    bank: PhraseBank
    drawn: list[DrawnRound]


def material(rounds: list[Round], vocabulary: Vocabulary, o: Options, grammar: Grammar) -> Material:
    learned = [round for round in rounds if round.name not in o.left_out]
    by_round = []
    for round in learned:
        by_bin = answers(round.truth, grammar)
        forms = {form: example(round, form, vocabulary, by_bin) for form in round.forms}
        by_round.append((round, forms))
    # Counted in every round of the folder, left out or not: see README.md.
    counted = [r for r in rounds if (COUNTED / f"{r.name}.truth.json").exists()]
    counts = Counts(round.truth for round in sorted(counted, key=lambda round: round.name))
    count = o.drawn if o.recombined > 0 else 0
    return Material(
        vocabulary=vocabulary,
        written=[e for r, forms in by_round if not is_advice(r.name) for e in forms.values()],
        bank=PhraseBank(by_round),
        drawn=[draw_round(o.seed * 10_000 + i, counts, grammar) for i in range(count)],
    )


# A written example, or a drawn round and the kind of captions to tell it in.
Item = Example | tuple[DrawnRound, str]


@dataclass
class Batches:
    """Makes the examples of a batch by its number; every batch has a seed of its own."""

    material: Material
    items: list[Item]
    size: int
    seed: int

    def __call__(self, number: int) -> list[Example]:
        rng = random.Random(self.seed * 1000 + number)
        made = []
        for item in self.items[number * self.size : (number + 1) * self.size]:
            if isinstance(item, tuple):
                told = recombined(item[0], self.material.bank, item[1], rng)
                if told is None:
                    continue
                item = told
            made.append(roughened(item, self.material.vocabulary, rng))
        return made


def batches(material: Material, o: Options) -> Iterator[Batch]:
    """Batches without end: pass after pass, each with its own recombined rounds."""
    rng = random.Random(o.seed)
    told = int(len(material.written) * o.recombined)
    while True:
        items: list[Item] = list(material.written)
        items += [(rng.choice(material.drawn), rng.choice(FORMS)) for _ in range(told)]
        rng.shuffle(items)
        make = Batches(material, items, o.batch, rng.getrandbits(40))
        count = math.ceil(len(items) / o.batch)
        yield from loader(BatchMaker(count, make), o.workers, pinned=o.device != "cpu")


def progress(o: Options) -> Callable[[int], float]:
    """How much of the training is done, 0 to 1, by the number of steps done."""
    began = time.monotonic()
    if o.steps:
        return lambda step: step / o.steps
    return lambda step: (time.monotonic() - began) / o.seconds


def rate_at(done: float, largest: float) -> float:
    if done < WARM_UP:
        return largest * done / WARM_UP + LEAST_RATE
    fallen = (done - WARM_UP) / (1 - WARM_UP)
    return largest * 0.5 * (1 + math.cos(math.pi * fallen)) + LEAST_RATE


def train(reader: Reader, material: Material, o: Options) -> None:
    """Trains, and leaves the reader with the mean of its parameters over the last steps."""
    device = torch.device(o.device)
    reader.to(device).train()
    parameters = [parameter.data for parameter in reader.parameters()]
    means = [parameter.clone() for parameter in parameters]
    optimizer = torch.optim.AdamW(reader.parameters(), lr=o.rate, weight_decay=o.decay, betas=BETAS)
    done = progress(o)
    began = time.monotonic()
    for step, batch in enumerate(batches(material, o)):
        share = done(step)
        if share >= 1:
            break
        for group in optimizer.param_groups:
            group["lr"] = rate_at(share, o.rate)
        loss = reader.loss(batch.to(device))
        optimizer.zero_grad()
        loss.total.backward()
        torch.nn.utils.clip_grad_norm_(reader.parameters(), MOST_GRADIENT)
        optimizer.step()
        # The first steps are averaged over a shorter time.
        decay = min(o.averaging, (step + 2) / (step + 21))
        torch._foreach_lerp_(means, parameters, 1 - decay)
        if step % 20 == 0:
            seconds = time.monotonic() - began
            print(
                f"step {step}  path {loss.path.item():.4f}  moments {loss.moments.item():.4f}"
                f"  words {loss.words.item():.4f}  {seconds:.0f} s",
                flush=True,
            )
    for parameter, mean in zip(parameters, means, strict=True):
        parameter.copy_(mean)


def main() -> None:
    o = options()
    grammar = Grammar.builtin()
    rounds = read_rounds(o.words, o.samples)
    torch.manual_seed(o.seed)
    if o.start:
        file = export.read(o.start)
        vocabulary, reader = file.vocabulary, export.load(file, grammar, o.dropout)
    else:
        vocabulary = Vocabulary.of(round for round in rounds if round.name not in o.left_out)
        reader = Reader(vocabulary, grammar, o.width, o.dropout)
    learned = material(rounds, vocabulary, o, grammar)
    print(f"{len(learned.written)} written talks, {len(vocabulary.tokens)} tokens", flush=True)
    train(reader, learned, o)
    export.write(o.out, reader, vocabulary)


if __name__ == "__main__":
    main()
