"""Which candidates are frames: the first good one, the first after that, and so on."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from daq.wire.binary.candidates import Candidates, Index
from daq.wire.binary.samples import Flags


@dataclass(frozen=True, slots=True)
class Taken:
    """frames: intp[n], the numbers of the candidates that are frames, in order.

    refused: intp[m], those that are none, and lie in no frame.
    decided: how many bytes are decided; what begins there may still become a frame.
    """

    frames: Index
    refused: Index
    decided: int


def take(found: Candidates, good: Flags, size: int) -> Taken:
    """The frames among the first `size` bytes. good: bool[n], which candidates could be one."""
    frames = _without_overlap(found, good)
    waiting = _first_waiting(found, frames, size)
    if waiting is None:
        return Taken(frames, _refused(found, frames, len(found.at)), size)
    frames = frames[: np.searchsorted(frames, waiting)]
    return Taken(frames, _refused(found, frames, waiting), int(found.at[waiting]))


def known_after(found: Candidates, taken: Taken) -> Index:
    """After how many bytes each frame was known to be one: its own, and those of anything before
    it that looked like a longer one."""
    ends = found.end[taken.frames]
    if not taken.refused.size:
        return ends
    latest = np.append(0, np.maximum.accumulate(found.end[taken.refused]))
    before = latest[np.searchsorted(taken.refused, taken.frames)]
    return np.asarray(np.maximum(ends, before), np.intp)


def _without_overlap(found: Candidates, good: Flags) -> Index:
    some = np.flatnonzero(good)
    at, end = found.at[some], found.end[some]
    if (at[1:] >= end[:-1]).all():
        return some
    kept, free = [], 0
    for number, start, stop in zip(some.tolist(), at.tolist(), end.tolist(), strict=True):
        if start >= free:
            kept.append(number)
            free = stop
    return np.array(kept, np.intp)


def _first_waiting(found: Candidates, frames: Index, size: int) -> int | None:
    """The first candidate that is not whole and lies in no frame."""
    for number in np.flatnonzero(found.end > size).tolist():
        before = int(np.searchsorted(frames, number)) - 1
        if before < 0 or found.end[frames[before]] <= found.at[number]:
            return int(number)
    return None


def _refused(found: Candidates, frames: Index, count: int) -> Index:
    """Of the first so many candidates."""
    if frames.size == count:
        return np.empty(0, np.intp)
    others = np.setdiff1d(np.arange(count), frames, assume_unique=True)
    free = np.append(0, found.end[frames])[np.searchsorted(frames, others)]
    return np.asarray(others[found.at[others] >= free], np.intp)
