"""Intervals of the standard deviations that an analysis of variance finds."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy.optimize import brentq
from scipy.special import chdtr, chdtrc, chdtri, fdtri

from calibration.uncertainty.anova import OneWay

Interval = tuple[float, float]
#: Left out at each end of a 95 % interval.
TAIL = 0.025
#: The bounds of a mean square lie within exp(+-this) of it, for one degree of freedom too.
_REACH = 12.0
_STEPS = 400


@dataclass(frozen=True, slots=True)
class Spread:
    """A standard deviation and its 95 % interval, in one unit."""

    s: float
    low: float
    high: float


def repeatability(found: OneWay) -> Spread:
    """s_r: the chi-square interval, exact for normal readings."""
    low, high = chi_square_interval(found.ms_within, found.dof_within)
    return Spread(found.s_r, np.sqrt(low), np.sqrt(high))


def between(found: OneWay) -> Spread:
    """s_L: modified large-sample interval of (MS_b - MS_w) / n, 0 where a bound is negative.

    Ting, Burdick, Graybill, Jeyaratnam & Lu, J. Stat. Comput. Simul. 35 (1990) 135; Burdick &
    Graybill, Confidence Intervals on Variance Components (1992): formulas from memory, the
    coverage is tested. `_between_bounds` fits them to many items.
    """
    b, w = found.ms_between, found.ms_within
    g1, h1 = _bounds(found.dof_chance)
    g2, h2 = _bounds(found.dof_within)
    upper, lower = (float(fdtri(found.dof_chance, found.dof_within, q)) for q in (1.0 - TAIL, TAIL))
    g12 = ((upper - 1.0) ** 2 - g1**2 * upper**2 - h2**2) / upper
    h12 = ((1.0 - lower) ** 2 - h1**2 * lower**2 - g2**2) / lower
    down, up = _between_bounds(found)
    down = max(down**2 + (h2 * w) ** 2 + g12 * b * w, 0.0)
    up = max(up**2 + (g2 * w) ** 2 + h12 * b * w, 0.0)
    bounds = (b - w + np.array([-np.sqrt(down), np.sqrt(up)])) / found.per_group
    low, high = np.sqrt(np.maximum(bounds, 0.0))
    return Spread(found.s_l, float(low), max(float(high), found.s_l))


def reproducibility(found: OneWay) -> Spread:
    """s_R: modified large-sample interval of MS_b / n + (1 - 1 / n) MS_w.

    Graybill & Wang, J. Am. Stat. Assoc. 75 (1980) 869: formula from memory, the coverage is
    tested. Where the between-group variance was set to 0 the interval still holds s_R.
    """
    n, within = found.per_group, (1.0 - 1.0 / found.per_group) * found.ms_within
    middle = found.ms_between / n + within
    down, up = _between_bounds(found)
    g, h = _bounds(found.dof_within)
    low = np.sqrt(max(middle - np.hypot(down / n, g * within), 0.0))
    high = np.sqrt(middle + np.hypot(up / n, h * within))
    s = found.s_big_r
    return Spread(s, min(float(low), s), max(float(high), s))


def _between_bounds(found: OneWay) -> Interval:
    """How far the bounds of the mean square between groups lie below and above it.

    Those expectations under which one so high, or so low, has the tail's chance. What noise
    puts into it has the many degrees of freedom of the items, what it exceeds that by only
    those of the groups: given how far the groups lie apart it is a non-central chi-square,
    taken as a scaled one of the same mean and variance (Patnaik 1949, from memory). With one
    item that is the usual chi-square interval.
    """
    b = found.ms_between
    if b <= 0.0:
        return 0.0, 0.0
    middles = (np.arange(_STEPS) + 0.5) / _STEPS
    apart = np.asarray(chdtri(found.dof_between, 1.0 - middles)) / found.dof_between

    def chance_of_less(log_ratio: float) -> float:
        expected = b * float(np.exp(log_ratio))
        noise = min(max(found.ms_within, 1e-9 * expected), expected)
        mean = noise + (expected - noise) * apart
        dof = found.dof_chance * mean**2 / (2.0 * mean * noise - noise**2)
        return float(np.mean(chdtr(dof, dof * b / mean)))

    low, high = (
        b * float(np.exp(brentq(lambda r, q=q: chance_of_less(r) - q, -_REACH, _REACH)))
        for q in (1.0 - TAIL, TAIL)
    )
    return b - low, high - b


def chi_square_interval(variance: float, dof: float) -> Interval:
    """95 % interval of a variance estimated with so many degrees of freedom."""
    return dof * variance / _chi2(1.0 - TAIL, dof), dof * variance / _chi2(TAIL, dof)


def chance_of_scatter(variance: float, dof: float, stated: float) -> float:
    """Chance of an estimate this large, or larger, where the stated variance is right."""
    if stated <= 0.0:
        return 0.0 if variance > 0.0 else 1.0
    return float(chdtrc(dof, dof * variance / stated))


def _bounds(dof: float) -> Interval:
    """How far a mean square's own bounds lie below and above it, as shares of it."""
    return 1.0 - dof / _chi2(1.0 - TAIL, dof), dof / _chi2(TAIL, dof) - 1.0


def _chi2(q: float, dof: float) -> float:
    return float(chdtri(dof, 1.0 - q))
