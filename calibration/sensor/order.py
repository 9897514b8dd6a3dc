"""How bent a sensor is: the lowest order of polynomial that its gauges support."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from calibration.passes import FloatArray
from calibration.sensor.mixedfit import MixedFit, fit_mixed
from calibration.sensor.readings import GaugeReadings

HIGHEST = 4
#: Chance of taking a curve for more bent than it is, at each order: half of it for one term
#: more, half for two at once (an S has no part in the quadratic).
BENT_CHANCE = 0.01
#: Different gauges that must be left over an order's coefficients.
SPARE_SIZES = 2
#: Chance with which a bend of the size told as unseen would have been taken for none.
_SEEN = 0.5 * BENT_CHANCE


@dataclass(frozen=True, slots=True)
class Order:
    """order: of the polynomial taken. chance: that no more than noise and the gauges' errors
    make a curve of the next order (or two) look better, the least of the two; NaN where there
    were too few gauges to look. unseen_mm: a bend of the next order up to this would have been
    taken for none; NaN likewise.
    """

    order: int
    chance: float
    unseen_mm: float


@dataclass(frozen=True, slots=True)
class Scaled:
    """Readings moved and scaled to -1..1, so that powers of them stay far from one another."""

    middle_mm: float
    half_mm: float
    at: FloatArray

    @staticmethod
    def of(readings: GaugeReadings) -> Scaled:
        low, high = float(readings.reading_mm.min()), float(readings.reading_mm.max())
        middle, half = float(np.mean(readings.reading_mm)), 0.5 * (high - low)
        return Scaled(middle, half, (readings.reading_mm - middle) / half)


def powers(at: FloatArray, terms: int) -> FloatArray:
    """float[..., terms]: 1, at, at^2 ..."""
    return np.stack([at**power for power in range(terms)], axis=-1)


def fit_order(readings: GaugeReadings, order: int) -> MixedFit:
    """Gauge over scaled reading, with drift and way beside it where both ways were read.

    Coefficients: order + 1 of the polynomial, then the nuisance's.
    """
    return fit_mixed(
        _design(readings, order),
        readings.gauge_mm,
        readings.group,
        readings.u_gauge_mm,
        readings.least_mm,
    )


def _design(readings: GaugeReadings, order: int) -> FloatArray:
    return np.column_stack([powers(Scaled.of(readings).at, order + 1), readings.nuisance()])


def choose_order(readings: GaugeReadings) -> Order:
    """From the straight line upwards, for as long as one term more, or two, are more than chance.

    Each step is an F test at 1 % (half of it for each of the two questions) of the new
    coefficients over their whole uncertainty, which holds the scatter about the curve and the
    gauges' own stated errors (`MixedFit.chance_of_none`): a bend that the gauges' errors could
    make is no bend of the sensor. Without stated errors it is the sequential F test on sums of
    squares.
    An order is only looked at where two different gauges more than its coefficients were read.

    An F test rather than an information criterion: with five to ten gauges the latter takes one
    straight sensor in ten or more for bent, and extrapolates its noise between the gauges.
    """
    order = 1
    while True:
        one, two = (_chance(readings, order, more) for more in (1, 2))
        if one < 0.5 * BENT_CHANCE:
            order += 1
        elif two < 0.5 * BENT_CHANCE:
            order += 2
        else:
            return Order(order, float(np.fmin(one, two)), _unseen_mm(readings, order))


def _allowed(readings: GaugeReadings, order: int) -> bool:
    return order <= HIGHEST and readings.sizes >= order + 1 + SPARE_SIZES


def _chance(readings: GaugeReadings, order: int, more: int) -> float:
    """That `more` terms explain as much by chance; NaN where they cannot be looked at."""
    if not _allowed(readings, order + more):
        return float("nan")
    if _nothing_left(readings, order):
        return 1.0
    return fit_order(readings, order + more).chance_of_none(slice(order + 1, order + more + 1))


def _nothing_left(readings: GaugeReadings, order: int) -> bool:
    """A curve through every reading (quantised, and straight) leaves nothing to explain."""
    design = _design(readings, order)
    fit, *_ = np.linalg.lstsq(design, readings.gauge_mm, rcond=None)
    left = np.max(np.abs(readings.gauge_mm - design @ fit))
    return bool(left <= 1e-12 * np.max(np.abs(readings.gauge_mm)))


def _unseen_mm(readings: GaugeReadings, order: int) -> float:
    """The next order's bend that the test would take for none as often as not, at its peak."""
    if not _allowed(readings, order + 1):
        return float("nan")
    fit = fit_order(readings, order + 1)
    row = np.zeros(fit.coefficients.size)
    row[order + 1] = 1.0
    least = fit.half_width(row, 1.0 - _SEEN)
    at = Scaled.of(readings).at
    below = powers(at, order + 1)
    bend = at ** (order + 1)
    line, *_ = np.linalg.lstsq(below, bend, rcond=None)
    return float(least * np.max(np.abs(bend - below @ line)))
