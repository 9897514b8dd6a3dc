"""A linear model through points of which many may be wrong, whole stations at a time."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from analysis.instrument import FloatArray
from analysis.movement.likeliest import posterior

#: Points that lie closer than their uncertainties say are not taken by their own word alone.
LEAST_TYPICAL = 0.7
#: So many draws of so many stations: of 40 draws of 5 from 22 frets, 7 of them wrong, one at
#: least is all right 99 times in 100.
_DRAWS, _STATIONS = 40, 5
#: From the best of them to all points that fit, by Tukey's biweight (4.685: 95 % efficient on
#: normal points). What lies further off weighs next to nothing.
_STEPS, _SIGMAS = 8, 4.685
_NOTHING = 1e-3


def robust_fit(
    rows: FloatArray, z: FloatArray, u: FloatArray, station: NDArray[np.int_], prior: FloatArray
) -> FloatArray:
    """Coefficients that the most points agree on. station: of each point; prior: precisions.

    Fits through few stations each, drawn always alike, and the one that half of all points lie
    nearest to (least median of squares, Rousseeuw 1984) begins weighted least squares.
    """
    alike = (rows / prior) @ rows.T
    off = _best_off(alike, z, u, station)
    mean: FloatArray = np.zeros(rows.shape[1])
    for _ in range(_STEPS):
        near = 1.0 - np.minimum(off / (_SIGMAS * typical(off)), 1.0) ** 2
        mean, _ = posterior(rows, z, u / np.maximum(near, _NOTHING), prior, 1.0)
        off = np.abs(z - rows @ mean) / u
    return mean


def _best_off(
    alike: FloatArray, z: FloatArray, u: FloatArray, station: NDArray[np.int_]
) -> FloatArray:
    """How far each point is off the best draw's fit, in standard uncertainties.

    By the points' covariance under the prior: smaller than the coefficients', for few points.
    """
    rng = np.random.default_rng(0)
    names = np.unique(station)
    draws = [names]
    if names.size > _STATIONS:
        draws += [rng.choice(names, _STATIONS, replace=False) for _ in range(_DRAWS)]
    offs = []
    for drawn in draws:
        own = np.flatnonzero(np.isin(station, drawn))
        among = alike[np.ix_(own, own)]
        weights = np.linalg.solve(among + np.diag(u[own] ** 2), z[own])
        offs.append(np.abs(z - alike[:, own] @ weights) / u)
    return offs[int(np.argmin([np.median(off) for off in offs]))]


def typical(off: FloatArray) -> float:
    """A robust scatter of points in standard uncertainties, not less than they can be trusted."""
    return max(1.4826 * float(np.median(off)), LEAST_TYPICAL)
