"""A cubic spline on even knots, fitted by weighted least squares along one line."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.linalg import cho_solve_banded, cholesky_banded

from calibration.passes import FloatArray

#: Beyond the first and last readings, so that places may move without leaving the spline.
_BEYOND_MM = 1.0
#: Share of a typical knot's weight that keeps knots without readings from being undetermined.
_HOLD = 1e-9
#: Every place lies under so many splines.
_UNDER = 4


@dataclass(frozen=True, slots=True)
class KnotLine:
    """Even knots: `knots` float[m], every step_mm."""

    knots: FloatArray
    step_mm: float

    @staticmethod
    def over(place_mm: FloatArray, step_mm: float) -> KnotLine:
        """Knots under all places and a little beyond."""
        low, high = float(place_mm.min()) - _BEYOND_MM, float(place_mm.max()) + _BEYOND_MM
        count = int(np.ceil((high - low) / step_mm)) + 1
        return KnotLine(low + step_mm * np.arange(-3, count + 4), step_mm)

    def settle(self, place_mm: FloatArray, weight: FloatArray) -> Settled:
        """Ready to fit anything read at these places with these weights; float[n] each."""
        inside = np.clip(place_mm, self.knots[3], self.knots[-4])
        at = (inside - self.knots[0]) / self.step_mm
        # the last knot closes the last interval
        first = np.clip(at.astype(np.intp), 3, self.knots.size - 5) - 3
        share = at - 3.0 - first
        spline = first + np.arange(_UNDER)[:, None]
        values = _values(share)
        banded = np.zeros((_UNDER, self.knots.size - 4))
        for k in range(_UNDER):
            products = weight * values[: _UNDER - k] * values[k:]
            banded[k] = _sums(spline[: _UNDER - k], products, banded.shape[1])
        banded[0] += _HOLD * max(float(banded[0].mean()), 1e-12)
        factor = cholesky_banded(banded, lower=True)
        slopes = _slopes(share) / self.step_mm
        return Settled(weight, spline, values, slopes, factor)

    def knots_heard(self, place_mm: FloatArray, heard: NDArray[np.bool_]) -> int:
        """How many knots have a reading that is heard."""
        knot = ((place_mm - self.knots[0]) / self.step_mm).astype(int)
        return int(np.unique(knot[heard]).size)


@dataclass(frozen=True, slots=True)
class Settled:
    """The spline's normal equations for given places and weights, factored.

    weight: float[n]. spline: int[4, n], which splines each place lies under; values, slopes:
    float[4, n], theirs there. Written out by hand: the knots are even and every place has its
    four, which a general sparse matrix would have to find out anew each time.
    """

    weight: FloatArray
    spline: NDArray[np.intp]
    values: FloatArray
    slopes: FloatArray
    factor: FloatArray

    def coefficients(self, values: FloatArray) -> FloatArray:
        """Of values float[n] or float[n, columns]."""
        count = self.factor.shape[1]
        columns = values.reshape(values.shape[0], -1).T
        sums = [_sums(self.spline, self.values * (self.weight * one), count) for one in columns]
        found = cho_solve_banded((self.factor, True), np.array(sums).T)
        return np.asarray(found.reshape(-1, *values.shape[1:]))

    def curve(self, values: FloatArray) -> tuple[FloatArray, FloatArray]:
        """(value, slope) of the fitted curve at the places, float[n] each."""
        around = self.coefficients(values)[self.spline]
        return _over(self.values, around), _over(self.slopes, around)

    def rid(self, columns: FloatArray) -> FloatArray:
        """float[n, columns]: what of each column no spline can take up."""
        taken = [_over(self.values, one[self.spline]) for one in self.coefficients(columns).T]
        return np.asarray(columns - np.array(taken).T)


def _values(share: FloatArray) -> FloatArray:
    """The four cubic splines over even knots at a share of the way between two, float[4, n].

    de Boor, A Practical Guide to Splines, 1978, ch. X, for knots one apart.
    """
    left = 1.0 - share
    near, far = (4.0 + one**2 * (3.0 * one - 6.0) for one in (share, left))
    return np.asarray(np.array([left**3, near, far, share**3]) / 6.0)


def _slopes(share: FloatArray) -> FloatArray:
    """Their derivatives, float[4, n]."""
    left = 1.0 - share
    near, far = (one * (3.0 * one - 4.0) for one in (share, left))
    return np.asarray(np.array([-(left**2), near, -far, share**2]) / 2.0)


def _sums(spline: NDArray[np.intp], values: FloatArray, count: int) -> FloatArray:
    """Sum of the values to each spline, float[count]."""
    return np.asarray(np.bincount(spline.ravel(), values.ravel(), count), float)


def _over(values: FloatArray, around: FloatArray) -> FloatArray:
    """float[n] of float[4, n] each."""
    return np.asarray(np.einsum("kn,kn->n", values, around))
