"""What the sensor meets along a straight line over whatever stands on the rig."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from sim.eye import STEP_MM, Eye
from sim.instrument import FloatArray
from sim.objects import OnRig

# Beyond the line's ends: the ball's own reach, and where a lagging sensor still looks.
BEYOND_MM = 2.5


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
    """The readings over a grid of x, or of y where the line runs across."""

    over_x: bool
    at_mm: FloatArray
    z_mm: FloatArray

    def read_mm(self, x_mm: FloatArray, y_mm: FloatArray) -> FloatArray:
        over = x_mm if self.over_x else y_mm
        return np.interp(over, self.at_mm, self.z_mm)


def trace(thing: OnRig, line: Line, eye: Eye) -> Trace:
    """What this eye reads, good for a carriage near the line."""
    if line.along_x and line.x0_mm != line.x1_mm:
        low, high = sorted((line.x0_mm, line.x1_mm))
        x_mm = np.arange(low - BEYOND_MM, high + BEYOND_MM, STEP_MM)
        return Trace(True, x_mm, eye.reads_mm(thing, x_mm, line.y_mm(x_mm)))
    if line.y0_mm != line.y1_mm:
        return _across(thing, line, eye)
    x_mm = np.arange(line.x0_mm - BEYOND_MM, line.x0_mm + BEYOND_MM, STEP_MM)
    return Trace(True, x_mm, eye.reads_mm(thing, x_mm, np.full_like(x_mm, line.y0_mm)))


def _across(thing: OnRig, line: Line, eye: Eye) -> Trace:
    """Point by point, each with a window of x of its own; a tenth of a mm or closer in y."""
    points = int(np.clip(abs(line.y1_mm - line.y0_mm) / 0.1, 2, 300))
    share = np.linspace(0.0, 1.0, points)
    if line.y1_mm < line.y0_mm:
        share = share[::-1]
    half = round(eye.reach_mm / STEP_MM) + 10
    around = STEP_MM * np.arange(-half, half + 1)
    z_mm = np.empty(points)
    for point, part in enumerate(share.tolist()):
        x_mm = line.x0_mm + part * (line.x1_mm - line.x0_mm) + around
        y_mm = np.full_like(x_mm, line.y0_mm + part * (line.y1_mm - line.y0_mm))
        z_mm[point] = eye.reads_mm(thing, x_mm, y_mm)[half]
    return Trace(False, line.y0_mm + share * (line.y1_mm - line.y0_mm), z_mm)
