"""Latency of the reading and backlash of the carriage, as known."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from calibration.passes import FloatArray


@dataclass(frozen=True, slots=True)
class Lag:
    """Latency of the reading and backlash of the carriage, with standard uncertainties.

    A surface at x is read where the count says x + direction (v lag + backlash / 2).
    The backlash may vary along the travel: backlash_mm is what it is at middle_mm, and
    backlash_per_mm how much it grows for each millimetre beyond. correlation: between the
    errors of lag and backlash; what one has too much the other has too little.
    """

    lag_s: float
    u_lag_s: float
    backlash_mm: float
    u_backlash_mm: float
    backlash_per_mm: float = 0.0
    u_backlash_per_mm: float = 0.0
    middle_mm: float = 0.0
    correlation: float = 0.0

    def backlash_at_mm(self, x_mm: FloatArray) -> FloatArray:
        """Backlash along the travel, float[n]."""
        return np.asarray(self.backlash_mm + self.backlash_per_mm * (x_mm - self.middle_mm))

    def contact_x_mm(self, t_s: FloatArray, x_mm: FloatArray, direction: int) -> FloatArray:
        """Where the tip was when the reading arose: the count one lag ago, less backlash.

        t_s, x_mm: float[n] in time order. Uses the counts themselves, so that starting and
        stopping are right too.
        """
        then = np.interp(t_s - self.lag_s, t_s, x_mm)
        return np.asarray(then - direction * self.backlash_at_mm(then) / 2.0)

    def u_contact_mm(self, speed_mm_s: float) -> float:
        """Standard uncertainty of `contact_x_mm` at a speed, mm, at middle_mm."""
        late, play = speed_mm_s * self.u_lag_s, 0.5 * self.u_backlash_mm
        return float(np.sqrt(max(late**2 + play**2 + 2.0 * self.correlation * late * play, 0.0)))
