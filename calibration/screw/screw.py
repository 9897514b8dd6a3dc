"""The lead screw: how far the carriage really goes for what it counts."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from calibration.passes import FloatArray


class ScrewError(ValueError):
    """The crowns do not determine the screw."""


@dataclass(frozen=True, slots=True)
class Screw:
    """Scale and periodic error, with standard uncertainties.

    The carriage is at middle + scale (x - middle) + sine sin(2 pi x / pitch)
    + cosine cos(2 pi x / pitch) when it counts x; where x = 0 is, a screw cannot tell.
    pitch_mm: counted travel of one turn. Where no periodic error was seen sine_mm and cosine_mm
    are 0, and u_periodic_mm is what one may still be.
    """

    scale: float
    u_scale: float
    middle_mm: float
    pitch_mm: float
    sine_mm: float
    cosine_mm: float
    u_periodic_mm: float

    @property
    def amplitude_mm(self) -> float:
        return float(np.hypot(self.sine_mm, self.cosine_mm))

    @property
    def phase_rad(self) -> float:
        """Of amplitude sin(2 pi x / pitch + phase)."""
        return float(np.arctan2(self.cosine_mm, self.sine_mm))

    def true_x_mm(self, x_mm: FloatArray) -> FloatArray:
        """Where the carriage is when it counts x, float[n]."""
        turn = 2.0 * np.pi * x_mm / self.pitch_mm
        wave = self.sine_mm * np.sin(turn) + self.cosine_mm * np.cos(turn)
        return np.asarray(self.middle_mm + self.scale * (x_mm - self.middle_mm) + wave)

    def u_true_mm(self, x_mm: FloatArray) -> FloatArray:
        """Standard uncertainty of `true_x_mm` against the middle, float[n]."""
        return np.asarray(np.hypot((x_mm - self.middle_mm) * self.u_scale, self.u_periodic_mm))
