"""A straight line through the years: how much a year, and how well that is known."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from calibration.passes import FloatArray

#: Fewer moments than this, or all within so short a time, tell no change.
LEAST: Final = 3
LEAST_YEARS: Final = 0.25


@dataclass(frozen=True, slots=True)
class Trend:
    """value + rate * (year - at). rate, u_rate: a year, u a standard uncertainty. scatter: how
    many times wider than their uncertainties the values lie about the line; u_rate is widened by
    it where it is over 1."""

    at_year: float
    value: float
    rate: float
    u_rate: float
    scatter: float

    def on(self, year: float) -> float:
        return self.value + self.rate * (year - self.at_year)


def trend(
    years: Sequence[float], values: Sequence[float], u: Sequence[float | None]
) -> Trend | None:
    """Weighted least squares; u_rate by the weights, times the Birge ratio where that is over 1.

    years: decimal. u: standard uncertainties; where one is not known, or is none, all count alike
    and the scatter about the line stands for them. None: fewer than `LEAST` values, or within
    less than `LEAST_YEARS`. Source of the ratio: R. T. Birge, Phys. Rev. 40 (1932) 207.
    """
    t, y = np.asarray(years, float), np.asarray(values, float)
    if t.size < LEAST or float(np.ptp(t)) < LEAST_YEARS:
        return None
    known = all(one is not None and one > 0.0 for one in u)
    sigma = np.array(u, float) if known else np.ones_like(y)
    weight = sigma**-2
    at = float(np.sum(weight * t) / np.sum(weight))
    spread = float(np.sum(weight * (t - at) ** 2))
    rate = float(np.sum(weight * (t - at) * y) / spread)
    value = float(np.sum(weight * y) / np.sum(weight))
    off: FloatArray = (y - value - rate * (t - at)) / sigma
    birge = float(np.sqrt(np.sum(off**2) / (t.size - 2)))
    widened = max(birge, 1.0) if known else birge
    return Trend(at, value, rate, widened / float(np.sqrt(spread)), birge if known else 1.0)
