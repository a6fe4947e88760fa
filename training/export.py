"""The file form of the reader's parameters: what engine/decode/src/reader/parameters_file.rs reads.

A line that names it, the length of a header, the header as JSON, and the numbers as half-precision
floats, little endian.
"""

from __future__ import annotations

import json
import struct
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import torch
from numpy.typing import NDArray

from .grammar import Grammar
from .network import BIN_DILATIONS, WORD_DILATIONS
from .reader import Reader
from .words import Vocabulary

MAGIC = b"grapevine reader\n"
VERSION = 1

# Matrices that the file keeps as inputs x outputs; convolutions as taps x inputs x outputs.
LINEAR = ("gap.weight", "to_bin.weight", "half.weight", "out.weight", "word_out.weight")
TABLES = ("token", "letters", "refers", "term", "case", "timing", "round_kind")

Tensors = dict[str, NDArray[np.float16]]


@dataclass
class ReaderFile:
    """A parameters file, read."""

    width: int
    vocabulary: Vocabulary
    tensors: Tensors


def file_tensors(reader: Reader) -> Tensors:
    """The parameters by their names in the file, in its order and shape."""
    tensors: Tensors = {
        "change": _halves(reader.evidence.change),
        "stay": _halves(reader.chain.stay),
    }
    for name, parameter in reader.network.state_dict().items():
        in_file = _name_in_file(name)
        tensors[in_file] = _turned(in_file, _halves(parameter))
    # Only the training has a row for no group.
    tensors["letters"] = tensors["letters"][:-1]
    return tensors


def _name_in_file(name: str) -> str:
    if name == "halves.weight":
        return "half.weight"
    table = name.removesuffix(".weight")
    return table if table in TABLES else name


def _halves(parameter: torch.Tensor) -> NDArray[np.float16]:
    numbers: NDArray[np.float16] = parameter.detach().half().cpu().numpy()
    return numbers


def _turned(name: str, numbers: NDArray[np.float16]) -> NDArray[np.float16]:
    if name.endswith("convolution.weight"):
        return numbers.transpose(2, 1, 0)
    if name.endswith("linear.weight"):
        return numbers[:, :, 0].T
    return numbers.T if name in LINEAR else numbers


def write(path: Path, reader: Reader, vocabulary: Vocabulary) -> None:
    places, data, offset = [], [], 0
    for name, numbers in file_tensors(reader).items():
        places.append({"name": name, "shape": list(numbers.shape), "offset": offset})
        data.append(np.ascontiguousarray(numbers).astype("<f2").tobytes())
        offset += numbers.size
    header = {
        "version": VERSION,
        "width": reader.network.width,
        "tokens": vocabulary.tokens,
        "terms": vocabulary.terms,
        "word_dilations": WORD_DILATIONS,
        "bin_dilations": BIN_DILATIONS,
        "tensors": places,
    }
    text = json.dumps(header, ensure_ascii=False, separators=(",", ":")).encode()
    path.write_bytes(MAGIC + struct.pack("<I", len(text)) + text + b"".join(data))


def read(path: Path) -> ReaderFile:
    content = path.read_bytes()
    if not content.startswith(MAGIC):
        raise ValueError(f"{path} is not a file of reader parameters")
    begin = len(MAGIC) + 4
    (length,) = struct.unpack("<I", content[len(MAGIC) : begin])
    header = json.loads(content[begin : begin + length])
    if header["version"] != VERSION:
        raise ValueError(f"{path} has version {header['version']}, not {VERSION}")
    numbers = np.frombuffer(content, "<f2", offset=begin + length)
    tensors = {}
    for place in header["tensors"]:
        first, shape = place["offset"], place["shape"]
        tensors[place["name"]] = numbers[first : first + int(np.prod(shape))].reshape(shape)
    return ReaderFile(header["width"], Vocabulary(header["tokens"], header["terms"]), tensors)


def load(file: ReaderFile, grammar: Grammar, dropout: float) -> Reader:
    """A reader with the parameters of a file."""
    reader = Reader(file.vocabulary, grammar, file.width, dropout)
    with torch.no_grad():
        for name, tensor in reader.network.state_dict().items():
            in_file = _name_in_file(name)
            numbers = file.tensors[in_file].astype(np.float32)
            if in_file == "letters":
                numbers = np.concatenate([numbers, np.zeros((1, file.width), np.float32)])
            elif in_file.endswith("convolution.weight"):
                numbers = numbers.transpose(2, 1, 0)
            elif in_file.endswith("linear.weight"):
                numbers = numbers.T[:, :, None]
            elif in_file in LINEAR:
                numbers = numbers.T
            tensor.copy_(torch.from_numpy(np.ascontiguousarray(numbers)))
        reader.evidence.change.copy_(torch.from_numpy(file.tensors["change"].astype(np.float32)))
        reader.chain.stay.copy_(torch.from_numpy(file.tensors["stay"].astype(np.float32)))
    return reader
