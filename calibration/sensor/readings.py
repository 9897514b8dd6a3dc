"""What a sensor read on known gauges, one entry for each reading."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from calibration.passes import FloatArray


class SensorError(ValueError):
    """The gauges do not determine a curve."""


@dataclass(frozen=True, slots=True)
class GaugeReadings:
    """Readings on gauges, in the order they were made.

    gauge_mm, u_gauge_mm: float[n], the gauge under the tip and its standard uncertainty;
        readings of one thickness are readings of one gauge, and share its error.
    reading_mm: float[n], what the sensor said, nominal millimetres.
    way: int[n], +1 where the tip rose on to the gauge, -1 where it sank on to it.
    t_s: float[n], when, by the rig's clock; all 0 where nobody knows.
    least_mm: standard deviation that one reading has at the least (its own noise and rounding).
    """

    gauge_mm: FloatArray
    u_gauge_mm: FloatArray
    reading_mm: FloatArray
    way: NDArray[np.int_]
    t_s: FloatArray
    least_mm: float

    @staticmethod
    def once(reading_mm: FloatArray, gauge_mm: FloatArray, u_gauge_mm: FloatArray) -> GaugeReadings:
        """All rising, at no known times, with no noise known beforehand."""
        reading, gauge, u = (np.asarray(a, float) for a in (reading_mm, gauge_mm, u_gauge_mm))
        return GaugeReadings(gauge, u, reading, np.ones(gauge.size, int), np.zeros(gauge.size), 0.0)

    @property
    def both_ways(self) -> bool:
        """Whether some were read rising and some falling."""
        return bool(self.way.min() < self.way.max())

    @property
    def group(self) -> NDArray[np.int_]:
        """int[n]: the number of each reading's gauge, from the thinnest."""
        return np.asarray(np.unique(self.gauge_mm, return_inverse=True)[1])

    @property
    def sizes(self) -> int:
        """How many different gauges there are."""
        return int(np.unique(self.gauge_mm).size)

    def kept(self, keep: NDArray[np.bool_]) -> GaugeReadings:
        """Some of the readings."""
        return GaugeReadings(
            self.gauge_mm[keep],
            self.u_gauge_mm[keep],
            self.reading_mm[keep],
            self.way[keep],
            self.t_s[keep],
            self.least_mm,
        )

    def nuisance(self) -> FloatArray:
        """float[n, 0 or 1 or 2]: drift (a second, about the middle) and way (half, signed).

        A steady drift and a hysteresis show only where every gauge is come to from both sides:
        then the first leg's time rises with the gauge and the second's falls.
        """
        if not self.both_ways:
            return np.empty((self.gauge_mm.size, 0))
        way = 0.5 * self.way[:, None]
        if np.ptp(self.t_s) == 0.0:
            return way
        return np.column_stack([self.t_s - np.mean(self.t_s), way])
