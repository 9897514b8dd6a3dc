"""What meets the surface: a ball that rides on it, or a spot of light that averages it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Protocol

import numpy as np
from scipy.ndimage import minimum_filter1d

from sim.instrument import FloatArray
from sim.neck import NOTHING_MM
from sim.objects import OnRig
from sim.probe import average_along, dilate_along, lift_across

STEP_MM = 0.01
# Half the base over which slope and curvature across are taken.
ACROSS_MM = 0.05


class Eye(Protocol):
    """reach_mm: how far from its middle it still meets something."""

    @property
    def reach_mm(self) -> float: ...

    def reads_mm(self, thing: OnRig, x_mm: FloatArray, y_mm: FloatArray) -> FloatArray:
        """Over x float[n] at STEP_MM, and y float[n]."""
        ...


@dataclass(frozen=True, slots=True)
class Ball:
    """The tip of a plunger."""

    radius_mm: float

    @property
    def reach_mm(self) -> float:
        return self.radius_mm

    def reads_mm(self, thing: OnRig, x_mm: FloatArray, y_mm: FloatArray) -> FloatArray:
        """First across, then along: exact for paraboloids, and the order they separate in."""
        lifted = self._lifted_mm(thing, x_mm, y_mm)
        with_strings = np.maximum(lifted, thing.strands_mm(x_mm, y_mm, self.radius_mm))
        ridden = dilate_along(with_strings, STEP_MM, self.radius_mm)
        for at_mm, peak_mm in thing.peaks_mm():
            left = np.clip(self.radius_mm**2 - (x_mm - at_mm) ** 2, 0.0, None)
            on_peak = peak_mm - self.radius_mm + np.sqrt(left)
            ridden = np.where(left > 0.0, np.maximum(ridden, on_peak), ridden)
        return ridden

    def _lifted_mm(self, thing: OnRig, x_mm: FloatArray, y_mm: FloatArray) -> FloatArray:
        here = thing.surface_mm(x_mm, y_mm)
        left = thing.surface_mm(x_mm, y_mm - ACROSS_MM)
        right = thing.surface_mm(x_mm, y_mm + ACROSS_MM)
        slope = (right - left) / (2.0 * ACROSS_MM)
        curvature = (right - 2.0 * here + left) / ACROSS_MM**2
        # At an edge across (the board's side) a difference is no slope.
        smooth = np.abs(slope) < 1.0
        lift = np.where(smooth, lift_across(slope, curvature, self.radius_mm), 0.0)
        return np.asarray(here + lift, dtype=float)


@dataclass(frozen=True, slots=True)
class Spot:
    """Flat-topped along x and of no width across; half over an edge it reads nothing."""

    width_mm: float

    @property
    def reach_mm(self) -> float:
        return 0.5 * self.width_mm

    def reads_mm(self, thing: OnRig, x_mm: FloatArray, y_mm: FloatArray) -> FloatArray:
        seen = np.maximum(thing.surface_mm(x_mm, y_mm), thing.strands_mm(x_mm, y_mm, 0.0))
        lowest = minimum_filter1d(seen, 2 * round(self.reach_mm / STEP_MM) + 1, mode="nearest")
        mean = average_along(seen, STEP_MM, self.width_mm)
        return np.where(lowest < 0.5 * NOTHING_MM, NOTHING_MM, mean)
