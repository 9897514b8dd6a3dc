"""The noise of a sensor that looks at one place."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

NORMAL = 1.4826
"""Standard deviation over median deviation of a normal distribution."""
FURTHEST = 4.0


def still_noise(counts: NDArray[np.int32]) -> float | None:
    """Standard deviation of one reading, in counts, blind to drift and to a few spikes.

    The root mean square over sqrt 2 of the differences of neighbours that lie within 4 s of
    their median, s being 1.4826 times their median deviation. Counts are whole numbers, so
    that deviation is coarse, and zero where more than half of the differences are alike: it
    only finds the spikes, and s is taken as one count where it is less. None for fewer than
    three readings.
    """
    if counts.size < 3:
        return None
    steps = np.diff(counts.astype(np.int64))
    aside = np.abs(steps - np.median(steps))
    spread = max(NORMAL * float(np.median(aside)), 1.0)
    kept = steps[aside <= FURTHEST * spread].astype(float)
    return float(np.sqrt(0.5 * np.mean(kept**2)))
