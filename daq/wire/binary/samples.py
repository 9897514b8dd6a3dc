"""The sample frames among the candidates, kind by kind, all of a kind at once."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from daq.wire.binary.candidates import Bytes, Candidates, Index
from daq.wire.binary.encode import checks
from daq.wire.binary.layout import SAMPLES
from daq.wire.records import ABSENT, SampleBlock

Flags = NDArray[np.bool_]


class CheckedSamples:
    """good: bool[n], which candidates are whole, good sample frames."""

    def __init__(self, buffer: Bytes, size: int, candidates: Candidates) -> None:
        self.good: Flags = np.zeros(len(candidates.at), np.bool_)
        self._of_kind: list[tuple[Index, NDArray[np.void]]] = []
        whole = candidates.end <= size
        for kind in np.flatnonzero(np.bincount(candidates.kind)).tolist():
            if kind in SAMPLES:
                rows = np.flatnonzero(whole & (candidates.kind == kind))
                frames = _frames(buffer, candidates.at[rows], SAMPLES[kind])
                self.good[rows] = _hold(frames)
                self._of_kind.append((rows, frames))

    def columns(self, numbers: Index) -> SampleBlock:
        """The samples of these candidates, intp[n]: some of the good ones, in order."""
        if len(self._of_kind) == 1:
            rows, frames = self._of_kind[0]
            whole = rows.size == numbers.size
            return _block(frames if whole else frames[np.searchsorted(rows, numbers)])
        kept = [
            (numbers_of, frames[np.searchsorted(rows, numbers_of)])
            for rows, frames in self._of_kind
            if (numbers_of := np.intersect1d(numbers, rows, assume_unique=True)).size
        ]
        together = SampleBlock.concatenate(_block(frames) for _, frames in kept)
        if len(kept) < 2:
            return together
        order = np.argsort(np.concatenate([numbers_of for numbers_of, _ in kept]))
        return together.chosen(order)


def _frames(buffer: Bytes, at: Index, frame: np.dtype[np.void]) -> NDArray[np.void]:
    """The frames that begin at these bytes of the buffer.

    Copied as bytes that mean nothing yet: a frame of many fields would be copied field by field.
    """
    size = frame.itemsize
    count = max(buffer.size - size + 1, 0)
    return np.ndarray((count,), f"V{size}", buffer, strides=(1,))[at].view(frame)


def _hold(frames: NDArray[np.void]) -> Flags:
    """Which have the right check, and no position that cannot be one."""
    good: Flags = checks(frames) == frames["check"]
    for name in ("x", "y"):
        if name in (frames.dtype.names or ()):
            good &= frames[name] != ABSENT
    return good


def _block(frames: NDArray[np.void]) -> SampleBlock:
    """The frames' columns. A frame without x is a sensor's own: there it is 0."""
    there, n = frames.dtype.names or (), len(frames)
    return SampleBlock(
        frames["seq"].astype(np.uint32),
        frames["t_us"].astype(np.uint32),
        frames["x"].astype(np.int32) if "x" in there else np.zeros(n, np.int32),
        frames["y"].astype(np.int32) if "y" in there else np.full(n, ABSENT, np.int32),
        frames["raw"].astype(np.int32),
        frames["temp"].astype(np.int32) if "temp" in there else np.full(n, ABSENT, np.int32),
    )
