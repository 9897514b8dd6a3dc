"""How much say each reading has when passes are laid over one another."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from calibration.passes import FloatArray

#: Length over which readings must scatter like all the others, or they and the next say less.
CELL_MM = 0.25
#: A cell whose scatter is more than this many times what is due holds an edge, a corner, a string.
ODD_CELL = 2.0
#: From the first to the second of these deviations off the surface, a reading loses its say.
WILD = (4.0, 6.0)
#: Steeper flanks than this are edges the ball falls off, not shapes it rides over.
STEEPEST = 3.0
#: The say of a reading left out: enough to hold the spline, too little to move anything.
NO_SAY = 1e-7
#: Median of the square of a standard normal deviate.
_MEDIAN_SQUARE = 0.4549
_LEAST_NOISE_MM = 1e-5


def even_noise_mm(off_mm: FloatArray, slope: FloatArray) -> float:
    """Noise of a height, from the median where the surface is more even than not.

    off_mm, slope: float[n], readings off the surface and its slope there. Has a floor of 10 nm,
    where quantised readings agree to the digit.
    """
    steep = np.abs(slope)
    off = off_mm[steep <= np.median(steep)]
    return max(1.4826 * float(np.median(np.abs(off - np.median(off)))), _LEAST_NOISE_MM)


def say(
    place_mm: FloatArray, off_mm: FloatArray, due_mm: FloatArray, slope: FloatArray
) -> FloatArray:
    """From 1 to next to nothing: little at edges and in odd cells, none for wild readings.

    off_mm: readings off the surface; due_mm: the standard deviation they are due; slope: the
    surface's there; float[n]. Within 4 deviations and in fair cells all is 1, which keeps the
    covariance plain: no reading's say depends on it. Odd cells are turned down and not off: the
    surface must go on following them, or its neighbours would turn odd as well.
    """
    far = (off_mm / due_mm) ** 2
    odd = _odd(place_mm, far)
    fair = np.interp(np.sqrt(far / odd), WILD, (1.0, NO_SAY))
    edge = np.maximum(np.abs(slope) / STEEPEST, 1.0) ** 4
    return np.asarray(np.maximum(fair / (odd * edge), NO_SAY))


def _odd(place_mm: FloatArray, far: FloatArray) -> FloatArray:
    """By how much each reading's cell, or one beside it, scatters more than is fair; 1 or more.

    far: squares of deviations; their median in a cell does not see single spikes.
    """
    cell = ((place_mm - place_mm.min()) / CELL_MM).astype(int)
    power = _medians(cell, far) / (_MEDIAN_SQUARE * ODD_CELL**2)
    beside = np.maximum(power, np.maximum(np.roll(power, 1), np.roll(power, -1)))
    return np.asarray(np.maximum(beside, 1.0)[cell])


def _medians(cell: NDArray[np.int_], values: FloatArray) -> FloatArray:
    """float[cells]: the (upper) median of the values in each cell, 0 in an empty one."""
    # by value, then by cell: numbers that are small as a type are sorted without comparing them
    order = np.argsort(values)
    small = cell.astype(np.min_scalar_type(int(cell.max())))
    order = order[np.argsort(small[order], kind="stable")]
    count = np.bincount(cell)
    middle = np.cumsum(count) - count + count // 2
    return np.asarray(np.where(count > 0, values[order][np.minimum(middle, values.size - 1)], 0.0))
