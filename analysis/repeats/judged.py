"""Heights of several scans in one frame, each place judged by what the others say."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from analysis.instrument import FloatArray
from analysis.repeats.outliers import off_the_others, settled
from analysis.repeats.weights import Weights, anew_share

#: Heights scatter by no less than this part of what is stated, for saying which is off.
LEAST_TYPICAL = 0.7


@dataclass(frozen=True, slots=True)
class Judged:
    """Arrays are [scans, frets, lanes], but spread_mm: [frets, lanes].

    kept: what counts. u_mm: what each scan is seen to draw anew, by the scatter of all; it is
    what the stated is times `scale`. spread_mm: for not knowing which scan is right.
    """

    values_mm: FloatArray
    u_mm: FloatArray
    kept: NDArray[np.bool_]
    spread_mm: FloatArray

    @staticmethod
    def of(values_mm: FloatArray, stated_mm: FloatArray) -> Judged:
        """stated_mm: what two scans may differ by, as stated."""
        seen = np.isfinite(values_mm) & np.isfinite(stated_mm)
        u = np.where(seen, stated_mm * _scale(values_mm, stated_mm, seen), np.nan)
        flat = (len(values_mm), -1)
        found = settled(values_mm.reshape(flat), u.reshape(flat))
        return Judged(
            values_mm, u, found.kept.reshape(seen.shape), found.spread_mm.reshape(seen.shape[1:])
        )

    @property
    def unsure(self) -> NDArray[np.bool_]:
        """[frets, lanes]: it cannot be told which scan is right."""
        return np.asarray(self.spread_mm > 0.0)

    @property
    def dropped(self) -> NDArray[np.bool_]:
        """What was seen and does not count, though it can be told why."""
        return np.isfinite(self.u_mm) & ~self.kept & ~self.unsure

    def off_the_others(self) -> tuple[FloatArray, FloatArray]:
        """Each height less the mean of the others that count, and its u."""
        counts = np.where(self.unsure, np.isfinite(self.u_mm), self.kept)
        return off_the_others(self.values_mm, self.u_mm, counts)

    def mean(self) -> tuple[Weights, FloatArray]:
        """Weights of the scans, and the mean of the heights, [frets, lanes]."""
        weights = Weights.of(self.u_mm, self.kept)
        return weights, weights.mean(self.values_mm)

    def anew_share(self, anew_mm: FloatArray, part_mm: FloatArray) -> float:
        """Of `part_mm`, as a variance: see `weights.anew_share`."""
        return anew_share(self.values_mm - self.mean()[1], self.kept, anew_mm, part_mm)


def _scale(values_mm: FloatArray, stated_mm: FloatArray, seen: NDArray[np.bool_]) -> float:
    """Robust: 1.4826 times the median deviation from the scans' mean, in units of stated."""
    weights = Weights.of(stated_mm, seen)
    count = seen.sum(axis=0)
    with np.errstate(invalid="ignore", divide="ignore"):
        free = np.sqrt(count / (count - 1.0))
        off = free * np.abs(values_mm - weights.mean(values_mm)) / stated_mm
    known = off[seen & (count > 1) & np.isfinite(off)]
    return max(1.4826 * float(np.median(known)), LEAST_TYPICAL) if known.size else 1.0
