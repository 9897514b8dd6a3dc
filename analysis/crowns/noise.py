"""How noisy the readings on the crowns are, by how the crowns' shape fits them."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from analysis.crowns.crown import Joint
from analysis.crowns.windows import Windows
from analysis.instrument import FloatArray

#: What was said of the noise is worth so many readings; a variance is believed from a quarter of
#: that to four times (own choice).
WORTH, LIMITS = 50.0, (0.25, 4.0)


def noise_seen(windows: Windows, joint: Joint, crown: NDArray[np.intp]) -> tuple[float, FloatArray]:
    """The readings' variance to what was said of it: of the whole scan, and [crowns].

    That of the scan is the median over the crowns, for a sensor's noise is known from what lies
    still, and no finer than its step; on a crown, jitter of the place adds to it. A crown that
    misfits by more than two standard deviations of chance has more, by as much (Birge 1932).
    crown: int[windows], from 0.
    """
    readings = np.bincount(crown, np.count_nonzero(windows.ok, axis=1))
    free = np.maximum(readings - 2.0 * np.bincount(crown) - 2.0, 1.0)
    ratio = np.maximum(joint.chi2.min(axis=0), 0.0) / free
    # the median of a chi-square by Wilson and Hilferty
    middles = (ratio / (1.0 - 2.0 / (9.0 * free)) ** 3)[free > 1.0]
    middle = float(np.clip(np.median(middles), *LIMITS)) if middles.size else 1.0
    total = float(free[free > 1.0].sum())
    scan = (WORTH + total * middle) / (WORTH + total)
    by_chance = 1.0 + 2.0 * np.sqrt(2.0 / free)
    return scan, scan * np.maximum(1.0, ratio / scan / by_chance)
