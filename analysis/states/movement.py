"""How the neck moved between two scans: a smooth field over the board, with its uncertainty."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.interpolate import BSpline
from scipy.optimize import minimize

from analysis.instrument import FloatArray

#: Spacing of the field's knots: a bending neck has nothing shorter than this to say.
KNOT_MM = 45.0
#: Points this many deviations off the field are not the neck moving.
ODD = 4.5
ODD_ROUNDS = 6
#: The hinge's coefficient is what it lifts at this distance past the joint.
HINGE_SCALE_MM = 100.0
#: Points that lie closer than their uncertainties say are not taken by their own word alone.
LEAST_TYPICAL = 0.7
#: Without movement a field of this size is still allowed, mm.
_LEAST_SCALE_MM = 1e-4


@dataclass(frozen=True, slots=True)
class Basis:
    """dz(x, y) = f(x) + (y / half width) g(x), each a cubic spline and a hinge at the joint.

    The hinge: where the neck meets the body its stiffness jumps, and within a fret's distance
    the slope of the movement may change as no spline with far knots could follow.
    """

    knots: FloatArray
    half_width_mm: float
    joint_mm: float

    @property
    def splines(self) -> int:
        """Spline coefficients of each part; one more is the hinge."""
        return self.knots.size - 4

    def rows(self, x_mm: FloatArray, y_mm: FloatArray) -> FloatArray:
        """Linear map from coefficients to dz: [points, 2 (splines + 1)]."""
        x, y = x_mm.ravel(), y_mm.ravel()
        inside = np.clip(x, self.knots[3], self.knots[-4])
        spline = BSpline.design_matrix(inside, self.knots, 3).toarray()
        hinge = np.clip(inside - self.joint_mm, 0.0, None) / HINGE_SCALE_MM
        part = np.column_stack([spline, hinge])
        return np.hstack([part, part * (y / self.half_width_mm)[:, None]])


@dataclass(frozen=True, slots=True)
class Field:
    """A movement with a Gaussian posterior over its basis.

    coefficients: float[k]; covariance: float[k, k]. odd: bool, shaped like the points given:
    where the difference is no part of a smooth movement. scatter: how many times wider than
    their uncertainties the points lie about the field.
    """

    basis: Basis
    coefficients: FloatArray
    covariance: FloatArray
    odd: NDArray[np.bool_]
    scatter: float

    def design(self, x_mm: FloatArray, y_mm: FloatArray) -> FloatArray:
        """Rows of the linear map from coefficients to dz: [points, k]."""
        return self.basis.rows(x_mm, y_mm)

    def at(self, x_mm: FloatArray, y_mm: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Movement and its standard uncertainty, mm, shaped like x_mm."""
        rows = self.design(x_mm, y_mm)
        u = np.sqrt(np.einsum("ij,jk,ik->i", rows, self.covariance, rows))
        return (rows @ self.coefficients).reshape(x_mm.shape), u.reshape(x_mm.shape)


def fit_movement(
    x_mm: FloatArray, y_mm: FloatArray, dz_mm: FloatArray, u_mm: FloatArray, joint_mm: float
) -> Field:
    """The field through differences of two scans at the same places.

    Bending under load is smooth in x, but for the joint at joint_mm, and, across, a turn of
    each section: linear in y. Each part is a cubic spline whose third differences are Gaussian
    (a bending moment that changes slowly), and a hinge; how large both are, and how far the
    points really scatter, are those under which the data are likeliest (maximum marginal
    likelihood). Parabola, offset, tilt and turn are free. Points over 4.5 robust deviations off
    are marked `odd` and left out, until no more are.

    x_mm, y_mm, dz_mm, u_mm: equal shapes, NaN left out. Raises ValueError under 8 points.
    """
    good = np.isfinite(dz_mm) & np.isfinite(u_mm)
    if np.count_nonzero(good) < 8:
        raise ValueError("a movement needs at least 8 points seen in both scans")
    basis = _basis(x_mm, y_mm, joint_mm)
    everywhere = basis.rows(x_mm[good], y_mm[good])
    used = good.copy()
    for _ in range(ODD_ROUNDS):
        mean, covariance, scatter = _posterior(
            everywhere[used[good]], dz_mm[used], u_mm[used], basis.splines
        )
        off = np.abs(dz_mm[good] - everywhere @ mean) / u_mm[good]
        # a robust scatter: the fitted one has taken up whatever is odd
        limit = ODD * max(1.4826 * float(np.median(off)), LEAST_TYPICAL)
        before, used = used, good.copy()
        used[good] = off <= limit
        if np.count_nonzero(used) < 8 or np.array_equal(used, before):
            break
    return Field(basis, mean, covariance, good & ~used, scatter)


def _basis(x_mm: FloatArray, y_mm: FloatArray, joint_mm: float) -> Basis:
    low, high = float(np.nanmin(x_mm)) - 1.0, float(np.nanmax(x_mm)) + 1.0
    pieces = max(3, round((high - low) / KNOT_MM))
    inner = np.linspace(low, high, pieces + 1)
    knots = np.concatenate([[low] * 3, inner, [high] * 3])
    return Basis(knots, max(float(np.nanmax(np.abs(y_mm))), 1.0), joint_mm)


def _penalty(size: int) -> FloatArray:
    third = np.diff(np.eye(size), 3, axis=0)
    return np.asarray(third.T @ third)


def _posterior(
    rows: FloatArray, dz: FloatArray, u: FloatArray, splines: int
) -> tuple[FloatArray, FloatArray, float]:
    """Mean, covariance and scatter at the likeliest smoothness of each part."""
    size = splines + 1
    penalty = _penalty(splines)
    normal = rows.T @ (rows / u[:, None] ** 2)
    target = rows.T @ (dz / u**2)

    def precision(theta: FloatArray) -> FloatArray:
        # offset, slope and parabola of each part are free: a wide but proper prior
        out = np.eye(2 * size) * 1e-2
        for part, start in enumerate((0, size)):
            out[start : start + splines, start : start + splines] += penalty * np.exp(
                -2.0 * theta[part]
            )
            out[start + splines, start + splines] = np.exp(-2.0 * theta[2 + part])
        return out

    def cost(theta: FloatArray) -> float:
        prior = precision(theta)
        noise = np.exp(2.0 * theta[4])
        total = normal / noise + prior
        mean = np.linalg.solve(total, target / noise)
        misfit = float(np.sum(((dz - rows @ mean) / u) ** 2)) / noise + float(mean @ prior @ mean)
        _, log_total = np.linalg.slogdet(total)
        _, log_prior = np.linalg.slogdet(prior)
        # scatter below one is believed only so far: a prior of about a quarter around one
        doubt = (theta[4] / 0.25) ** 2 if theta[4] < 0 else 0.0
        return float(misfit + log_total - log_prior + 2.0 * dz.size * theta[4] + doubt)

    start = np.array([np.log(0.01)] * 2 + [np.log(0.005)] * 2 + [0.0])
    sizes = [(np.log(_LEAST_SCALE_MM), np.log(1.0))] * 4
    best = minimize(cost, start, method="L-BFGS-B", bounds=[*sizes, (-2.0, 3.0)]).x
    noise = float(np.exp(2.0 * best[4]))
    covariance = np.linalg.inv(normal / noise + precision(best))
    return covariance @ target / noise, covariance, float(np.sqrt(noise))
