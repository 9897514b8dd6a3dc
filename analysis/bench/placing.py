"""Where the beam is laid one after another, and the line under each string."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from analysis.bench.straight import MOST_DOUBT_MM, NOTHING_MM, Lines
from analysis.instrument import FloatArray

#: Laying the beam once more must be worth this share of the plan (own choice).
WORTH_SHARE = 0.1
#: Of lines that take about the same the surer one: a millimetre of doubt counts as so many of
#: metal (own choice: only enough to choose).
SURER = 1e-3


@dataclass(frozen=True, slots=True)
class Placed:
    """The beam laid over frets first ... last, from 0. line: [strings], which of the lines it
    comes down to under each; -1 where it takes nothing."""

    first: int
    last: int
    line: NDArray[np.int_]


@dataclass(frozen=True, slots=True)
class Work:
    """One bend of the neck and what the beam does there. taken_mm: [frets, strings]."""

    bent: FloatArray
    placed: tuple[Placed, ...]
    taken_mm: FloatArray

    @property
    def done_mm(self) -> float:
        return float(self.taken_mm.sum())


def best_work(lines: Lines, where: tuple[tuple[int, int], ...], bent: FloatArray) -> Work:
    """The beam laid where it takes most, again where it then adds most, while that is worth it.

    where: the sets of frets it can lie over. A line counts where it lies on or over the plan
    under every fret of its set, in every case of what rod and prop may do, and takes nothing
    where it is in too much doubt. Of one set the lines
    found are the best there are; each further set is the best to add, and none comes twice.
    """
    gaps = lines.gaps_mm(bent)
    taken = lines.taken_mm(gaps[0])
    a, b = np.array(where, dtype=int).reshape(-1, 2).T
    takes = taken > NOTHING_MM
    unsure = takes & (lines.doubt_mm > MOST_DOUBT_MM)
    bad = _counts(np.any(gaps < -NOTHING_MM, axis=0) | unsure)
    doubt = _counts(np.where(takes, lines.doubt_mm, 0.0))
    doubt = SURER * (doubt[:, b + 1] - doubt[:, a]).transpose(1, 0, 2)
    outside = (lines.first < a[:, None]) | (lines.second > b[:, None])
    allowed = (bad[:, b + 1] == bad[:, a]).transpose(1, 0, 2) & ~outside[..., None]
    so_far = np.zeros_like(lines.remove_mm)
    enough = WORTH_SHARE * float(lines.remove_mm.sum())
    placed: list[Placed] = []
    while a.size:
        sums = _counts(np.clip(taken - so_far, 0.0, None))
        gain = np.where(allowed, (sums[:, b + 1] - sums[:, a]).transpose(1, 0, 2), 0.0)
        best = np.where(gain > NOTHING_MM, gain - doubt, 0.0).argmax(axis=1)
        most = np.take_along_axis(gain, best[:, None], axis=1)[:, 0]
        w = int(most.sum(axis=1).argmax())
        total = float(most[w].sum())
        if total <= NOTHING_MM or (placed and total < enough):
            break
        line = np.where(most[w] > NOTHING_MM, best[w], -1)
        placed.append(Placed(int(a[w]), int(b[w]), line))
        allowed[w] = False
        so_far = np.maximum(so_far, taken_by(placed[-1:], taken))
    return Work(bent, tuple(placed), so_far)


def taken_by(placed: Sequence[Placed], taken_mm: FloatArray) -> FloatArray:
    """[frets, strings], once the beam has lain at all these places.

    taken_mm: [lines, frets, strings]. Where two places share a fret the deeper counts.
    """
    out = np.zeros(taken_mm.shape[1:])
    for one in placed:
        strings = np.flatnonzero(one.line >= 0)
        for fret in range(one.first, one.last + 1):
            more = taken_mm[one.line[strings], fret, strings]
            out[fret, strings] = np.maximum(out[fret, strings], more)
    return out


def _counts(over_frets: FloatArray) -> FloatArray:
    """Sums along the frets from a first zero: [lines, frets + 1, strings]."""
    lines, frets, strings = over_frets.shape
    out = np.zeros((lines, frets + 1, strings))
    np.cumsum(over_frets, axis=1, out=out[:, 1:])
    return out
