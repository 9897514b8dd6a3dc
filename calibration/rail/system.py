"""The least squares behind several offsets: rail, object, and every pass's own three numbers.

A reading of pass k at carriage X is R(X) + N(X - d_k) + c_k + b_k X, and a pass that stands
s_k further to the right than d_k adds -N'(X - d_k) s_k. R is straight between the middles of
its cells, N a cubic B-spline. N's normal matrix is banded and is eliminated first; what remains
is as large as the rail.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.linalg import solveh_banded
from scipy.sparse import csr_array, hstack

from calibration.passes import FloatArray
from calibration.rail.cells import CELL_MM
from calibration.rail.spline import ObjectSpline, interval, value_weights

#: Readings that an interval of the object or a cell of the rail needs to count.
LEAST = 3


@dataclass(frozen=True, slots=True)
class Readings:
    """Every reading of every pass. float[n] each; number: int[n], its pass, from 0.

    d_mm: where the object of its pass stands; weight: inverse variance.
    """

    x_mm: FloatArray
    z_mm: FloatArray
    d_mm: FloatArray
    weight: FloatArray
    number: NDArray[np.int_]

    @property
    def on_object_mm(self) -> FloatArray:
        return np.asarray(self.x_mm - self.d_mm)

    @property
    def left_cell(self) -> NDArray[np.int_]:
        """Number of the cell whose middle lies to the left."""
        return np.asarray(np.floor(self.x_mm / CELL_MM - 0.5), dtype=int)

    def take(self, chosen: NDArray[np.bool_]) -> Readings:
        columns = (self.x_mm, self.z_mm, self.d_mm, self.weight)
        x, z, d, weight = (column[chosen] for column in columns)
        return Readings(x, z, d, weight, self.number[chosen])


@dataclass(frozen=True, slots=True)
class Solution:
    """cells: int[cells], numbers of the rail's; information: float[cells, cells], of the rail
    with everything else eliminated; right: information times rail. shift_mm: float[passes].
    spline: the object. off_mm: float[n], each reading over what was fitted. unknowns: of all.
    """

    cells: NDArray[np.int_]
    information: FloatArray
    right: FloatArray
    shift_mm: FloatArray
    spline: ObjectSpline
    off_mm: FloatArray
    unknowns: int


def countable(readings: Readings) -> NDArray[np.bool_]:
    """Marks readings whose interval of the object and cell of the rail have enough of them."""
    weighing = readings.weight > 0.0
    object_, rail = interval(readings.on_object_mm)[0], readings.left_cell
    while True:
        keep = weighing.copy()
        keep[weighing] = _enough(object_[weighing]) & _enough(rail[weighing])
        if np.array_equal(keep, weighing):
            return keep
        weighing = keep


def _enough(numbers: NDArray[np.int_]) -> NDArray[np.bool_]:
    if numbers.size == 0:
        return np.zeros(0, dtype=bool)
    from_first = numbers - numbers.min()
    return np.asarray(np.bincount(from_first)[from_first] >= LEAST)


def solve(readings: Readings, slope: FloatArray, u_shift_mm: FloatArray) -> Solution:
    """Weighted least squares over countable readings.

    slope: float[n], of the object under each reading, from the round before; zeros hold the
    shifts. u_shift_mm: float[passes], what is known of each pass's place.
    """
    cells = np.unique(np.concatenate([readings.left_cell, readings.left_cell + 1]))
    rest = hstack([_rail(readings, cells), _passes(readings, slope, u_shift_mm.size)]).tocsr()
    number, f = interval(readings.on_object_mm)
    knots = np.unique(number[:, None] + np.arange(4))
    columns = np.searchsorted(knots, number[:, None] + np.arange(4))
    value = _rows(value_weights(f), columns, knots.size)
    reduced, right, through, through_right = _eliminated(readings, value, rest)
    m, k = cells.size, u_shift_mm.size
    shifts = np.arange(m + 2 * k, m + 3 * k)
    reduced[shifts, shifts] += u_shift_mm**-2.0
    # heights and tilts common to all passes are the object's too: a pseudo-inverse
    own = np.linalg.pinv(reduced[m:, m:], rcond=1e-10, hermitian=True)
    gain = reduced[:m, m:] @ own
    information = reduced[:m, :m] - gain @ reduced[m:, :m]
    information = 0.5 * (information + information.T)
    remaining = right[:m] - gain @ right[m:]
    rail = _any_rail(information, remaining)
    others = np.concatenate([rail, own @ (right[m:] - reduced[m:, :m] @ rail)])
    found = through_right - through @ others
    off = readings.z_mm - value @ found - rest @ others
    whole = np.zeros(int(knots[-1] - knots[0]) + 1)
    whole[knots - knots[0]] = found
    spline = ObjectSpline(int(knots[0]), whole)
    unknowns = knots.size + m + 3 * k
    return Solution(cells, information, remaining, others[shifts], spline, off, unknowns)


def _rail(readings: Readings, cells: NDArray[np.int_]) -> csr_array:
    """Straight between the middles of cells; [n, cells]."""
    left = readings.left_cell
    share = readings.x_mm / CELL_MM - 0.5 - left
    columns = np.searchsorted(cells, np.column_stack([left, left + 1]))
    return _rows(np.column_stack([1.0 - share, share]), columns, cells.size)


def _passes(readings: Readings, slope: FloatArray, passes: int) -> csr_array:
    """Height, tilt over half the rail, and shift of each pass; [n, 3 passes]."""
    low, high = readings.x_mm.min(), readings.x_mm.max()
    tilt = (2.0 * readings.x_mm - low - high) / (high - low)
    columns = readings.number[:, None] + passes * np.arange(3)
    return _rows(np.column_stack([np.ones_like(tilt), tilt, -slope]), columns, 3 * passes)


def _rows(values: FloatArray, columns: NDArray[np.int_], width: int) -> csr_array:
    starts = np.arange(0, values.size + 1, values.shape[1])
    return csr_array((values.ravel(), columns.ravel(), starts), shape=(values.shape[0], width))


def _eliminated(
    readings: Readings, value: csr_array, rest: csr_array
) -> tuple[FloatArray, FloatArray, FloatArray, FloatArray]:
    """Normal matrix and right side of the rest without the object, and how to get it back."""
    weigh = readings.weight[:, None]
    weighted = value.multiply(weigh).tocsr()
    cross = weighted.T @ rest
    right = np.asarray(weighted.T @ readings.z_mm)
    normal = weighted.T @ value
    bands = np.zeros((4, right.size))
    for k in range(4):
        bands[3 - k, k:] = normal.diagonal(k)
    solved = solveh_banded(bands, np.column_stack([cross.toarray(), right]))
    through, through_right = solved[:, :-1], solved[:, -1]
    reduced = (rest.T @ rest.multiply(weigh)).toarray() - cross.T @ through
    left = np.asarray(rest.T @ (readings.weight * readings.z_mm)) - cross.T @ through_right
    return reduced, np.asarray(left), through, through_right


def _any_rail(information: FloatArray, right: FloatArray) -> FloatArray:
    """One rail of the many that fit as well; only fitted readings and the object hang on it."""
    damping = 1e-9 * float(np.trace(information)) / len(information)
    return np.asarray(np.linalg.solve(information + damping * np.eye(len(information)), right))
