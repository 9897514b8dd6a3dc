"""Damaged frames through a decoder, whole and in pieces."""

from __future__ import annotations

import hashlib
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

import numpy as np
from scipy.stats import binom

from daq.wire.dialect import Decoder
from daq.wire.records import Batch

from .damage import damaged
from .spoken import NONE, Spoken

AT_ONCE = 50_000
BYTE_BY_BYTE = 1500
CHECK_BITS = 16
DOUBT = 1e-6
"""How seldom the bound may be passed by chance."""


@dataclass(frozen=True)
class Fuzzed:
    """frames: sent. damaged: of them. decoded: samples. bad: counted so. passed: samples that
    were sent in no frame. lost: frames that nothing touched and that are no sample."""

    frames: int
    damaged: int
    decoded: int
    bad: int
    passed: int
    lost: int

    @property
    def most_passed(self) -> float:
        """Were every damage one that the check sees by chance only."""
        return float(binom.isf(DOUBT, self.damaged, 2.0**-CHECK_BITS))


def fuzz(spoken: Spoken, frames: int, seed: int) -> Fuzzed:
    """Sends so many frames, most of them damaged. The stream cut another way decodes alike."""
    random = np.random.default_rng(seed)
    whole, pieces = Heard(spoken.dialect.decoder()), Heard(spoken.dialect.decoder())
    touched = np.zeros(frames, np.bool_)
    for first in range(0, frames, AT_ONCE):
        sent = spoken.frames(first, min(first + AT_ONCE, frames))
        came = damaged(sent, random)
        touched[first : first + len(sent)] = [a != b for a, b in zip(sent, came, strict=True)]
        stream = b"".join(came)
        whole.feed(stream)
        for piece in _cut(stream, random):
            pieces.feed(piece)
    assert whole.digest == pieces.digest
    assert (whole.bad, whole.said) == (pieces.bad, pieces.said)
    hit = int(touched.sum())
    if spoken.which is None:
        return Fuzzed(frames, hit, whole.decoded, whole.bad, 0, 0)
    which = np.concatenate([spoken.which(batch.samples) for batch in whole.batches])
    good = (which >= 0) & (which < frames)
    # out of turn it was not sent; twice it may have come, where damage is the frame again
    good[good] &= np.diff(which[good], prepend=NONE) >= 0
    seen = np.zeros(frames, np.bool_)
    seen[which[good]] = True
    untouched = ~touched & ~np.concatenate([[False], touched[:-1]])
    lost = int((untouched & ~seen).sum())
    return Fuzzed(frames, hit, which.size, whole.bad, int((~good).sum()), lost)


class Heard:
    """All that a decoder made of what it was fed."""

    def __init__(self, decoder: Decoder) -> None:
        self._decoder = decoder
        self._hash = hashlib.sha256()
        self._columns: list[Any] = [hashlib.sha256() for _ in range(6)]
        self.batches: list[Batch] = []
        self.bad = 0
        self.decoded = 0
        self.said: list[object] = []

    def feed(self, data: bytes) -> None:
        batch = self._decoder.feed(data)
        assert batch.whole_after.size == len(batch.samples)
        assert ((batch.whole_after > 0) & (batch.whole_after <= len(data))).all()
        for column, digest in zip(batch.samples.columns(), self._columns, strict=True):
            digest.update(column.tobytes())
        if len(batch.samples):
            self.batches.append(batch)
        self.bad += batch.bad_frames
        self.decoded += len(batch.samples)
        self.said += [*batch.events, *batch.replies]

    @property
    def digest(self) -> list[str]:
        return [column.hexdigest() for column in self._columns]


def _cut(stream: bytes, random: np.random.Generator) -> Iterator[bytes]:
    """Byte by byte at first, then in pieces of any size."""
    for at in range(min(BYTE_BY_BYTE, len(stream))):
        yield stream[at : at + 1]
    at = BYTE_BY_BYTE
    while at < len(stream):
        size = int(10 ** random.uniform(0.0, 5.0))
        yield stream[at : at + size]
        at += size
