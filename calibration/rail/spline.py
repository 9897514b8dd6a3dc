"""A cubic B-spline over an object's length, with gaps where nothing was read."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from calibration.passes import FloatArray

#: Spacing of its knots: a crown ridden by a ball is followed within 0.1 um.
KNOT_MM = 0.25


@dataclass(frozen=True, slots=True)
class ObjectSpline:
    """first: number of the knot interval that the first four of `coefficients` span."""

    first: int
    coefficients: FloatArray

    def slope(self, on_object_mm: FloatArray) -> FloatArray:
        """Rise by mm, float[n]."""
        number, f = interval(on_object_mm)
        four = self._place(number)[:, None] + np.arange(4)
        return np.asarray(np.sum(slope_weights(f) * self.coefficients[four], axis=1) / KNOT_MM)

    def kink(self, on_object_mm: FloatArray) -> FloatArray:
        """Largest third difference of the coefficients about a place, float[n]: it is small on
        any smooth shape and large where the object has an edge that a spline rings about."""
        third = np.pad(np.abs(np.diff(self.coefficients, 3)), 1)
        widest = np.max([third[:-2], third[1:-1], third[2:]], axis=0)
        return np.asarray(widest[self._place(interval(on_object_mm)[0])])

    def _place(self, number: NDArray[np.int_]) -> NDArray[np.int_]:
        return np.clip(number - self.first, 0, self.coefficients.size - 4)


def interval(on_object_mm: FloatArray) -> tuple[NDArray[np.int_], FloatArray]:
    """Number of the knot interval and the fraction of it passed."""
    whole = np.floor(on_object_mm / KNOT_MM)
    return whole.astype(int), np.asarray(on_object_mm / KNOT_MM - whole)


def value_weights(f: FloatArray) -> FloatArray:
    """The four cubic B-splines over an interval at fractions f of it; float[n, 4]."""
    g = 1.0 - f
    inner = 4.0 - 6.0 * f**2 + 3.0 * f**3
    other = 4.0 - 6.0 * g**2 + 3.0 * g**3
    return np.column_stack([g**3, inner, other, f**3]) / 6.0


def slope_weights(f: FloatArray) -> FloatArray:
    """Their derivatives by f; float[n, 4]."""
    g = 1.0 - f
    inner, other = -12.0 * f + 9.0 * f**2, 12.0 * g - 9.0 * g**2
    return np.column_stack([-3.0 * g**2, inner, other, 3.0 * f**2]) / 6.0
