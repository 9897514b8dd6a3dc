"""A shape fitted to caps: to each by itself, or one for all of them."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from scipy.optimize import least_squares
from scipy.special import chdtrc

from calibration.passes import FloatArray
from calibration.probe.cap import Cap, ProbeError

#: A reading's weight falls from this many deviations on.
SOFT_SIGMAS = 5.0
#: One this many robust deviations off is left out.
WILD_SIGMAS = 5.0
#: Passes that differ by more than this chance allows are taken to scatter as they do.
ALIKE_CHANCE = 0.01
_STEP_MM = 1e-6

#: (position from the middle, values) to height over the top.
Shape = Callable[[FloatArray, FloatArray], FloatArray]
Bounds = tuple[Sequence[float], Sequence[float]]


@dataclass(frozen=True, slots=True)
class CapFit:
    """values: float[k], the shape's; covariance: of them. middle_mm, top_mm: float[caps], place
    and height of each cap.

    left_mm: float[n], residuals across the shape, cap after cap, NaN for wild readings;
    over_noise: their spread over what noise alone would make; cost: sum of the softened squares.
    """

    values: FloatArray
    covariance: FloatArray
    middle_mm: FloatArray
    top_mm: FloatArray
    left_mm: FloatArray
    over_noise: float
    cost: float


def fit_caps(caps: Sequence[Cap], shape: Shape, start: FloatArray, bounds: Bounds) -> CapFit:
    """Least squares across a shape that all caps share, each with a place and height of its own.

    First with wild readings held down (soft l1), then without them. A reading's distance across
    the shape, (z - shape) cos(slope), is compared with its noise across it: along z the sensor's,
    along x the carriage's rounding. bounds: lowest and highest of every value. Raises ProbeError
    where the caps do not determine the values.
    """
    seen, own = _Seen(caps, shape), 2 * len(caps)
    low = np.concatenate([np.full(own, -np.inf), bounds[0]])
    high = np.concatenate([np.full(own, np.inf), bounds[1]])
    rough = least_squares(
        seen.residuals,
        np.concatenate([np.zeros(own), start]),
        bounds=(low, high),
        x_scale="jac",
        loss="soft_l1",
        f_scale=SOFT_SIGMAS,
    )
    off = np.abs(seen.residuals(rough.x))
    tame = off <= WILD_SIGMAS * max(1.0, 1.4826 * float(np.median(off)))

    def tame_residuals(parameters: FloatArray) -> FloatArray:
        return seen.residuals(parameters)[tame]

    found = least_squares(tame_residuals, rough.x, bounds=(low, high), x_scale="jac")
    free = max(int(np.count_nonzero(tame)) - found.x.size, 1)
    spread = float(np.sqrt(2.0 * found.cost / free))
    jacobian = np.asarray(found.jac, dtype=float)
    information = jacobian.T @ jacobian
    if np.linalg.cond(information * _balance(information)) > 1e12:
        raise ProbeError("the trace does not show the shape of a pin or edge")
    covariance = np.linalg.inv(information) * spread**2
    return CapFit(
        values=found.x[own:],
        covariance=covariance[own:, own:],
        middle_mm=found.x[:own:2],
        top_mm=found.x[1:own:2],
        left_mm=np.where(tame, seen.across(found.x)[0], np.nan),
        over_noise=spread,
        cost=2.0 * float(rough.cost),
    )


def _balance(information: FloatArray) -> FloatArray:
    """Takes the units out of an information matrix."""
    own = np.sqrt(np.maximum(np.diag(information), 1e-30))
    return np.asarray(1.0 / np.outer(own, own))


class _Seen:
    """All readings of all caps in one row."""

    def __init__(self, caps: Sequence[Cap], shape: Shape) -> None:
        self._shape = shape
        self._which = np.repeat(np.arange(len(caps)), [cap.x_mm.size for cap in caps])
        self._x_mm = np.concatenate([cap.x_mm for cap in caps])
        self._z_mm = np.concatenate([cap.z_mm for cap in caps])
        self._sigma = np.array([cap.sigma_mm for cap in caps])[self._which]
        self._sigma_x = np.array([cap.sigma_x_mm for cap in caps])[self._which]
        self._own = 2 * len(caps)

    def across(self, parameters: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Distance of every reading across the shape, and its noise across it, mm."""
        middle, top = parameters[: self._own : 2], parameters[1 : self._own : 2]
        values, u = parameters[self._own :], self._x_mm - middle[self._which]
        ahead, behind = (self._shape(u + step, values) for step in (_STEP_MM, -_STEP_MM))
        slope = (ahead - behind) / (2.0 * _STEP_MM)
        cosine = 1.0 / np.hypot(1.0, slope)
        left = (self._z_mm - top[self._which] - self._shape(u, values)) * cosine
        return left, np.hypot(self._sigma, slope * self._sigma_x) * cosine

    def residuals(self, parameters: FloatArray) -> FloatArray:
        """In deviations."""
        left, sigma = self.across(parameters)
        return np.asarray(left / sigma)


def together(fits: Sequence[CapFit]) -> tuple[float, float]:
    """Weighted mean of the fits' first value, and its standard uncertainty.

    Where they differ by more than chance (chi-square at 1 %), it grows by their own scatter
    (Birge).
    """
    value = np.array([float(fit.values[0]) for fit in fits])
    weight = np.array([1.0 / float(fit.covariance[0, 0]) for fit in fits])
    mean = float(np.sum(weight * value) / np.sum(weight))
    chi2 = float(np.sum(weight * (value - mean) ** 2))
    free = value.size - 1
    grown = chi2 / free if free and chdtrc(float(free), chi2) < ALIKE_CHANCE else 1.0
    return mean, float(np.sqrt(grown / np.sum(weight)))
