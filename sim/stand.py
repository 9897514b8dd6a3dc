"""How a thing stands on the rig; a person never puts it down twice alike."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.random import Generator

from sim.instrument import FloatArray

CLAMPED_MM = 470.0


@dataclass(frozen=True, slots=True)
class Stand:
    """Where its x = 0 is, how high, how it leans along and across, and how clamps bow it."""

    at_mm: float
    up_mm: float
    tilt: float
    roll: float
    bow_mm: float = 0.0

    def lift_mm(self, along_mm: FloatArray, y_mm: FloatArray) -> FloatArray:
        share = along_mm / CLAMPED_MM
        bow = 4.0 * self.bow_mm * share * (1.0 - share)
        return np.asarray(self.up_mm + self.tilt * along_mm + self.roll * y_mm + bow, dtype=float)


def draw_stand(at_mm: float, up_mm: float, rng: Generator) -> Stand:
    """Within 0.3 mm of the place, and level to a fifth of a mm over the length."""
    return Stand(
        at_mm=at_mm + rng.uniform(-0.3, 0.3),
        up_mm=up_mm + rng.uniform(-0.2, 0.2),
        tilt=rng.uniform(-0.0004, 0.0004),
        roll=rng.uniform(-0.001, 0.001),
    )
