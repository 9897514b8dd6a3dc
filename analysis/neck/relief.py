"""Relief: how far the fret tops lie under their chord, string by string."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

import numpy as np
from scipy.special import ndtr

from analysis.instrument import FloatArray
from analysis.neck.chord import parts_of_sum, root_sum
from analysis.neck.rail import RailAlong
from analysis.neck.terms import Terms

#: Less than this is no part of an uncertainty, mm.
NOTHING_MM = 1e-6
#: Depths this many deviations under the deepest have no part in it.
FAR = 8.0


@dataclass(frozen=True, slots=True)
class Relief:
    """Depth under the chord from fret 1 to the body-joint fret, at the deepest fret.

    parts: what u_relief_mm is made of, mm by term. at_fret: 0 where relief is not known.
    """

    relief_mm: float
    u_relief_mm: float
    at_fret: int
    parts: Mapping[str, float] = field(default_factory=dict)


def reliefs(
    x_mm: FloatArray, top_mm: FloatArray, u_mm: FloatArray, joint: int
) -> tuple[Relief, ...]:
    """Of tops that err each by itself. x_mm, top_mm, u_mm: [frets, strings]."""
    return reliefs_by_terms(x_mm, top_mm, Terms({"noise": u_mm}), joint, None)


def reliefs_by_terms(
    x_mm: FloatArray, top_mm: FloatArray, terms: Terms, joint: int, rail: RailAlong | None
) -> tuple[Relief, ...]:
    """One for each string. x_mm, top_mm and each term: [frets, strings]; joint: the body-joint
    fret; rail: how the rail's map errs along the neck, None where its part counts as
    independent.

    Relief hangs on three tops: the deepest, and the chord's ends by their share of it. The
    deepest of noisy depths is too deep on the average; by how much is Clark's mean of the largest
    of normal values (Operations Research 9 (1961) 145), one after another. Where frets differ by
    some micrometres it is under a tenth of one. It stands in u as the part `deepest` and is not
    taken off: the true depths too are as near to one another as the measured ones.
    """
    return tuple(
        _relief(x_mm[:joint, s], top_mm[:joint, s], _column(terms, joint, s), rail)
        for s in range(x_mm.shape[1])
    )


def _column(terms: Terms, joint: int, s: int) -> Terms:
    return terms.each(lambda part: part[:joint, s])


def _relief(x: FloatArray, z: FloatArray, terms: Terms, rail: RailAlong | None) -> Relief:
    if not (np.isfinite(z[0]) and np.isfinite(z[-1]) and np.any(np.isfinite(z[1:-1]))):
        return Relief(np.nan, np.nan, 0)
    share = (x - x[0]) / (x[-1] - x[0])
    depth = z[0] + share * (z[-1] - z[0]) - z
    deepest = 1 + int(np.nanargmax(depth[1:-1]))
    rows = np.array([0, x.size - 1, deepest])
    weights = np.array([1.0 - share[deepest], share[deepest], -1.0])
    parts = parts_of_sum(terms.each(lambda part: part[rows]), x[rows], weights, rail)
    too_deep = _too_deep(depth[1:-1], terms.u_mm[1:-1])
    if too_deep > NOTHING_MM:
        parts["deepest"] = too_deep
    return Relief(float(depth[deepest]), root_sum(parts), deepest + 1, parts)


def _too_deep(depth: FloatArray, u: FloatArray) -> float:
    """Mean of the largest of depths that scatter by u, less the largest of them, mm."""
    known = np.isfinite(depth) & np.isfinite(u)
    order = np.argsort(depth[known])[::-1]
    depth, variance = depth[known][order], u[known][order] ** 2
    if depth.size < 2:
        return 0.0
    mean, spread2 = float(depth[0]), float(variance[0])
    for other, other2 in zip(depth[1:], variance[1:], strict=True):
        a = float(np.sqrt(spread2 + other2))
        if mean - other > FAR * a:
            break
        mean, spread2 = _larger_of(mean, spread2, float(other), float(other2), a)
    return mean - float(depth[0])


def _larger_of(
    mean: float, variance: float, other: float, other2: float, a: float
) -> tuple[float, float]:
    """Mean and variance of the larger of two normal values; a: of their difference."""
    if a == 0.0:
        return mean, variance
    alpha = (mean - other) / a
    one, two = float(ndtr(alpha)), float(ndtr(-alpha))
    density = a * float(np.exp(-0.5 * alpha**2)) / np.sqrt(2.0 * np.pi)
    first = mean * one + other * two + density
    second = (mean**2 + variance) * one + (other**2 + other2) * two + (mean + other) * density
    return float(first), float(second - first**2)
