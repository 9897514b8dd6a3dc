"""Linear least squares where part of the errors is known and shared, and the rest is not."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import brentq
from scipy.special import chdtrc, ndtr

from calibration.passes import FloatArray

#: Values of the unknown variance tried, evenly over its logarithm.
_TRIED = 101
_ROUNDING = 1e-13


@dataclass(frozen=True, slots=True)
class MixedFit:
    """coefficients, covariance: float[k], float[k, k], at the likeliest variance of one
    observation's own error, `variance`. left: float[n], residuals.

    chance: float[m], how likely each of m variances is; each_coefficients: float[m, k] and
    each_covariance: float[m, k, k] under it.
    """

    coefficients: FloatArray
    covariance: FloatArray
    variance: float
    left: FloatArray
    chance: FloatArray
    each_coefficients: FloatArray
    each_covariance: FloatArray

    def chance_of_none(self, new: slice) -> float:
        """That the true coefficients of a part are 0 and chance alone made them as large."""
        term = self.each_coefficients[:, new]
        inverse = np.linalg.inv(self.each_covariance[:, new, new])
        square = np.einsum("mi,mij,mj->m", term, inverse, term)
        return float(self.chance @ chdtrc(float(term.shape[1]), square))

    def half_width(self, row: FloatArray, within: float = 0.95) -> float:
        """Half the width of the interval about row . coefficients that holds so much."""
        off = self.each_coefficients @ row - float(self.coefficients @ row)
        u = np.sqrt(np.einsum("i,mij,j->m", row, self.each_covariance, row))

        def missing(half: float) -> float:
            return float(self.chance @ (ndtr((half - off) / u) - ndtr((-half - off) / u))) - within

        high = 2.0 * float(self.chance @ u)
        while missing(high) < 0.0:
            high *= 2.0
        return float(brentq(missing, 0.0, high, rtol=1e-7))


def fit_mixed(
    design: FloatArray,
    values: FloatArray,
    group: NDArray[np.int_],
    u_shared: FloatArray,
    least: float,
) -> MixedFit:
    """values = design b + one error per group (known u_shared) + one per observation (unknown).

    design: float[n, k]; values: float[n]; group: int[n]; u_shared: float[n], alike within a
    group. The unknown variance, at least least^2, is the one of greatest restricted likelihood
    (Patterson and Thompson, Biometrika 58 (1971) 545); what is not known of it widens every
    interval and chance, by its posterior under Jeffreys' prior. With u_shared all 0 that is
    ordinary least squares: s^2 = SS / (n - k) as in GUM H.3, Student's t and the F test.

    Raises ValueError where k >= n.
    """
    n, k = design.shape
    if k >= n:
        raise ValueError(f"{n} readings do not determine {k} coefficients")
    floor = max(least, _ROUNDING * float(np.max(np.abs(values), initial=1e-9))) ** 2
    fit, *_ = np.linalg.lstsq(design, values, rcond=None)
    plain = max(float(np.sum((values - design @ fit) ** 2)) / (n - k), floor)
    errors = _Errors(group, u_shared)
    tried = _grid(plain, floor, n - k, bool(u_shared.any()))
    each = _solved(design, values, errors, tried)
    # over the logarithm of the variance, an even grid
    log_chance = each.likelihood + np.log(each.prior) + np.log(tried)
    chance = np.exp(log_chance - log_chance.max())
    best = _peak(tried, each.likelihood) if u_shared.any() else plain
    one = _solved(design, values, errors, np.array([best]))
    # what the residuals still hold is rounding: known errors may be a billion times the unknown
    rest = _solved(design, values - design @ one.coefficients[0], errors, np.array([best]))
    coefficients = one.coefficients[0] + rest.coefficients[0]
    return MixedFit(
        coefficients,
        one.covariance[0],
        best,
        values - design @ coefficients,
        chance / chance.sum(),
        each.coefficients,
        each.covariance,
    )


def _grid(plain: float, floor: float, free: int, shared: bool) -> FloatArray:
    """Around the plain estimate, wide enough for its own uncertainty; with shared errors, down
    to where the observations' own no longer count."""
    reach = min(16.0, 12.0 * np.sqrt(2.0 / free))
    low = max(np.log(plain) - (14.0 if shared else reach), np.log(floor))
    return np.exp(np.linspace(low, np.log(plain) + reach, _TRIED))


