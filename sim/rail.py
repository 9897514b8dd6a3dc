"""The rail and its lead screw: where the carriage really is, and how straight it runs."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from sim.faults import Faults
from sim.instrument import FloatArray


@dataclass(frozen=True, slots=True)
class RigSpec:
    """The simulated rig, as its rig file describes it, and the limits its firmware keeps."""

    mm_per_x_count: float = 0.005
    mm_per_y_count: float = 0.01
    mm_per_raw_count: float = 0.001
    travel_mm: tuple[float, float] = (0.0, 640.0)
    cross_mm: tuple[float, float] = (-30.0, 30.0)
    pads_mm: tuple[tuple[float, float], ...] = ((4.0, 16.0), (600.0, 614.0))
    pad_heights_mm: tuple[float, ...] = (2.0, 2.15)
    speed_mm_s: float = 25.0
    fastest_mm_s: float = 100.0
    acceleration_mm_s2: float = 300.0
    rate_hz: int = 400
    highest_rate_hz: int = 2000
    tip_radius_mm: float = 1.0
    sensor_range_mm: tuple[float, float] = (-6.0, 8.0)


@dataclass(frozen=True, slots=True)
class Rail:
    """bow_mm is the depth of a parabola over the travel; waves are sines over true x."""

    travel_mm: tuple[float, float]
    bow_mm: float
    wave_mm: FloatArray
    wave_length_mm: FloatArray
    wave_phase_rad: FloatArray
    stretch: float

    def true_mm(self, counted_mm: FloatArray | float) -> FloatArray:
        """A long screw moves the carriage further than its counts say."""
        return np.asarray(counted_mm, dtype=float) * (1.0 + self.stretch)

    def error_mm(self, x_mm: FloatArray) -> FloatArray:
        """What the rail adds to a reading at true carriage positions, float[n]."""
        low, high = self.travel_mm
        share = (x_mm - low) / (high - low)
        z = 4.0 * self.bow_mm * share * (1.0 - share)
        for wave in range(len(self.wave_mm)):
            turn = 2.0 * np.pi * x_mm / self.wave_length_mm[wave] + self.wave_phase_rad[wave]
            z = z + self.wave_mm[wave] * np.sin(turn)
        return np.asarray(z, dtype=float)


def draw_rail(seed: int, spec: RigSpec, faults: Faults) -> Rail:
    """Two waves that together reach the stated amplitude, with phases of their own."""
    rng = np.random.default_rng([seed, 2])
    return Rail(
        travel_mm=spec.travel_mm,
        bow_mm=faults.rail_bow_mm,
        wave_mm=1e-3 * faults.rail_wave_um * np.array([2.0, 1.0]) / 3.0,
        wave_length_mm=np.array([130.0, 38.0]),
        wave_phase_rad=rng.uniform(0.0, 2.0 * np.pi, 2),
        stretch=1e-2 * faults.screw_percent,
    )
