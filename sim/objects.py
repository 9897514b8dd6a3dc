"""What can stand on the rig: a neck, a straightedge, nothing; always between its pads.

Everything here is in the carriage's frame: true x along the rail, y counted from the rig's
middle, z as the sensor would read it over a perfect rail.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Protocol

import numpy as np

from sim.instrument import FloatArray
from sim.neck import NOTHING_MM, Neck
from sim.stand import Stand
from sim.straightedge import HALF_WIDTH_MM, LENGTH_MM, EdgeShape, Turned
from sim.strings import Strings

Peak = tuple[float, float]


class OnRig(Protocol):
    """A thing with a surface; x and y are float[n], so is z."""

    def surface_mm(self, x_mm: FloatArray, y_mm: FloatArray) -> FloatArray: ...

    def strands_mm(self, x_mm: FloatArray, y_mm: FloatArray, tip_mm: float) -> FloatArray:
        """Strings as a tip of this radius meets them; a radius of 0 is a ray of light."""
        ...

    def peaks_mm(self) -> tuple[Peak, ...]:
        """(x, z) of what is too sharp for a grid of x."""
        ...


class Empty:
    """Nothing but the bed of the rig, out of reach."""

    def surface_mm(self, x_mm: FloatArray, y_mm: FloatArray) -> FloatArray:
        return np.full_like(x_mm, NOTHING_MM)

    def strands_mm(self, x_mm: FloatArray, y_mm: FloatArray, tip_mm: float) -> FloatArray:
        return np.full_like(x_mm, NOTHING_MM)

    def peaks_mm(self) -> tuple[Peak, ...]:
        return ()


class Straightedge(Empty):
    """570 mm long, 60 mm wide about y_mm, as straight as its shape says."""

    def __init__(self, shape: EdgeShape, turned: Turned, y_mm: float, stand: Stand) -> None:
        self._shape = shape
        self._turned = turned
        self._y_mm = y_mm
        self._stand = stand

    def surface_mm(self, x_mm: FloatArray, y_mm: FloatArray) -> FloatArray:
        along, aside = x_mm - self._stand.at_mm, y_mm - self._y_mm
        z = self._shape.shape_mm(along, self._turned) + self._stand.lift_mm(along, aside)
        on = (along >= 0.0) & (along <= LENGTH_MM) & (np.abs(aside) <= HALF_WIDTH_MM)
        return np.where(on, z, NOTHING_MM)


class NeckOnRig(Empty):
    """The neck's frame moved into the carriage's; strings only when it has them."""

    def __init__(self, neck: Neck, strings: Strings | None, stand: Stand) -> None:
        self._neck = neck
        self._strings = strings
        self._stand = stand

    def surface_mm(self, x_mm: FloatArray, y_mm: FloatArray) -> FloatArray:
        along = x_mm - self._stand.at_mm
        return self._neck.surface_mm(along, y_mm) + self._stand.lift_mm(along, y_mm)

    def strands_mm(self, x_mm: FloatArray, y_mm: FloatArray, tip_mm: float) -> FloatArray:
        if self._strings is None:
            return np.full_like(x_mm, NOTHING_MM)
        along = x_mm - self._stand.at_mm
        z = self._strings.strands_mm(self._neck, along, y_mm, tip_mm)
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

    def strands_mm(self, x_mm: FloatArray, y_mm: FloatArray, tip_mm: float) -> FloatArray:
        return self._thing.strands_mm(x_mm, y_mm, tip_mm)

    def peaks_mm(self) -> tuple[Peak, ...]:
        return self._thing.peaks_mm()
