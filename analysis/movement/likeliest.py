"""A linear model whose coefficients come in groups of unknown size: the likeliest sizes."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy.linalg.lapack import dpotrf, dpotri
from scipy.optimize import minimize

from analysis.instrument import FloatArray

#: Points that lie closer than their uncertainties say are believed only so far: a prior of
#: about a quarter around a scatter of one.
_DOUBT = 0.25
_SCATTER = (0.13, 20.0)
#: Share of the cost that the last step may still gain; the cost begins large, so it must be small.
_TOLERANCE = 1e-9


@dataclass(frozen=True, slots=True)
class Sizes:
    """Prior of the coefficients: float[k], the group of each; a standard deviation a group.

    group -1 is `fixed`: its own deviation for each coefficient. low, high: what the others may
    be, and where the search starts.
    """

    group: np.ndarray[tuple[int], np.dtype[np.int_]]
    fixed: FloatArray
    low: FloatArray
    high: FloatArray
    start: FloatArray

    def precision(self, sizes: FloatArray) -> FloatArray:
        """float[k]: of each coefficient."""
        deviation = np.where(self.group < 0, self.fixed, sizes[self.group])
        return np.asarray(deviation**-2.0)


@dataclass(frozen=True, slots=True)
class Posterior:
    """Gaussian: mean float[k], covariance float[k, k]; scatter of the points over their u; cost,
    -2 log of the marginal likelihood but for a constant."""

    mean: FloatArray
    covariance: FloatArray
    scatter: float
    sizes: FloatArray
    cost: float


def posterior(
    rows: FloatArray, z: FloatArray, u: FloatArray, prior: FloatArray, scatter: float
) -> tuple[FloatArray, FloatArray]:
    """Mean and covariance at known sizes. rows: [points, k]; prior: precisions, float[k]."""
    weighted = rows / (scatter * u)[:, None]
    covariance, _ = _inverse(weighted.T @ weighted, prior)
    return covariance @ (weighted.T @ (z / (scatter * u))), covariance


def likeliest(
    rows: FloatArray, z: FloatArray, u: FloatArray, sizes: Sizes, start: FloatArray | None = None
) -> Posterior:
    """Posterior at the sizes and the scatter that maximise the marginal likelihood.

    z, u: float[points]. By its gradient (Rasmussen and Williams, Gaussian Processes for
    Machine Learning, 5.4.1), in the logarithms of all sizes. start: sizes to begin with.
    """
    weighted, target = rows / u[:, None], z / u
    normal, moment = weighted.T @ weighted, weighted.T @ target
    total, count = float(target @ target), z.size
    number = sizes.start.size
    member = (sizes.group[:, None] == np.arange(number)).astype(float)

    def cost(theta: FloatArray) -> tuple[float, FloatArray]:
        prior, noise = sizes.precision(np.exp(theta[:-1])), float(np.exp(2.0 * theta[-1]))
        covariance, log_total = _inverse(normal / noise, prior)
        mean = covariance @ moment / noise
        doubt = min(theta[-1], 0.0) / _DOUBT**2
        value = (total - float(moment @ mean)) / noise + log_total - float(np.sum(np.log(prior)))
        value += 2.0 * count * theta[-1] + doubt * theta[-1]
        by_size = 2.0 * (1.0 - prior * (mean**2 + np.diag(covariance))) @ member
        off = total - 2.0 * float(moment @ mean) + float(mean @ normal @ mean)
        told = float(np.sum(covariance * normal))
        by_scatter = 2.0 * (count - (off + told) / noise + doubt)
        return float(value), np.append(by_size, by_scatter)

    begin = np.append(np.log(sizes.start if start is None else start), 0.0)
    low, high = np.append(sizes.low, _SCATTER[0]), np.append(sizes.high, _SCATTER[1])
    best = minimize(
        cost,
        begin,
        jac=True,
        method="L-BFGS-B",
        bounds=list(zip(np.log(low), np.log(high), strict=True)),
        options={"ftol": _TOLERANCE},
    )
    found, scatter = np.exp(best.x[:-1]), float(np.exp(best.x[-1]))
    mean, covariance = posterior(rows, z, u, sizes.precision(found), scatter)
    return Posterior(mean, covariance, scatter, found, float(best.fun))


def _inverse(normal: FloatArray, prior: FloatArray) -> tuple[FloatArray, float]:
    """Inverse of normal + diag(prior) and the logarithm of its determinant.

    Scaled to a diagonal of one first: the columns' lengths differ by many powers of ten.
    """
    whole = normal + np.diag(prior)
    scale = 1.0 / np.sqrt(np.diag(whole))
    scaled = whole * scale[:, None] * scale
    scaled.flat[:: scale.size + 1] += 1e-12
    factor, _ = dpotrf(scaled, lower=1)
    # the upper half of both is 0
    lower, _ = dpotri(factor, lower=1)
    inverse = lower + lower.T - np.diag(np.diag(lower))
    log_determinant = 2.0 * float(np.sum(np.log(np.diag(factor))) - np.sum(np.log(scale)))
    return np.asarray(inverse * scale[:, None] * scale), log_determinant
