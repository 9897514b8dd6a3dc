"""A mean over scans: what of an uncertainty falls with their number, and what stays."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from analysis.instrument import FloatArray

#: Uncertainties count for no less, mm, when they weigh.
LEAST_MM = 1e-6


@dataclass(frozen=True, slots=True)
class Weights:
    """Of each scan at each place: [scans, frets, lanes], summing to one where any is kept."""

    share: FloatArray

    @staticmethod
    def of(u_mm: FloatArray, kept: NDArray[np.bool_]) -> Weights:
        """By the independent part of each scan's uncertainty."""
        raw = np.where(kept, 1.0 / np.maximum(u_mm, LEAST_MM) ** 2, 0.0)
        total = raw.sum(axis=0)
        with np.errstate(invalid="ignore", divide="ignore"):
            return Weights(np.where(total > 0.0, raw / total, np.nan))

    def mean(self, values: FloatArray) -> FloatArray:
        """[scans, frets, lanes] to [frets, lanes]; NaN is left out and the others make up."""
        known = np.isfinite(values) & (self.share > 0.0)
        share = np.where(known, self.share, 0.0)
        total = share.sum(axis=0)
        with np.errstate(invalid="ignore", divide="ignore"):
            mean = np.sum(share * np.where(known, values, 0.0), axis=0) / total
        return np.asarray(np.where(total > 0.0, mean, np.nan))

    def independent(self, u: FloatArray) -> FloatArray:
        """What is left of an uncertainty that each scan draws anew: over sqrt(n_eff)."""
        known = np.where(self.share > 0.0, self.share * u, 0.0)
        left = np.sqrt(np.sum(known**2, axis=0))
        return np.asarray(np.where(np.isfinite(self.share).all(axis=0), left, np.nan))

    def left(self, u: FloatArray, anew: float) -> FloatArray:
        """What is left of one of which a share, as a variance, is drawn anew."""
        fallen = anew * self.independent(u) ** 2
        return np.asarray(np.sqrt(fallen + (1.0 - anew) * self.shared(u) ** 2))

    def shared(self, u: FloatArray) -> FloatArray:
        """What is left of one that all have alike: all of it."""
        return np.sqrt(self.mean(u**2))


def anew_share(
    off_mm: FloatArray, kept: NDArray[np.bool_], anew_mm: FloatArray, part_mm: FloatArray
) -> float:
    """How much of a variance is drawn anew by each scan, by what they scatter: 0, often to 1.

    off_mm: [scans, ...], each scan off the mean of the kept ones; anew_mm: what is known to be
    drawn anew; part_mm: the uncertainty to be divided. Above 1 where they scatter by more than
    is stated. 0 where nothing can be told.
    """
    count = kept.sum(axis=0)
    use = kept & (count > 1) & np.isfinite(off_mm) & np.isfinite(part_mm) & np.isfinite(anew_mm)
    if not use.any():
        return 0.0
    free = np.broadcast_to(count / np.maximum(count - 1, 1), off_mm.shape)[use]
    total = np.maximum(anew_mm[use] ** 2 + part_mm[use] ** 2, 1e-12)
    seen = np.mean(free * off_mm[use] ** 2 / total)
    known, part = np.mean(anew_mm[use] ** 2 / total), np.mean(part_mm[use] ** 2 / total)
    return max(float((seen - known) / part), 0.0) if part > 0.0 else 0.0
