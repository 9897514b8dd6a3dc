"""The rail's own straightness error, from a scanned straightedge."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.interpolate import CubicSpline

from calibration.passes import FloatArray, Pad
from calibration.profile import Profile

#: Cell of the map. Half a millimetre keeps waves down to 4 mm long within 3 %.
CELL_MM = 0.5
#: A straightedge's surface never steps more than this between cells.
STEP_MM = 0.02
#: Left out at each end of the straightedge: the ball rounds its edge.
END_MM = 2.0
#: A reference shorter than this is not a straightedge.
SHORTEST_MM = 100.0


class RailError(ValueError):
    """The scan does not show a straightedge."""


@dataclass(frozen=True, slots=True)
class RailMap:
    """Straightness error over carriage position, up to a straight line.

    x_mm, r_mm, u_mm: float[cells]; reading = surface + r. `u_mm` holds the scatter of the
    reading and the straightedge's own error.
    """

    x_mm: FloatArray
    r_mm: FloatArray
    u_mm: FloatArray

    def at(self, x_mm: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Error and its standard uncertainty at carriage positions, mm.

        Outside the map its last value is held, and the uncertainty grows by a micrometre for
        each millimetre: nothing is known there, and that must show.
        """
        inside = np.clip(x_mm, self.x_mm[0], self.x_mm[-1])
        value = CubicSpline(self.x_mm, self.r_mm)(inside)
        u = np.interp(inside, self.x_mm, self.u_mm) + 1e-3 * np.abs(x_mm - inside)
        return np.asarray(value), np.asarray(u)


def _cells(profiles: Sequence[Profile]) -> tuple[FloatArray, FloatArray, FloatArray, FloatArray]:
    """Centre, mean, scatter and count of each cell's readings over all passes."""
    x = np.concatenate([p.x_mm[p.ok] for p in profiles])
    z = np.concatenate([p.z_mm[p.ok] for p in profiles])
    start = np.floor(x.min() / CELL_MM) * CELL_MM
    cell = ((x - start) / CELL_MM).astype(int)
    count = np.bincount(cell)
    filled = count >= 3
    order = np.argsort(cell, kind="stable")
    edges = np.cumsum(count)[:-1]
    median = np.array([np.median(c) if c.size else np.nan for c in np.split(z[order], edges)])
    off = np.abs(z - median[cell])
    typical = 1.4826 * float(np.median(off))
    keep = off <= max(6.0 * typical, 0.01)
    n = np.maximum(np.bincount(cell[keep], minlength=count.size), 1)
    mean = np.bincount(cell[keep], z[keep], minlength=count.size) / n
    middle = np.bincount(cell[keep], x[keep], minlength=count.size) / n
    square = np.bincount(cell[keep], (z[keep] - mean[cell[keep]]) ** 2, minlength=count.size)
    scatter = np.sqrt(square / np.maximum(n - 1, 1))
    return middle[filled], mean[filled], scatter[filled], n[filled].astype(float)


def _longest_even_run(x_mm: FloatArray, z_mm: FloatArray) -> NDArray[np.bool_]:
    """Marks the longest stretch without a hole or a step."""
    breaks = (np.diff(x_mm) > 3 * CELL_MM) | (np.abs(np.diff(z_mm)) > STEP_MM)
    run = np.concatenate([[0], np.cumsum(breaks)])
    longest = np.argmax(np.bincount(run))
    return np.asarray(run == longest)


def fit_rail(profiles: Sequence[Profile], pads: Sequence[Pad], straightedge_um: float) -> RailMap:
    """Error map from passes over a straightedge, corrected for drift and lag but not rail.

    The reading over a perfect straightedge is the rail's error and a straight line, which is
    taken off by least squares. The straightedge's own error cannot be told from the rail's by
    this scan; `straightedge_um`, its standard uncertainty, stands in the map's uncertainty.

    Raises RailError where no even surface at least 100 mm long is found between the pads.
    """
    if not any(p.ok.any() for p in profiles):
        raise RailError("no valid reading at all; is the straightedge in the sensor's range?")
    cells = np.array(_cells(profiles))
    between = np.ones(cells.shape[1], dtype=bool)
    for pad in pads:
        between &= (cells[0] < pad.from_mm - END_MM) | (cells[0] > pad.to_mm + END_MM)
    cells = cells[:, between]
    if cells.shape[1] == 0:
        raise RailError("no readings between the pads; is the straightedge on the rig?")
    cells = cells[:, _longest_even_run(cells[0], cells[1])]
    x, z, scatter, count = cells[
        :, (cells[0] > cells[0, 0] + END_MM) & (cells[0] < cells[0, -1] - END_MM)
    ]
    if x.size == 0 or x[-1] - x[0] < SHORTEST_MM:
        found = 0.0 if x.size == 0 else float(x[-1] - x[0])
        raise RailError(
            f"the longest even surface is {found:.0f} mm long; a straightedge must show at least "
            f"{SHORTEST_MM:.0f} mm without a step over {1000 * STEP_MM:.0f} µm; "
            "is a neck on the rig?"
        )
    slope, offset = np.polyfit(x, z, 1)
    # one scatter for all: a cell of a handful of readings cannot know its own
    u_all = np.sqrt(np.median(scatter) ** 2 / count + (1e-3 * straightedge_um) ** 2)
    return RailMap(x, z - (offset + slope * x), u_all)
