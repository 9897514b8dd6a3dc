"""How alike the crowns of one fret are in radius, and what that says of each."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from analysis.instrument import FloatArray

#: However alike they look, crowns are hand-made: one fret's differ by at least this share, and
#: one fret from the next by that (own estimates).
LEAST_SHARE, LEAST_BETWEEN = 0.003, 0.03
#: Relative standard uncertainty of a variance got from n deviations' median is this over sqrt(n).
_OF_MEDIAN = 2.33


@dataclass(frozen=True, slots=True)
class BendPrior:
    """What is known of each crown's curvature before its own readings: [crowns], 1/mm."""

    mean: FloatArray
    spread: FloatArray


def bend_from_others(
    bend: FloatArray,
    noise2: FloatArray,
    flat2: FloatArray,
    fret: NDArray[np.intp],
    share_of: float,
    widest: float,
) -> BendPrior:
    """Empirical Bayes in two steps: crowns within their fret, frets within the scan.

    One file crowns one fret, so its crowns are alike; how alike is measured: the robust spread
    of the fitted curvatures about their fret's mean, less what their own uncertainty makes of
    it. A fret seen in few crowns leans on the scan's other frets. What a crown says itself is
    left out of its own prior.

    bend: [crowns], fitted with next to no prior; noise2, flat2: its variances from noise and
    from not knowing the flat. A whole fret filed flat looks rounder alike under every string:
    the second does not average out. share_of: the curvature that LEAST_SHARE is a share of.
    widest: no spread is larger.
    """
    size = int(fret.max()) + 1
    variance = noise2 + flat2
    typical = float(np.median(bend))
    total = np.bincount(fret, 1.0 / variance, minlength=size)
    own = np.bincount(fret, bend / variance, minlength=size) / np.maximum(total, 1e-300)
    within = _spread(bend - own[fret], variance)
    within = float(np.clip(within, LEAST_SHARE * share_of, widest))
    weight = 1.0 / (variance + within**2)
    rest = np.bincount(fret, weight, minlength=size)[fret] - weight
    alone = rest < 1e-6 * weight
    rest = np.maximum(rest, 1e-6 * weight)
    others = (np.bincount(fret, weight * bend, minlength=size)[fret] - weight * bend) / rest
    shared = np.bincount(fret, weight * flat2, minlength=size)[fret] - weight * flat2
    var_others = 1.0 / rest + shared / rest
    seen = total > 0
    counts = np.maximum(np.bincount(fret, minlength=size), 1)
    var_own = (float(np.median(variance)) + within**2) / counts
    between = max(_spread(own[seen] - typical, var_own[seen]), LEAST_BETWEEN * share_of)
    share = np.where(alone, 0.0, between**2 / (between**2 + var_others))
    mean = typical + share * (np.where(alone, typical, others) - typical)
    return BendPrior(mean, np.sqrt(within**2 + (1.0 - share) * between**2))


def _spread(off: FloatArray, variance: FloatArray) -> float:
    """Robust spread with the measuring variance taken out; where that explains it all, what so
    few deviations can still hide."""
    seen = (1.4826 * float(np.median(np.abs(off)))) ** 2
    explained = float(np.median(variance))
    hidden = min(_OF_MEDIAN / np.sqrt(off.size), 1.0) * explained
    return float(np.sqrt(max(seen - explained, hidden)))