def _peak(tried: FloatArray, likelihood: FloatArray) -> float:
    """Top of the parabola through the highest three; the end itself where it is highest there."""
    i = int(np.argmax(likelihood))
    if i in (0, tried.size - 1):
        return float(tried[i])
    a, b, c = likelihood[i - 1 : i + 2]
    step = 0.5 * (a - c) / (a - 2.0 * b + c) if a - 2.0 * b + c < 0.0 else 0.0
    return float(tried[i] * (tried[i] / tried[i - 1]) ** step)


@dataclass(frozen=True, slots=True)
class _Errors:
    """V = variance I + u_shared^2 within each group."""

    group: NDArray[np.int_]
    u_shared: FloatArray

    def whitened(self, values: FloatArray, variance: FloatArray) -> FloatArray:
        """V^(-1/2) values, [m, n, columns], for [n, columns] or [m, n, columns]: a part of each
        group's mean is taken off."""
        count = np.bincount(self.group)
        member = (self.group == np.arange(count.size)[:, None]).astype(float)
        mean = (member / count[:, None]) @ values
        whole = variance[:, None] + (count[self.group] * self.u_shared**2)[None, :]
        share = 1.0 - np.sqrt(variance[:, None] / whole)
        off = values - share[..., None] * np.take(mean, self.group, axis=-2)
        return np.asarray(off / np.sqrt(variance)[:, None, None])

    def log_det_and_square(self, variance: FloatArray) -> tuple[FloatArray, FloatArray]:
        """ln |V| and tr(V^-2), [m]."""
        _, first, count = np.unique(self.group, return_index=True, return_counts=True)
        whole = variance[:, None] + count * self.u_shared[first] ** 2
        more = float(np.sum(count - 1))
        log_det = more * np.log(variance) + np.sum(np.log(whole), axis=1)
        return log_det, more / variance**2 + np.sum(whole**-2.0, axis=1)


@dataclass(frozen=True, slots=True)
class _Solved:
    """For each of m variances: coefficients [m, k], their covariance [m, k, k], the restricted
    log likelihood [m] and Jeffreys' prior of the variance [m]."""

    coefficients: FloatArray
    covariance: FloatArray
    likelihood: FloatArray
    prior: FloatArray


def _solved(
    design: FloatArray, values: FloatArray, errors: _Errors, variance: FloatArray
) -> _Solved:
    """By QR of the whitened design X.

    The prior is sqrt(tr(P P)), P = V^-1 - V^-1 X (X' V^-1 X)^-1 X' V^-1.
    """
    q, r = np.linalg.qr(errors.whitened(design, variance))
    y = errors.whitened(values[:, None], variance)
    turned = np.swapaxes(q, 1, 2) @ y
    log_det, square = errors.log_det_and_square(variance)
    diagonal = np.abs(np.diagonal(r, axis1=1, axis2=2))
    left = np.sum((y - q @ turned) ** 2, axis=(1, 2))
    likelihood = -0.5 * (log_det + left) - np.sum(np.log(diagonal), axis=1)
    once = errors.whitened(q, variance)
    twice = errors.whitened(once, variance)
    inner = np.swapaxes(once, 1, 2) @ once
    trace = square - 2.0 * np.sum(twice**2, axis=(1, 2)) + np.sum(inner**2, axis=(1, 2))
    prior = np.sqrt(np.maximum(trace, 1e-9 * square))
    back = np.linalg.inv(r)
    coefficients = (back @ turned)[..., 0]
    return _Solved(coefficients, back @ np.swapaxes(back, 1, 2), likelihood, prior)
