"""What is put under the sensor because its size is known: gauge block, pin, sharp edge."""

from __future__ import annotations

import numpy as np

from sim.instrument import FloatArray
from sim.objects import Empty, Peak

BED_MM = 0.0
"""Height of the flat that pins and edges lie on; a gauge block stands over it as well."""
EDGE_MM = 2.0
FLANK = 3.7320508
"""tan 75 degrees: a blade of 30 degrees."""


class Gauge(Empty):
    """A flat as high as it is thick, under the tip wherever the carriage stands."""

    def __init__(self, thick_mm: float) -> None:
        self._thick_mm = thick_mm

    def surface_mm(self, x_mm: FloatArray, y_mm: FloatArray) -> FloatArray:
        return np.full_like(x_mm, BED_MM + self._thick_mm)


class Pin(Empty):
    """A cylinder across the rail, lying on a flat."""

    def __init__(self, diameter_mm: float, at_mm: float) -> None:
        self._radius_mm = 0.5 * diameter_mm
        self._at_mm = at_mm

    def surface_mm(self, x_mm: FloatArray, y_mm: FloatArray) -> FloatArray:
        radius, away = self._radius_mm, x_mm - self._at_mm
        circle = radius + np.sqrt(np.clip(radius**2 - away**2, 0.0, None))
        return np.where(np.abs(away) < radius, BED_MM + circle, BED_MM)


class Edge(Empty):
    """A blade across the rail, edge up, of no radius, on a flat."""

    def __init__(self, at_mm: float) -> None:
        self._at_mm = at_mm

    def surface_mm(self, x_mm: FloatArray, y_mm: FloatArray) -> FloatArray:
        return np.maximum(BED_MM, EDGE_MM - FLANK * np.abs(x_mm - self._at_mm))

    def peaks_mm(self) -> tuple[Peak, ...]:
        return ((self._at_mm, EDGE_MM),)
