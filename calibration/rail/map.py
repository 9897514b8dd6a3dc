"""The rail's error as the rest of the room uses it: a value and its uncertainty at a place."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Protocol

import numpy as np
from scipy.interpolate import CubicSpline

from calibration.passes import FloatArray

#: Outside a map nothing is known; its uncertainty grows by this for each millimetre.
OUTSIDE_MM_PER_MM = 1e-3


class RailError(ValueError):
    """The scans do not show the rail's error."""


class Rail(Protocol):
    """Anything that knows the rail's error: a line along x, or a surface over x and y."""

    def at(self, x_mm: FloatArray, y_mm: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Error and its standard uncertainty at carriage positions, mm; float[n] each."""


@dataclass(frozen=True, slots=True)
class RailMap:
    """Straightness error over carriage position, up to a straight line.

    x_mm, r_mm, u_mm: float[cells]; reading = surface + r. `u_mm` holds the scatter of the
    reading and the straightedge's own error.
    """

    x_mm: FloatArray
    r_mm: FloatArray
    u_mm: FloatArray

    def at(self, x_mm: FloatArray, y_mm: FloatArray | None = None) -> tuple[FloatArray, FloatArray]:
        """Error and its standard uncertainty at carriage positions, mm; the same at every y.

        Outside the map its last value is held, and the uncertainty grows by a micrometre for
        each millimetre: nothing is known there, and that must show.
        """
        inside = np.clip(x_mm, self.x_mm[0], self.x_mm[-1])
        value = CubicSpline(self.x_mm, self.r_mm)(inside)
        u = np.interp(inside, self.x_mm, self.u_mm)
        return np.asarray(value), np.asarray(u + OUTSIDE_MM_PER_MM * np.abs(x_mm - inside))

    def to_document(self) -> dict[str, Any]:
        """Plain numbers, micrometres."""
        return {
            "x_mm": self.x_mm.tolist(),
            "r_um": (1e3 * self.r_mm).tolist(),
            "u_um": (1e3 * self.u_mm).tolist(),
        }

    @classmethod
    def from_document(cls, document: Mapping[str, Any]) -> RailMap:
        """Raises KeyError for a missing key, ValueError where the lists are no map."""
        x_mm = rising(document["x_mm"])
        r_mm, u_mm = (1e-3 * numbers(document[key], x_mm.shape) for key in ("r_um", "u_um"))
        return cls(x_mm, r_mm, u_mm)


def numbers(values: object, shape: tuple[int, ...]) -> FloatArray:
    """Finite numbers of this shape out of nested lists. Raises ValueError for anything else."""
    found = np.asarray(values, dtype=float)
    if found.shape != shape or not np.isfinite(found).all():
        raise ValueError(f"found numbers of shape {found.shape}; allowed: {shape}, all finite")
    return found


def rows_of(values: Sequence[object], width: int) -> FloatArray:
    """Any number of rows of so many numbers, none at all included. Raises ValueError."""
    return numbers(values, (len(values), width)) if len(values) else np.zeros((0, width))


def rising(values: object) -> FloatArray:
    """At least two positions, each beyond the one before. Raises ValueError otherwise."""
    x_mm = np.asarray(values, dtype=float)
    if x_mm.ndim != 1 or x_mm.size < 2 or not np.all(np.diff(x_mm) > 0.0):
        raise ValueError("x_mm must be two or more rising numbers")
    return x_mm
