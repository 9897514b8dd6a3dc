"""All passes of a scan on one coarse grid, so that they can be searched at once."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.ndimage import maximum_filter1d

from analysis.instrument import FloatArray
from calibration.profile import Profile

#: A tenth of a crown's width: enough to find one, and to tell its middle to some micrometres.
CELL_MM = 0.2
#: Readings lost over less than this are lost readings, not a place where nothing is, mm.
LOST_MM = 0.6


@dataclass(frozen=True, slots=True)
class Cells:
    """Mean height in each cell of the travel.

    z_mm, seen: [passes, cells]; z is straight between what was read; seen where something was,
    LOST_MM off or nearer. from_mm: carriage position of the first cell's middle. went_mm:
    [passes, 2], from where to where the carriage went, read or not.
    """

    z_mm: FloatArray
    seen: NDArray[np.bool_]
    from_mm: float
    went_mm: FloatArray

    @property
    def x_mm(self) -> FloatArray:
        """float[cells], carriage positions of the cells' middles."""
        return self.from_mm + CELL_MM * np.arange(self.z_mm.shape[1])


def cells_of(profiles: Sequence[Profile]) -> Cells:
    """Lays every pass into cells. A pass without a reading is level and not seen."""
    went = np.array([[p.x_mm[0], p.x_mm[-1]] if p.x_mm.size else [0.0, 0.0] for p in profiles])
    low = float(went[:, 0].min())
    columns = int((float(went[:, 1].max()) - low) / CELL_MM) + 1
    total, count = np.zeros((2, len(profiles), columns))
    for row, one in enumerate(profiles):
        x, z = (one.x_mm, one.z_mm) if one.ok.all() else (one.x_mm[one.ok], one.z_mm[one.ok])
        column = ((x - low) * (1.0 / CELL_MM)).astype(np.intp)
        total[row] = np.bincount(column, weights=z, minlength=columns)
        count[row] = np.bincount(column, minlength=columns)
    seen = count > 0.0
    z = _filled(total / np.maximum(count, 1.0), seen)
    near = maximum_filter1d(seen, round(2.0 * LOST_MM / CELL_MM) | 1, axis=1)
    return Cells(z, near, low + 0.5 * CELL_MM, went)


def _filled(z: FloatArray, seen: NDArray[np.bool_]) -> FloatArray:
    columns = np.arange(z.shape[1])
    for row in np.flatnonzero(seen.any(axis=1) & ~seen.all(axis=1)):
        known = seen[row]
        z[row] = np.interp(columns, columns[known], z[row, known])
    return z
