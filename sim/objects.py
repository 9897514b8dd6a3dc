"""What can stand on the rig: a neck, a straightedge, nothing; always between its pads.

Everything here is in the carriage's frame: true x along the rail, y counted from the rig's
middle, z as the sensor would read it over a perfect rail.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Protocol

import numpy as np
from numpy.random import Generator

from sim.instrument import FloatArray
from sim.neck import NOTHING_MM, Neck
from sim.strings import Strings


class OnRig(Protocol):
    """A thing with a surface; x and y are float[n], so is z."""

    def surface_mm(self, x_mm: FloatArray, y_mm: FloatArray) -> FloatArray: ...

    def strands_mm(self, x_mm: FloatArray, y_mm: FloatArray) -> FloatArray: ...


@dataclass(frozen=True, slots=True)
class Stand:
    """How a thing stands: where its x = 0 is, how high, and how it leans along and across."""

    at_mm: float
    up_mm: float
    tilt: float
    roll: float

    def lift_mm(self, along_mm: FloatArray, y_mm: FloatArray) -> FloatArray:
        return np.asarray(self.up_mm + self.tilt * along_mm + self.roll * y_mm, dtype=float)


def draw_stand(at_mm: float, up_mm: float, rng: Generator) -> Stand:
    """A person cannot put it down twice alike: 0.3 mm, a fifth of a mm over the length."""
    return Stand(
        at_mm=at_mm + rng.uniform(-0.3, 0.3),
        up_mm=up_mm + rng.uniform(-0.2, 0.2),
        tilt=rng.uniform(-0.0004, 0.0004),
        roll=rng.uniform(-0.001, 0.001),
    )


class Empty:
    """Nothing but the bed of the rig, out of reach."""

    def surface_mm(self, x_mm: FloatArray, y_mm: FloatArray) -> FloatArray:
        return np.full_like(x_mm, NOTHING_MM)

    def strands_mm(self, x_mm: FloatArray, y_mm: FloatArray) -> FloatArray:
        return np.full_like(x_mm, NOTHING_MM)


class Straightedge(Empty):
    """570 mm long, straight within 0.3 um from highest to lowest."""

    length_mm = 570.0

    def __init__(self, stand: Stand) -> None:
        self._stand = stand

    def surface_mm(self, x_mm: FloatArray, y_mm: FloatArray) -> FloatArray:
        along = x_mm - self._stand.at_mm
        shape = 0.00015 * np.sin(2.0 * np.pi * along / self.length_mm)
        on = (along >= 0.0) & (along <= self.length_mm)
        return np.where(on, shape + self._stand.lift_mm(along, y_mm), NOTHING_MM)


class NeckOnRig:
    """The neck's frame moved into the carriage's; strings only when it has them."""

    def __init__(self, neck: Neck, strings: Strings | None, stand: Stand) -> None:
        self._neck = neck
        self._strings = strings
        self._stand = stand

    def surface_mm(self, x_mm: FloatArray, y_mm: FloatArray) -> FloatArray:
        along = x_mm - self._stand.at_mm
        return self._neck.surface_mm(along, y_mm) + self._stand.lift_mm(along, y_mm)

    def strands_mm(self, x_mm: FloatArray, y_mm: FloatArray) -> FloatArray:
        if self._strings is None:
            return np.full_like(x_mm, NOTHING_MM)
        along = x_mm - self._stand.at_mm
        z = self._strings.strands_mm(self._neck, along, y_mm)
        return z + self._stand.lift_mm(along, y_mm)


class WithPads:
    """The rig's ground pads, level, and whatever stands between them."""

    def __init__(
        self, thing: OnRig, pads_mm: Sequence[tuple[float, float]], heights_mm: Sequence[float]
    ) -> None:
        self._thing = thing
        self._pads = tuple(zip(pads_mm, heights_mm, strict=True))

    def surface_mm(self, x_mm: FloatArray, y_mm: FloatArray) -> FloatArray:
        z = self._thing.surface_mm(x_mm, y_mm)
        for (from_mm, to_mm), height_mm in self._pads:
            z = np.where((x_mm >= from_mm) & (x_mm <= to_mm), np.maximum(z, height_mm), z)
        return z

    def strands_mm(self, x_mm: FloatArray, y_mm: FloatArray) -> FloatArray:
        return self._thing.strands_mm(x_mm, y_mm)
