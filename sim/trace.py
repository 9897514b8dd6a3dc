"""What the ball rides along a straight line over whatever stands on the rig."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from sim.instrument import FloatArray
from sim.objects import OnRig
from sim.probe import dilate_along, lift_across

STEP_MM = 0.01
# Beyond the line's ends: the ball's own reach, and where a lagging sensor still looks.
BEYOND_MM = 2.5
# Half the base over which slope and curvature across are taken.
ACROSS_MM = 0.05


@dataclass(frozen=True, slots=True)
class Line:
    """From one carriage position to another, true mm."""

    x0_mm: float
    y0_mm: float
    x1_mm: float
    y1_mm: float

    @property
    def along_x(self) -> bool:
        """Whether it runs close enough along x to be one profile over x."""
        return abs(self.y1_mm - self.y0_mm) <= 0.1 * abs(self.x1_mm - self.x0_mm)

    def y_mm(self, x_mm: FloatArray) -> FloatArray:
        slope = (self.y1_mm - self.y0_mm) / (self.x1_mm - self.x0_mm)
        return np.asarray(self.y0_mm + slope * (x_mm - self.x0_mm), dtype=float)


@dataclass(frozen=True, slots=True)
class Trace:
    """The ball's readings over a grid of x, or of y where the line runs across."""

    over_x: bool
    at_mm: FloatArray
    z_mm: FloatArray

    def read_mm(self, x_mm: FloatArray, y_mm: FloatArray) -> FloatArray:
        over = x_mm if self.over_x else y_mm
        return np.interp(over, self.at_mm, self.z_mm)


def trace(thing: OnRig, line: Line, radius_mm: float) -> Trace:
    """The trace of a ball of radius_mm, good for a carriage near the line."""
    if line.along_x and line.x0_mm != line.x1_mm:
        low, high = sorted((line.x0_mm, line.x1_mm))
        x_mm = np.arange(low - BEYOND_MM, high + BEYOND_MM, STEP_MM)
        return Trace(True, x_mm, _ridden_mm(thing, x_mm, line.y_mm(x_mm), radius_mm))
    if line.y0_mm != line.y1_mm:
        return _across(thing, line, radius_mm)
    x_mm = np.arange(line.x0_mm - BEYOND_MM, line.x0_mm + BEYOND_MM, STEP_MM)
    y_mm = np.full_like(x_mm, line.y0_mm)
    return Trace(True, x_mm, _ridden_mm(thing, x_mm, y_mm, radius_mm))


def _across(thing: OnRig, line: Line, radius_mm: float) -> Trace:
    """Point by point, each with a window of x of its own; a tenth of a mm or closer in y."""
    points = int(np.clip(abs(line.y1_mm - line.y0_mm) / 0.1, 2, 300))
    share = np.linspace(0.0, 1.0, points)
    if line.y1_mm < line.y0_mm:
        share = share[::-1]
    around = STEP_MM * np.arange(-110, 111)
    z_mm = np.empty(points)
    for point, part in enumerate(share.tolist()):
        x_mm = line.x0_mm + part * (line.x1_mm - line.x0_mm) + around
        y_mm = np.full_like(x_mm, line.y0_mm + part * (line.y1_mm - line.y0_mm))
        z_mm[point] = _ridden_mm(thing, x_mm, y_mm, radius_mm)[len(around) // 2]
    return Trace(False, line.y0_mm + share * (line.y1_mm - line.y0_mm), z_mm)


def _ridden_mm(thing: OnRig, x_mm: FloatArray, y_mm: FloatArray, radius_mm: float) -> FloatArray:
    """First across, then along: exact for paraboloids, and the order they separate in."""
    here = thing.surface_mm(x_mm, y_mm)
    left = thing.surface_mm(x_mm, y_mm - ACROSS_MM)
    right = thing.surface_mm(x_mm, y_mm + ACROSS_MM)
    slope = (right - left) / (2.0 * ACROSS_MM)
    curvature = (right - 2.0 * here + left) / ACROSS_MM**2
    # At an edge across (the board's side) a difference is no slope.
    smooth = np.abs(slope) < 1.0
    lifted = here + np.where(smooth, lift_across(slope, curvature, radius_mm), 0.0)
    with_strings = np.maximum(lifted, thing.strands_mm(x_mm, y_mm))
    return dilate_along(with_strings, STEP_MM, radius_mm)
