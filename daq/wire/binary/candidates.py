"""Where in a buffer a frame may begin: sync bytes, and a kind and a length that there are."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from daq.wire.binary.layout import LONGEST, SAMPLES, SYNC, TEXT, TEXT_EDGE
from daq.wire.line.encode import LONGEST_BODY

AFTER = SYNC[1:] + bytes(3)
"""What must follow the buffer: a lone first sync byte at its end may be a frame's beginning."""

Index = NDArray[np.intp]
Bytes = NDArray[np.uint8]


@dataclass(frozen=True, slots=True)
class Candidates:
    """In the order of their place.

    at, end: intp[n], their first byte, and one past their last as far as can be known.
    kind: uint8[n]; of the last one nonsense where it does not lie in the buffer.
    """

    at: Index
    end: Index
    kind: Bytes


def find_candidates(buffer: Bytes, size: int) -> Candidates:
    """Those that begin in the first `size` bytes; AFTER follows these."""
    first = np.flatnonzero(buffer[:size] == SYNC[0])
    at = first[buffer[first + 1] == SYNC[1]]
    kind = buffer[at + 2]
    length = _LENGTH[kind]
    texts = np.flatnonzero(kind == TEXT)
    if texts.size:
        length[texts] = _TEXT_LENGTH[buffer[at[texts] + 3]]
    if at.size and at[-1] + (3 if kind[-1] == TEXT else 2) >= size:
        # Its kind or length is still to come: only of the last one can that be so.
        length[-1] = LONGEST
    if length.all():
        return Candidates(at, at + length, kind)
    some = np.flatnonzero(length)
    return Candidates(at[some], at[some] + length[some], kind[some])


def _lengths() -> Index:
    table = np.zeros(256, np.intp)
    for kind, frame in SAMPLES.items():
        table[kind] = frame.itemsize
    return table


def _text_lengths() -> Index:
    length = np.arange(256)
    return np.where((length >= 1) & (length <= LONGEST_BODY), length + TEXT_EDGE, 0)


_LENGTH = _lengths()
_TEXT_LENGTH = _text_lengths()
