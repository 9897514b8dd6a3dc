"""A straight line a string and one rod for all, as rows of a linear programme."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray
from scipy import sparse

from analysis.instrument import FloatArray


def line_rows(
    x_mm: FloatArray, rod_tops: FloatArray, fret: NDArray[np.int_], string: NDArray[np.int_]
) -> sparse.csr_array:
    """Height of each string's line less the rod's lift, at the places given.

    Columns: the line's height at fret 1 for every string, at the last fret for every string,
    and the relief the rod adds. x_mm, rod_tops: [frets, strings].
    """
    strings = x_mm.shape[1]
    share = ((x_mm - x_mm[0]) / (x_mm[-1] - x_mm[0]))[fret, string]
    weights = np.concatenate([1.0 - share, share, -rod_tops[fret, string]])
    columns = np.concatenate([string, strings + string, np.full(fret.size, 2 * strings)])
    rows = np.tile(np.arange(fret.size), 3)
    return sparse.csr_array((weights, (rows, columns)), shape=(fret.size, 2 * strings + 1))


def line_bounds(strings: int, most_relief_mm: float) -> list[tuple[float | None, float | None]]:
    """The lines are free, the rod is not."""
    free: list[tuple[float | None, float | None]] = [(None, None)] * (2 * strings)
    return [*free, (-most_relief_mm, most_relief_mm)]
