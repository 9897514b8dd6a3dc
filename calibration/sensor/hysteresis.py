"""Whether a sensor reads otherwise rising than falling, from gauges come to from both sides."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from calibration.passes import FloatArray
from calibration.sensor.mixedfit import MixedFit
from calibration.sensor.readings import GaugeReadings

#: Chance of seeing a hysteresis where there is none.
SEEN_CHANCE = 0.01


@dataclass(frozen=True, slots=True)
class Hysteresis:
    """Falling less rising, mm: what a sinking tip reads higher than a rising one.

    whole_mm, u_mm: one number for all gauges; half_width_mm: of its 95 % interval; chance: that
    nothing but noise made it.
    gauge_mm, each_mm, u_each_mm: float[gauges], one by one, where both ways were read; their
    drift is taken off. drift_mm_s, u_drift_mm_s: how fast the readings ran off meanwhile.
    """

    whole_mm: float
    u_mm: float
    half_width_mm: float
    chance: float
    gauge_mm: FloatArray
    each_mm: FloatArray
    u_each_mm: FloatArray
    drift_mm_s: float
    u_drift_mm_s: float

    @property
    def seen(self) -> bool:
        """Whether it is more than noise."""
        return self.chance < SEEN_CHANCE

    @property
    def half_mm(self) -> float:
        """What it adds to the uncertainty of a reading whose way nobody knows.

        Such a reading lies half of it to one side or the other: that is the standard deviation.
        0 where none was seen.
        """
        return 0.5 * abs(self.whole_mm) if self.seen else 0.0


def hysteresis_of(readings: GaugeReadings, fit: MixedFit, height_mm: FloatArray) -> Hysteresis:
    """From a fit with drift and way as its last two coefficients (the way alone without times).

    height_mm: float[n], the curve's height at every reading. What differs more between the ways
    on some gauges than on others is in the scatter; what grows evenly with the thickness cannot
    be told from drift.
    """
    drift, u_drift = 0.0, 0.0
    timed = np.ptp(readings.t_s) > 0.0
    if timed:
        drift, u_drift = -float(fit.coefficients[-2]), float(np.sqrt(fit.covariance[-2, -2]))
    steady = height_mm - drift * readings.t_s
    whole, u = float(fit.coefficients[-1]), float(np.sqrt(fit.covariance[-1, -1]))
    sizes, each, gap_s = _each(readings, steady)
    u_each = np.hypot(np.sqrt(2.0 * fit.variance), u_drift * gap_s)
    chance = fit.chance_of_none(slice(fit.coefficients.size - 1, None))
    half = fit.half_width(np.eye(fit.coefficients.size)[-1])
    return Hysteresis(whole, u, half, chance, sizes, each, u_each, drift, u_drift)


def _each(
    readings: GaugeReadings, steady_mm: FloatArray
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """(thickness, falling less rising, time between) of every gauge read both ways."""
    rows = []
    for size in np.unique(readings.gauge_mm):
        at = readings.gauge_mm == size
        up, down = at & (readings.way > 0), at & (readings.way < 0)
        if up.any() and down.any():
            gap = float(np.mean(readings.t_s[down]) - np.mean(readings.t_s[up]))
            rows.append((float(size), float(steady_mm[down].mean() - steady_mm[up].mean()), gap))
    sizes, each, gap_s = np.array(rows, dtype=float).reshape(-1, 3).T
    return sizes, each, np.abs(gap_s)
