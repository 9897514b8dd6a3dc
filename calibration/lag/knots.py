"""A cubic spline on even knots, fitted by weighted least squares along one line."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.interpolate import BSpline
from scipy.linalg import cho_solve_banded, cholesky_banded
from scipy.sparse import csr_array

from calibration.passes import FloatArray

#: Beyond the first and last readings, so that places may move without leaving the spline.
_BEYOND_MM = 1.0
#: Share of a typical knot's weight that keeps knots without readings from being undetermined.
_HOLD = 1e-9


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
        basis = csr_array(BSpline.design_matrix(inside, self.knots, 3))
        normal = csr_array(basis.T @ csr_array(basis.multiply(weight[:, None])))
        banded = np.zeros((4, normal.shape[0]))
        for k in range(4):
            banded[k, : normal.shape[0] - k] = normal.diagonal(-k)
        banded[0] += _HOLD * max(float(banded[0].mean()), 1e-12)
        return Settled(self, inside, weight, basis, cholesky_banded(banded, lower=True))

    def knots_heard(self, place_mm: FloatArray, heard: NDArray[np.bool_]) -> int:
        """How many knots have a reading that is heard."""
        knot = ((place_mm - self.knots[0]) / self.step_mm).astype(int)
        return int(np.unique(knot[heard]).size)


@dataclass(frozen=True, slots=True)
class Settled:
    """The spline's normal equations for given places and weights, factored."""

    line: KnotLine
    place_mm: FloatArray
    weight: FloatArray
    basis: csr_array
    factor: FloatArray

    def coefficients(self, values: FloatArray) -> FloatArray:
        """Of values float[n] or float[n, columns]."""
        weighted = (self.weight * values.T).T
        return np.asarray(cho_solve_banded((self.factor, True), self.basis.T @ weighted))

    def curve(self, values: FloatArray) -> tuple[FloatArray, FloatArray]:
        """(value, slope) of the fitted curve at the places, float[n] each."""
        coefficients = self.coefficients(values)
        slope = BSpline(self.line.knots, coefficients, 3).derivative()(self.place_mm)
        return np.asarray(self.basis @ coefficients), np.asarray(slope)

    def rid(self, columns: FloatArray) -> FloatArray:
        """float[n, columns]: what of each column no spline can take up."""
        return np.asarray(columns - self.basis @ self.coefficients(columns))
