"""The sensor: what it reads of the surface under it, with its own faults, in whole counts."""

from __future__ import annotations

import numpy as np
from numpy.random import Generator
from numpy.typing import NDArray

from sim.cable import happens
from sim.drift import Climate, drift_mm, thermal_mm
from sim.faults import Faults
from sim.instrument import FloatArray
from sim.plunger import Plunger
from sim.rigspec import RigSpec

HANGS_BELOW_MM = 10.0


class Sensor:
    """All randomness of the readings is drawn from the generator it is given."""

    def __init__(
        self, spec: RigSpec, faults: Faults, climate: Climate, plunger: Plunger, rng: Generator
    ) -> None:
        self._spec = spec
        self._faults = faults
        self._climate = climate
        self._plunger = plunger
        self._rng = rng

    @property
    def lag_s(self) -> float:
        return 1e-3 * self._faults.lag_ms

    def counts(
        self, t_s: FloatArray, height_mm: FloatArray
    ) -> tuple[FloatArray, NDArray[np.bool_]]:
        """Readings float[n] (whole) and where they are valid: bool[n], in range or not.

        t_s are the samples' own times, height_mm what the surface and the rail come to.
        """
        faults, low = self._faults, self._spec.sensor_range_mm[0]
        # Over nothing the plunger hangs at its lower stop, which no drift brings into range.
        stands = self._plunger.stands_mm(t_s, np.maximum(height_mm, low - HANGS_BELOW_MM))
        z_mm = sensor_curve_mm(self._spec, faults, stands) + drift_mm(faults, t_s)
        z_mm = z_mm + thermal_mm(faults, self._climate.celsius(t_s))
        valid = (z_mm >= low) & (z_mm <= self._spec.sensor_range_mm[1])
        z_mm = z_mm + self._rng.normal(0.0, 1e-3 * faults.noise_um, len(z_mm))
        z_mm = z_mm + _spikes_mm(faults, len(z_mm), self._rng)
        return np.rint(z_mm / self._spec.mm_per_raw_count), valid


def sensor_curve_mm(spec: RigSpec, faults: Faults, z_mm: FloatArray) -> FloatArray:
    """What a sensor reads that reads a height wrong: gain, and a parabola over its range."""
    low, high = spec.sensor_range_mm
    share = (z_mm - low) / (high - low)
    bend = 4.0 * 1e-3 * faults.sensor_bend_um * share * (1.0 - share)
    return np.asarray(z_mm * (1.0 + 1e-2 * faults.sensor_gain_percent) + bend, dtype=float)


def _spikes_mm(faults: Faults, count: int, rng: Generator) -> FloatArray:
    hit = happens(faults.spike_one_in, count, rng)
    size = rng.uniform(0.05, 0.5, count) * rng.choice([-1.0, 1.0], count)
    return np.where(hit, size, 0.0)
