"""The sensor: what it reads of the surface under it, with its own faults, in whole counts."""

from __future__ import annotations

import numpy as np
from numpy.random import Generator
from numpy.typing import NDArray

from sim.faults import Faults, drift_mm, spikes_mm
from sim.instrument import FloatArray
from sim.rail import Rail, RigSpec


class Sensor:
    """All randomness of the readings is drawn from the generator it is given."""

    def __init__(self, spec: RigSpec, rail: Rail, faults: Faults, rng: Generator) -> None:
        self._spec = spec
        self._rail = rail
        self._faults = faults
        self._rng = rng

    @property
    def lag_s(self) -> float:
        return 1e-3 * self._faults.lag_ms

    def counts(
        self, t_s: FloatArray, x_mm: FloatArray, surface_mm: FloatArray
    ) -> tuple[FloatArray, NDArray[np.bool_]]:
        """Readings float[n] (whole) and where they are valid: bool[n], in range or not.

        t_s are the samples' own times, x_mm where the carriage was when the surface was seen.
        """
        faults = self._faults
        z_mm = surface_mm + self._rail.error_mm(x_mm) + drift_mm(faults, t_s)
        low, high = self._spec.sensor_range_mm
        valid = (z_mm >= low) & (z_mm <= high)
        z_mm = z_mm + self._rng.normal(0.0, 1e-3 * faults.noise_um, len(z_mm))
        z_mm = z_mm + spikes_mm(faults, len(z_mm), self._rng)
        return np.rint(z_mm / self._spec.mm_per_raw_count), valid
