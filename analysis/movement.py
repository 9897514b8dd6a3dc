"""How the neck moved between two scans: a smooth field over the board, with its uncertainty."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy.interpolate import BSpline
from scipy.optimize import minimize

from analysis.instrument import FloatArray

#: Spacing of the field's knots: a bending neck has nothing shorter than this to say.
KNOT_MM = 45.0
#: Points this many deviations off the field are not the neck moving.
ODD = 4.5
ODD_ROUNDS = 6
#: Points that lie closer than their uncertainties say are not taken by their own word alone.
LEAST_TYPICAL = 0.7
#: Without movement a field of this size is still allowed, mm.
_LEAST_SCALE_MM = 1e-4


@dataclass(frozen=True, slots=True)
class Field:
    """dz(x, y) = f(x) + (y / half width) g(x), both cubic splines with a Gaussian posterior.

    coefficients: float[2k]; covariance: float[2k, 2k]. odd: bool, shaped like the points given:
    where the difference is no part of a smooth movement. scatter: how many times wider than
    their uncertainties the points lie about the field.
    """

    knots: FloatArray
    half_width_mm: float
    coefficients: FloatArray
    covariance: FloatArray
    odd: np.ndarray
    scatter: float

    def design(self, x_mm: FloatArray, y_mm: FloatArray) -> FloatArray:
        """Rows of the linear map from coefficients to dz: [points, 2k]."""
        return _design(self.knots, self.half_width_mm, x_mm.ravel(), y_mm.ravel())

    def at(self, x_mm: FloatArray, y_mm: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Movement and its standard uncertainty, mm, shaped like x_mm."""
        rows = self.design(x_mm, y_mm)
        u = np.sqrt(np.einsum("ij,jk,ik->i", rows, self.covariance, rows))
        return (rows @ self.coefficients).reshape(x_mm.shape), u.reshape(x_mm.shape)


def _design(knots: FloatArray, half: float, x: FloatArray, y: FloatArray) -> FloatArray:
    inside = np.clip(x, knots[3], knots[-4])
    basis = BSpline.design_matrix(inside, knots, 3).toarray()
    return np.hstack([basis, basis * (y / half)[:, None]])


def fit_movement(x_mm: FloatArray, y_mm: FloatArray, dz_mm: FloatArray, u_mm: FloatArray) -> Field:
    """The field through differences of two scans at the same places.

    Bending under load is smooth in x and, across, a turn of each section: linear in y. Each
    part is a cubic spline whose third differences are Gaussian (a bending moment that changes
    slowly); how large they are, and how far the points really scatter, are those under which
    the data are likeliest (maximum marginal likelihood). Parabola, offset, tilt and turn are
    free. Points over 4.5 robust deviations off are marked `odd` and left out, until no more are.

    x_mm, y_mm, dz_mm, u_mm: equal shapes, NaN left out. Raises ValueError under 8 points.
    """
    good = np.isfinite(dz_mm) & np.isfinite(u_mm)
    if np.count_nonzero(good) < 8:
        raise ValueError("a movement needs at least 8 points seen in both scans")
    low, high = float(np.nanmin(x_mm)) - 1.0, float(np.nanmax(x_mm)) + 1.0
    pieces = max(3, round((high - low) / KNOT_MM))
    inner = np.linspace(low, high, pieces + 1)
    knots = np.concatenate([[low] * 3, inner, [high] * 3])
    half = max(float(np.nanmax(np.abs(y_mm))), 1.0)
    everywhere = _design(knots, half, x_mm[good], y_mm[good])
    used = good.copy()
    for _ in range(ODD_ROUNDS):
        mean, covariance, scatter = _posterior(everywhere[used[good]], dz_mm[used], u_mm[used])
        off = np.abs(dz_mm[good] - everywhere @ mean) / u_mm[good]
        # a robust scatter: the fitted one has taken up whatever is odd
        limit = ODD * max(1.4826 * float(np.median(off)), LEAST_TYPICAL)
        before, used = used, good.copy()
        used[good] = off <= limit
        if np.count_nonzero(used) < 8 or np.array_equal(used, before):
            break
    return Field(knots, half, mean, covariance, good & ~used, scatter)


def _penalty(size: int) -> FloatArray:
    third = np.diff(np.eye(size), 3, axis=0)
    return np.asarray(third.T @ third)


def _posterior(
    rows: FloatArray, dz: FloatArray, u: FloatArray
) -> tuple[FloatArray, FloatArray, float]:
    """Mean, covariance and scatter at the likeliest smoothness of each part."""
    size = rows.shape[1] // 2
    penalty = _penalty(size)
    normal = rows.T @ (rows / u[:, None] ** 2)
    target = rows.T @ (dz / u**2)
    # offset, slope and parabola of each part are free: a wide but proper prior
    free = np.eye(2 * size) * 1e-2

    def precision(theta: FloatArray) -> FloatArray:
        out = free.copy()
        out[:size, :size] += penalty * np.exp(-2.0 * theta[0])
        out[size:, size:] += penalty * np.exp(-2.0 * theta[1])
        return out

    def cost(theta: FloatArray) -> float:
        prior = precision(theta)
        noise = np.exp(2.0 * theta[2])
        total = normal / noise + prior
        mean = np.linalg.solve(total, target / noise)
        misfit = float(np.sum(((dz - rows @ mean) / u) ** 2)) / noise + float(mean @ prior @ mean)
        _, log_total = np.linalg.slogdet(total)
        _, log_prior = np.linalg.slogdet(prior)
        # scatter below one is believed only so far: a prior of about a quarter around one
        doubt = (theta[2] / 0.25) ** 2 if theta[2] < 0 else 0.0
        return float(misfit + log_total - log_prior + 2.0 * dz.size * theta[2] + doubt)

    start = np.array([np.log(0.01), np.log(0.01), 0.0])
    bounds = [(np.log(_LEAST_SCALE_MM), np.log(1.0))] * 2 + [(-2.0, 3.0)]
    best = minimize(cost, start, method="L-BFGS-B", bounds=bounds).x
    noise = float(np.exp(2.0 * best[2]))
    covariance = np.linalg.inv(normal / noise + precision(best))
    return covariance @ target / noise, covariance, float(np.sqrt(noise))
