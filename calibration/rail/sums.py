"""How surely sums over the rail's error are known, as a chord's depth is: the map's joint error."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from calibration.passes import FloatArray
from calibration.rail.estimate import (
    FINEST_MM,
    UNSEEN_MM,
    RailEstimate,
    orthonormal,
    polynomials,
    without,
)


@dataclass(frozen=True, slots=True)
class RailSums:
    """The joint error of a map's cells in factors, which is all that a sum needs of it.

    x_mm, own_mm: float[cells], each cell's own error. modes_mm: float[modes, cells], what cells
    err by together, each mode by itself. free: float[shapes, cells], as `RailEstimate` has them.
    """

    x_mm: FloatArray
    own_mm: FloatArray
    modes_mm: FloatArray
    free: FloatArray

    @classmethod
    def of(cls, estimate: RailEstimate) -> RailSums:
        """Of an estimate at hand: its covariance's square root, all in modes."""
        # the free shapes are taken off the covariance, which is singular without this
        regular = estimate.covariance_mm2 + FINEST_MM**2 * np.eye(estimate.x_mm.size)
        modes = np.linalg.cholesky(regular).T
        return cls(estimate.x_mm, np.zeros_like(estimate.x_mm), modes, estimate.free)

    def u_of_sum_mm(self, x_mm: FloatArray, weights: FloatArray) -> float:
        """Standard uncertainty of sum(weights R(x)), with all that errs together along the rail.

        x_mm, weights: float[n]. For a chord's depth the weights are 1 at the middle and two
        shares of -1 at the ends: where they sum to nothing over any straight line, that line
        costs nothing. A blind shape beyond the line counts as UNSEEN_MM of it.
        """
        cells = np.arange(self.x_mm.size, dtype=float)
        place = np.interp(x_mm, self.x_mm, cells)
        left = np.clip(np.floor(place).astype(int), 0, self.x_mm.size - 2)
        spread = np.zeros(self.x_mm.size)
        np.add.at(spread, left, weights * (1.0 - (place - left)))
        np.add.at(spread, left + 1, weights * (place - left))
        blind = without(self.free, orthonormal(polynomials(self.x_mm, 1))) @ spread
        seen = without(spread, self.free)
        return float(
            np.sqrt(
                np.sum((self.own_mm * seen) ** 2)
                + np.sum((self.modes_mm @ seen) ** 2)
                + UNSEEN_MM**2 * self.x_mm.size * np.sum(blind**2)
            )
        )
