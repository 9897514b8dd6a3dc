"""Single wild readings are flagged, never deleted or smoothed into the data."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray
from scipy.ndimage import median_filter

from calibration.passes import FloatArray

#: A reading this many noise deviations off the median of its five neighbours is a spike.
SPIKE_SIGMAS = 8.0


def noise_mm(z_mm: FloatArray, quantum_mm: float) -> float:
    """White noise of a reading, robustly, from second differences.

    Second differences of white noise spread sqrt(6) times wider than the noise and do not see
    slopes. The median absolute value is taken, so spikes and crown edges hardly count. Where
    most differences are zero (a coarse sensor on a still surface) the answer is the rounding
    noise of the sensor's own step, quantum / sqrt(12), and never less.

    z_mm: float[n] in time order, NaN allowed. Returns mm; the rounding noise if n < 3.
    """
    floor = quantum_mm / np.sqrt(12.0)
    second = np.diff(z_mm, 2)
    second = second[np.isfinite(second)]
    if second.size == 0:
        return float(floor)
    spread = 1.4826 * float(np.median(np.abs(second))) / np.sqrt(6.0)
    return float(max(spread, floor))


def spike_flags(z_mm: FloatArray, noise: float) -> NDArray[np.bool_]:
    """True where a reading is missing or stands alone off its neighbours.

    The running median of five keeps every monotone flank, so a crown's sides are not flagged.

    z_mm: float[n], NaN where missing. noise: the reading's noise, mm.
    """
    missing = ~np.isfinite(z_mm)
    if z_mm.size < 5 or missing.all():
        return missing
    index = np.arange(z_mm.size)
    filled = np.where(missing, np.interp(index, index[~missing], z_mm[~missing]), z_mm)
    off = np.abs(filled - median_filter(filled, size=5, mode="nearest"))
    flags: NDArray[np.bool_] = missing | (off > SPIKE_SIGMAS * noise)
    return flags
