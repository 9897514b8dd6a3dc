"""A line that may bend: the offset of a clock whose rate walks about."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.linalg import cholesky, solve_triangular
from scipy.optimize import minimize_scalar

from calibration.passes import FloatArray

#: Bending is believed where it raises the likelihood by this much (twice its logarithm): a
#: straight clock is then called straight 95 times in 100.
BELIEVED = 2.0
#: Powers of ten that the ratio of bending to scatter is looked for in.
LEAST_POWER, MOST_POWER = -2, 8
#: The scatter depends on the bending that it bounds; so often is enough.
ROUNDS = 8


@dataclass(frozen=True, slots=True)
class Wander:
    """An offset over time, with its uncertainty.

    scatter: standard deviation of a point of weight 1 about it. freedom: its degrees of freedom.
    bending: variance of the curvature's walk over scatter^2, over the unit of the whole span; 0
        for a straight line.
    """

    scatter: float
    freedom: int
    bending: float
    _span: float
    _z: FloatArray
    _factor: FloatArray
    _basis: FloatArray
    _beta: FloatArray
    _covariance: FloatArray
    _left: FloatArray

    def at(self, t: FloatArray) -> FloatArray:
        """Offset at times t, float[m]."""
        _, gain, line = self._terms(t)
        return np.asarray(line @ self._beta + gain.T @ self._left)

    def u_at(self, t: FloatArray) -> FloatArray:
        """Standard uncertainty of `at`, float[m]."""
        z, gain, line = self._terms(t)
        lack = line.T - self._basis.T @ gain
        own = self.bending * z**3 / 3.0
        variance = own - np.sum(gain**2, axis=0) + np.sum(lack * (self._covariance @ lack), axis=0)
        return np.asarray(self.scatter * np.sqrt(np.maximum(variance, 0.0)))

    def _terms(self, t: FloatArray) -> tuple[FloatArray, FloatArray, FloatArray]:
        z = np.asarray(t) / self._span
        shared = self.bending * _walked(self._z, z)
        return z, solve_triangular(self._factor, shared, lower=True), _line(z)


def fit_wander(t: FloatArray, y: FloatArray, weight: FloatArray, most_walk: float) -> Wander:
    """The offset through points y at times t >= 0, float[n]; a point's scatter is 1 / weight.

    A line plus an integrated random walk of the rate, which is a cubic smoothing spline; how much
    it bends is what makes the points likeliest (restricted likelihood; Wahba, JRSS B 40, 1978).
    most_walk: standard deviation that the rate may have gained by the end, at most; what the
    points have of bends beyond it is scatter. n at least 4. ValueError else.
    """
    if t.size < 4:
        raise ValueError(f"{t.size} points; at least 4")
    span = float(t.max()) or 1.0
    z = t / span
    straight = _solve(z, y, weight, 0.0)
    powers = np.arange(LEAST_POWER, MOST_POWER + 1, dtype=float)
    unlikely = [_solve(z, y, weight, 10.0**power).unlikely for power in powers]
    best = float(powers[int(np.argmin(unlikely))])
    if min(unlikely) > straight.unlikely - BELIEVED:
        return _wander(straight, 0.0, span, z)
    found = minimize_scalar(
        lambda power: _solve(z, y, weight, 10.0**power).unlikely,
        bounds=(best - 1.0, best + 1.0),
        method="bounded",
    )
    bending = _allowed(z, y, weight, 10.0 ** float(found.x), most_walk * span)
    return _wander(_solve(z, y, weight, bending), bending, span, z)


def _allowed(
    z: FloatArray, y: FloatArray, weight: FloatArray, bending: float, most_walk: float
) -> float:
    """This bending, or the largest whose walk is no longer than most_walk."""
    for _ in range(ROUNDS):
        scatter = _solve(z, y, weight, bending).scatter
        bending = min(bending, (most_walk / scatter) ** 2)
    return bending


@dataclass(frozen=True, slots=True)
class _Solved:
    unlikely: float
    scatter: float
    freedom: int
    factor: FloatArray
    basis: FloatArray
    beta: FloatArray
    covariance: FloatArray
    left: FloatArray


def _solve(z: FloatArray, y: FloatArray, weight: FloatArray, bending: float) -> _Solved:
    """Generalised least squares for the line, the walk and the scatter being its covariance."""
    factor = cholesky(np.diag(weight**-2.0) + bending * _walked(z, z), lower=True)
    basis = solve_triangular(factor, _line(z), lower=True)
    seen = solve_triangular(factor, y, lower=True)
    covariance = np.linalg.inv(basis.T @ basis)
    beta = covariance @ (basis.T @ seen)
    left = seen - basis @ beta
    freedom = z.size - 2
    # never quite zero: its logarithm is taken
    variance = max(float(left @ left) / freedom, 1e-24)
    unlikely = freedom * np.log(variance) + 2.0 * np.log(np.diag(factor)).sum()
    unlikely -= np.linalg.slogdet(covariance)[1]
    return _Solved(
        float(unlikely), float(np.sqrt(variance)), freedom, factor, basis, beta, covariance, left
    )


def _wander(solved: _Solved, bending: float, span: float, z: FloatArray) -> Wander:
    return Wander(
        solved.scatter, solved.freedom, bending, span, z, solved.factor, solved.basis,
        solved.beta, solved.covariance, solved.left,
    )  # fmt: skip


def _line(z: FloatArray) -> NDArray[np.float64]:
    return np.column_stack([np.ones_like(z), z])


def _walked(a: FloatArray, b: FloatArray) -> NDArray[np.float64]:
    """Covariance of an integrated random walk between times a and b, [a, b]."""
    low, high = np.minimum.outer(a, b), np.maximum.outer(a, b)
    return np.asarray(low**2 * (3.0 * high - low) / 6.0)
