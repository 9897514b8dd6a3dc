"""Readings gathered into cells of carriage position, and the even surface among them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.special import chdtri

from calibration.passes import FloatArray, Pad
from calibration.profile import Profile
from calibration.rail.map import RailError

#: Cell of the map. Half a millimetre keeps waves down to 4 mm long within 3 %.
CELL_MM = 0.5
#: A straightedge's surface never steps more than this between cells.
STEP_MM = 0.02
#: Left out at each end of the straightedge: the ball rounds its edge.
END_MM = 2.0
#: A reference shorter than this is not a straightedge.
SHORTEST_MM = 100.0


@dataclass(frozen=True, slots=True)
class Cells:
    """Mean readings. x_mm, z_mm: float[cells]; u_mm: of each mean, from the readings' scatter."""

    x_mm: FloatArray
    z_mm: FloatArray
    u_mm: FloatArray

    @property
    def number(self) -> NDArray[np.int_]:
        """Each cell's number, the same for every scan of a rig."""
        return cell_number(self.x_mm)

    def take(self, chosen: NDArray[np.bool_]) -> Cells:
        return Cells(self.x_mm[chosen], self.z_mm[chosen], self.u_mm[chosen])


def cell_number(x_mm: FloatArray) -> NDArray[np.int_]:
    """Which cell a carriage position falls in."""
    return np.asarray(np.floor(x_mm / CELL_MM), dtype=int)


def cell_middle(number: NDArray[np.int_]) -> FloatArray:
    return np.asarray((number + 0.5) * CELL_MM)


def gather_cells(profiles: Sequence[Profile]) -> Cells:
    """Cells with three readings or more over all passes, wild readings left out.

    A cell of a handful of readings cannot know its own scatter, so all share one: the median of
    the cells' variances, each over the median of its chi-square. With a median deviation of
    zero (quantised readings) only what is 10 um off is wild.
    """
    x = np.concatenate([p.x_mm[p.ok] for p in profiles])
    z = np.concatenate([p.z_mm[p.ok] for p in profiles])
    cell = cell_number(x) - cell_number(x.min(keepdims=True))[0]
    size = int(cell.max()) + 1
    count = np.bincount(cell)
    off = np.abs(z - _medians(cell, z, count)[cell])
    keep = off <= max(6.0 * 1.4826 * float(np.median(off)), 0.01)
    cell, x, z = cell[keep], x[keep], z[keep]
    n = np.bincount(cell, minlength=size)
    filled = (count >= 3) & (n >= 2)
    n_safe = np.maximum(n, 1)
    mean = np.bincount(cell, z, minlength=size) / n_safe
    square = np.bincount(cell, (z - mean[cell]) ** 2, minlength=size)
    middle = np.bincount(cell, x, minlength=size) / n_safe
    n, square = n[filled], square[filled]
    variance = float(np.median(square / chdtri(n - 1, 0.5))) if n.size else 0.0
    return Cells(middle[filled], mean[filled], np.sqrt(variance / n))


def _medians(cell: NDArray[np.int_], z_mm: FloatArray, count: NDArray[np.int_]) -> FloatArray:
    """Of each cell, float[cells]; NaN where there is no reading."""
    in_order = np.append(z_mm[np.lexsort((z_mm, cell))], np.nan)
    start = np.cumsum(count) - count
    low, high = start + np.maximum(count - 1, 0) // 2, start + count // 2
    return np.where(count > 0, 0.5 * (in_order[low] + in_order[high]), np.nan)


def off_pads(x_mm: FloatArray, pads: Sequence[Pad]) -> NDArray[np.bool_]:
    """Marks positions clear of every pad."""
    clear = np.ones(x_mm.shape, dtype=bool)
    for pad in pads:
        clear &= (x_mm < pad.from_mm - END_MM) | (x_mm > pad.to_mm + END_MM)
    return clear


def _longest_even_run(x_mm: FloatArray, z_mm: FloatArray) -> NDArray[np.bool_]:
    """Marks the longest stretch without a hole or a step."""
    breaks = (np.diff(x_mm) > 3 * CELL_MM) | (np.abs(np.diff(z_mm)) > STEP_MM)
    run = np.concatenate([[0], np.cumsum(breaks)])
    return np.asarray(run == np.argmax(np.bincount(run)))


def even_surface(profiles: Sequence[Profile], pads: Sequence[Pad]) -> Cells:
    """The longest even surface between the pads, its ends left out.

    Raises RailError where none at least 100 mm long is found.
    """
    if not any(p.ok.any() for p in profiles):
        raise RailError("no valid reading at all; is the straightedge in the sensor's range?")
    cells = gather_cells(profiles)
    cells = cells.take(off_pads(cells.x_mm, pads))
    if cells.x_mm.size == 0:
        raise RailError("no readings between the pads; is the straightedge on the rig?")
    cells = cells.take(_longest_even_run(cells.x_mm, cells.z_mm))
    x = cells.x_mm
    cells = cells.take((x > x[0] + END_MM) & (x < x[-1] - END_MM))
    found = 0.0 if cells.x_mm.size == 0 else float(cells.x_mm[-1] - cells.x_mm[0])
    if found < SHORTEST_MM:
        raise RailError(
            f"the longest even surface is {found:.0f} mm long; a straightedge must show at least "
            f"{SHORTEST_MM:.0f} mm without a step over {1000 * STEP_MM:.0f} µm; "
            "is a neck on the rig?"
        )
    return cells
