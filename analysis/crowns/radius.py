"""How alike the crowns of one fret are in radius, and what that says of each."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from analysis.instrument import FloatArray

#: However alike they look, crowns are hand-made: one fret's differ by at least this share.
LEAST_SHARE = 0.01
WIDEST_MM = 0.5


@dataclass(frozen=True, slots=True)
class RadiusPrior:
    """What is known of each window's crown radius before its own readings: [windows], mm."""

    mean_mm: FloatArray
    spread_mm: FloatArray

    def rows(self, chosen: NDArray[np.int_]) -> RadiusPrior:
        """Some of the windows."""
        return RadiusPrior(self.mean_mm[chosen], self.spread_mm[chosen])


def radius_prior(
    radius_mm: FloatArray, noise_mm2: FloatArray, flat_mm2: FloatArray, fret: NDArray[np.int_]
) -> RadiusPrior:
    """Empirical Bayes in two steps: crowns within their fret, frets within the scan.

    One file crowns one fret, so its crowns are alike; how alike is measured: the robust spread
    of the fitted radii about their fret's mean, less what their own uncertainty makes of it.
    A fret seen in few windows leans on the scan's other frets. radius_mm: [windows], fitted
    with next to no prior; noise_mm2, flat_mm2: their variances from noise and from not knowing
    the flat. A whole fret filed flat looks rounder alike under every string: the second does
    not average out. fret: int[windows].
    """
    size = int(fret.max()) + 1
    count = np.bincount(fret, minlength=size)
    seen = count > 0
    weight = 1.0 / np.maximum(noise_mm2 + flat_mm2, 1e-8)
    total = np.maximum(np.bincount(fret, weight, minlength=size), 1e-12)
    own = np.bincount(fret, weight * radius_mm, minlength=size) / total
    typical = float(np.median(radius_mm))
    within = _spread(radius_mm - own[fret], noise_mm2 + flat_mm2)
    within = float(np.clip(within, LEAST_SHARE * typical, WIDEST_MM))
    shared = np.bincount(fret, weight * flat_mm2, minlength=size) / total
    var_own = (np.median(noise_mm2) + within**2) / np.maximum(count, 1) + shared
    between = max(_spread(own[seen] - typical, var_own[seen]), 0.03 * typical)
    share = between**2 / (between**2 + var_own)
    mean = typical + share * (own - typical)
    spread = np.sqrt(within**2 + share * var_own)
    return RadiusPrior(mean[fret], spread[fret])


def _spread(off_mm: FloatArray, variance_mm2: FloatArray) -> float:
    """Robust spread with the measuring variance taken out; 0 where that explains it all."""
    seen = (1.4826 * float(np.median(np.abs(off_mm)))) ** 2
    return float(np.sqrt(max(seen - float(np.median(variance_mm2)), 0.0)))
