"""How a neck lies in one scan against another of the same state: it is clamped anew each time."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from analysis.instrument import FloatArray

#: Columns of `basis_rows`.
BASIS = 7
#: Tukey's biweight is 95 % efficient with this many deviations to its foot.
BIWEIGHT = 4.685
#: Huber's, with which the fit begins: it has one minimum, wherever it starts.
HUBER = 1.345
ROUNDS = 8
#: Heights are counted to no less than this, mm: quantised ones may agree exactly.
LEAST_MM = 1e-5


@dataclass(frozen=True, slots=True)
class Lie:
    """A gentle displacement over the neck: `basis_rows` times coefficients, mm.

    coefficients: float[7]; covariance: float[7, 7]. scale: float[2], how many times wider than
    their uncertainties tops and board points lie about it.
    """

    coefficients: FloatArray
    covariance: FloatArray
    scale: FloatArray


def basis_rows(x_mm: FloatArray, y_mm: FloatArray, joint_mm: float) -> FloatArray:
    """[..., 7]: height, tilt, turn, then what a clamp can bend: twist, and a bent beam.

    Forces at the ends of a beam and at one place between bend it along a cubic (Euler and
    Bernoulli: the fourth derivative is the load); at the body joint its stiffness jumps, and
    with it the second derivative. A neck put down a little to one side turns, for the radius
    runs along it, as a twist does.
    """
    x, y = np.broadcast_arrays(x_mm / joint_mm, y_mm / joint_mm)
    past = np.clip(x - 1.0, 0.0, None)
    return np.stack([np.ones_like(x), x, y, x * y, x**2, x**3, past**2], axis=-1)


def fit_lie(
    rows: FloatArray, dz_mm: FloatArray, u_mm: FloatArray, is_board: NDArray[np.bool_]
) -> Lie:
    """Robust least squares over tops and board points of one difference between two scans.

    rows: [points, 7]; dz_mm, u_mm, is_board: [points], NaN left out. It begins on the board
    alone, which no file touches (Huber), then takes the tops in (biweight), each kind counted
    by how far it really scatters. Raises ValueError where fewer than two points a coefficient
    are known.
    """
    good = np.isfinite(dz_mm) & np.isfinite(u_mm)
    enough = 2 * rows.shape[1]
    if np.count_nonzero(good) < enough:
        raise ValueError(f"only {np.count_nonzero(good)} heights are known in both scans")
    kinds = (~is_board, is_board)
    begin = good & is_board
    if np.count_nonzero(begin) < enough:
        begin = good
    u = np.maximum(u_mm, LEAST_MM)
    fit, scale, normal = np.zeros(rows.shape[1]), np.ones(2), np.eye(rows.shape[1])
    weight = begin.astype(float)
    for round_ in range(2 * ROUNDS):
        use = weight > 0.0
        weighted = rows[use] * (weight[use] / u[use] ** 2)[:, None]
        normal = weighted.T @ rows[use]
        fit = np.linalg.pinv(normal, hermitian=True) @ weighted.T @ dz_mm[use]
        off = np.where(good, dz_mm - rows @ fit, 0.0) / u
        scale = np.array([_scale(off[good & kind], u[good & kind]) for kind in kinds])
        each = np.where(is_board, scale[1], scale[0])
        far = np.abs(off) / each
        if round_ < ROUNDS:
            weight = begin * np.minimum(1.0, HUBER / np.maximum(far, HUBER)) / each**2
        else:
            weight = good * np.clip(1.0 - (far / BIWEIGHT) ** 2, 0.0, None) ** 2 / each**2
    return Lie(fit, np.linalg.pinv(normal, hermitian=True), scale)


def _scale(off: FloatArray, u_mm: FloatArray) -> float:
    """1.4826 times the median of the deviations in units of u; never nothing."""
    if off.size == 0:
        return 1.0
    least = LEAST_MM / float(np.median(u_mm))
    return max(1.4826 * float(np.median(np.abs(off))), least)
