"""A pass after its corrections: height over carriage position."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from calibration.passes import FloatArray


@dataclass(frozen=True, slots=True)
class Profile:
    """Corrected pass, ordered by x.

    x_mm: float[n], carriage position of the contact, increasing.
    y_mm: float[n], cross position.
    z_mm: float[n], height, NaN where there was no reading.
    ok: bool[n], False for spikes and missing readings.
    u_rail_mm: float[n], standard uncertainty of the rail map at each sample (0 with no map).
    noise_mm: standard deviation of one reading.
    u_drift_mm: standard uncertainty of the pass's drift line.
    speed_mm_s: how fast the carriage was told to go, NaN where nobody knows.
    """

    lane: int
    string: float
    direction: int
    x_mm: FloatArray
    y_mm: FloatArray
    z_mm: FloatArray
    ok: NDArray[np.bool_]
    u_rail_mm: FloatArray
    noise_mm: float
    u_drift_mm: float
    speed_mm_s: float = float("nan")
