"""Drift from the neck itself: a lane passed there and straight back was seen twice.

z there - z back = d(t there) - d(t back), whatever the surface: what the pads cannot tell,
how the sensor drifted between them. It shows what is odd about the turn, and nothing of what is
alike on both sides of it; that much only the smoothness of drift can tell.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from calibration.drift.pads import robust_mean
from calibration.passes import FloatArray, Pad, RawPass

#: Stretches of a lane, evenly between the pads, each one difference. They are short, for drift
#: goes on while they are passed.
STRETCHES = 4
STRETCH_MM = 40.0
#: Heights are compared in cells of this length.
CELL_MM = 0.5
#: Where the surface is steeper than this, lag and backlash show, and it is left out.
STEEPEST = 0.02
#: Fewer cells than this tell nothing of a stretch.
LEAST_CELLS = 20


@dataclass(frozen=True, slots=True)
class Turns:
    """Differences of a pass and the next one back over the same lane.

    there_s, back_s, x_mm, dz_mm, u_mm: float[n], means over each stretch. turn: int[n], the
    number of the pass there.
    """

    there_s: FloatArray
    back_s: FloatArray
    x_mm: FloatArray
    dz_mm: FloatArray
    u_mm: FloatArray
    turn: FloatArray

    @classmethod
    def none(cls) -> Turns:
        """Where no lane was passed there and back."""
        return cls(*np.empty((6, 0)))


def see_turns(passes: Sequence[RawPass], pads: Sequence[Pad]) -> Turns:
    """Every lane passed there and straight back, between the outermost pads."""
    if len(pads) < 2:
        return Turns.none()
    edges = np.linspace(min(p.to_mm for p in pads), max(p.from_mm for p in pads), STRETCHES + 1)
    pairs = enumerate(pairwise(passes))
    rows = [
        (*stretch, i) for i, pair in pairs if _belong(*pair) for stretch in _stretches(*pair, edges)
    ]
    return Turns(*np.array(rows, dtype=float).T) if rows else Turns.none()


def _belong(there: RawPass, back: RawPass) -> bool:
    # only there and back: between back and there again the neck may have been moved
    return (
        there.lane == back.lane
        and there.direction > 0 > back.direction
        and there.speed_mm_s == back.speed_mm_s
    )


def _stretches(there: RawPass, back: RawPass, edges_mm: FloatArray) -> list[tuple[float, ...]]:
    if not edges_mm[-1] - edges_mm[0] > CELL_MM:
        return []
    cells = np.arange(edges_mm[0], edges_mm[-1], CELL_MM)
    (t1, z1), (t2, z2) = (_cells(one, cells) for one in (there, back))
    middle = cells[:-1] + 0.5 * CELL_MM
    even = np.isfinite(z1 - z2) & _even(z1) & _even(z2)
    found = []
    for at_mm in 0.5 * (edges_mm[1:] + edges_mm[:-1]):
        own = even & (np.abs(middle - at_mm) < 0.5 * STRETCH_MM)
        if np.count_nonzero(own) >= LEAST_CELLS:
            dz, u = robust_mean((z1 - z2)[own])
            found.append((*(float(np.mean(a[own])) for a in (t1, t2, middle)), dz, u))
    return found


def _cells(one: RawPass, cells_mm: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Mean time and height of a pass in each cell, NaN in empty ones."""
    ok = np.isfinite(one.z_mm)
    which = np.searchsorted(cells_mm, one.x_mm[ok], side="right") - 1
    count = cells_mm.size - 1
    inside = (which >= 0) & (which < count)
    which = which[inside]
    number = np.bincount(which, minlength=count)
    with np.errstate(invalid="ignore"):
        t, z = (np.bincount(which, a[ok][inside], count) / number for a in (one.t_s, one.z_mm))
    return t, z


def _even(z_mm: FloatArray) -> NDArray[np.bool_]:
    """Whether a cell's neighbours stand at nearly its own height; bool[n]."""
    rise = np.abs(np.diff(z_mm)) < STEEPEST * CELL_MM
    return np.asarray(np.concatenate([[False], rise]) & np.concatenate([rise, [False]]))
