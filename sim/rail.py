"""The rail and its lead screw: where the carriage really is, and how straight it runs."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from sim.faults import Faults
from sim.instrument import FloatArray
from sim.rigspec import RigSpec


@dataclass(frozen=True, slots=True)
class Rail:
    """bow_mm is the depth of a parabola over the travel; waves are sines over true x.

    roll_rad: amplitude of dz/dy over x. periodic_mm: the screw's error over a turn of pitch_mm.
    """

    travel_mm: tuple[float, float]
    bow_mm: float
    wave_mm: FloatArray
    wave_length_mm: FloatArray
    wave_phase_rad: FloatArray
    roll_rad: float
    roll_phase_rad: FloatArray
    stretch: float
    periodic_mm: float
    pitch_mm: float
    periodic_phase_rad: float

    def true_mm(self, counted_mm: FloatArray | float) -> FloatArray:
        """A long screw moves the carriage further than its counts say, and unevenly."""
        counted = np.asarray(counted_mm, dtype=float)
        turn = 2.0 * np.pi * counted / self.pitch_mm + self.periodic_phase_rad
        return np.asarray(counted * (1.0 + self.stretch) + self.periodic_mm * np.sin(turn))

    def error_mm(self, x_mm: FloatArray, y_mm: FloatArray | float = 0.0) -> FloatArray:
        """What the rail adds to a reading at true carriage positions, float[n]."""
        share = self._share(x_mm)
        z = 4.0 * self.bow_mm * share * (1.0 - share)
        for wave in range(len(self.wave_mm)):
            turn = 2.0 * np.pi * x_mm / self.wave_length_mm[wave] + self.wave_phase_rad[wave]
            z = z + self.wave_mm[wave] * np.sin(turn)
        return np.asarray(z + y_mm * self.roll(x_mm), dtype=float)

    def roll(self, x_mm: FloatArray) -> FloatArray:
        """dz/dy, rad: two slow waves that together stay within the amplitude."""
        first, second = self.roll_phase_rad
        turn = 2.0 * np.pi * self._share(x_mm)
        mixed = 0.65 * np.sin(0.8 * turn + first) + 0.35 * np.sin(2.3 * turn + second)
        return np.asarray(self.roll_rad * mixed, dtype=float)

    def _share(self, x_mm: FloatArray) -> FloatArray:
        low, high = self.travel_mm
        return np.asarray((x_mm - low) / (high - low), dtype=float)


def draw_rail(seed: int, spec: RigSpec, faults: Faults) -> Rail:
    """Two waves that together reach the stated amplitude, with phases of their own."""
    rng = np.random.default_rng([seed, 2])
    return Rail(
        travel_mm=spec.travel_mm,
        bow_mm=faults.rail_bow_mm,
        wave_mm=1e-3 * faults.rail_wave_um * np.array([2.0, 1.0]) / 3.0,
        wave_length_mm=np.array([130.0, 38.0]),
        wave_phase_rad=rng.uniform(0.0, 2.0 * np.pi, 2),
        roll_rad=1e-6 * faults.rail_roll_urad,
        roll_phase_rad=rng.uniform(0.0, 2.0 * np.pi, 2),
        stretch=1e-2 * faults.screw_percent,
        periodic_mm=1e-3 * faults.screw_periodic_um,
        pitch_mm=faults.screw_pitch_mm,
        periodic_phase_rad=float(rng.uniform(0.0, 2.0 * np.pi)),
    )
