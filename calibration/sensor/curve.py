"""The sensor's calibration curve: what it reads on known gauges, and how well that is known."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from calibration.passes import FloatArray
from calibration.sensor.hysteresis import Hysteresis, hysteresis_of
from calibration.sensor.mixedfit import MixedFit
from calibration.sensor.order import Order, Scaled, choose_order, fit_order, powers
from calibration.sensor.readings import GaugeReadings, SensorError


@dataclass(frozen=True, slots=True)
class SensorCurve:
    """height = sum of c_k (reading - reference)^k, k = 0 to the order.

    coefficients: float[order + 1]. covariance: the same squared, from the scatter about the
    curve (GUM H.3) and the gauges' own uncertainty. factor: the curve's 95 % interval over its
    standard uncertainty, Student's t where few gauges tell little of the scatter.
    scatter_mm: standard deviation of one reading about the curve.
    hysteresis_mm: standard uncertainty of a reading for not knowing its way, 0 for none.
    reading_mm, gauge_mm, u_gauge_mm: float[n], what it was fitted to; shift_mm: float[n], what
    drift and way had done to each, as found with the curve.
    """

    reference_mm: float
    coefficients: FloatArray
    covariance: FloatArray
    factor: float
    scatter_mm: float
    hysteresis_mm: float
    reading_mm: FloatArray
    gauge_mm: FloatArray
    u_gauge_mm: FloatArray
    shift_mm: FloatArray

    @property
    def range_mm(self) -> tuple[float, float]:
        """Lowest and highest reading on a gauge; beyond them the curve is not known."""
        return float(self.reading_mm.min()), float(self.reading_mm.max())

    @property
    def order(self) -> int:
        """1 for a straight line."""
        return int(self.coefficients.size - 1)

    @property
    def residuals_mm(self) -> FloatArray:
        """float[n], gauge less curve, with drift and way taken off."""
        return np.asarray(self.gauge_mm - self.shift_mm - self.apply(self.reading_mm)[0])

    @property
    def linearity_mm(self) -> float:
        """The furthest the curve lies off the straight line of least squares, at the gauges."""
        height = self.apply(self.reading_mm)[0]
        design = powers(self.reading_mm - self.reference_mm, 2)
        line, *_ = np.linalg.lstsq(design, height, rcond=None)
        return float(np.max(np.abs(height - design @ line)))

    def apply(self, reading_mm: FloatArray) -> tuple[FloatArray, FloatArray, NDArray[np.bool_]]:
        """(height, its standard uncertainty, inside the gauges' range), shaped like the reading.

        The uncertainty is the curve's, and the hysteresis'; a single reading adds its own noise.
        Where `inside` is False (a missing reading, NaN, too) the height would be extrapolated:
        flag it, or refuse it.
        """
        low, high = self.range_mm
        reading = np.asarray(reading_mm, dtype=float)
        design = powers(reading - self.reference_mm, self.coefficients.size)
        u = np.hypot(_spread(design, self.covariance), self.hysteresis_mm)
        inside = (reading >= low) & (reading <= high)
        return np.asarray(design @ self.coefficients), np.asarray(u), np.asarray(inside)

    def u_of_difference(
        self, one_mm: FloatArray | float, other_mm: FloatArray | float, *, same_way: bool = True
    ) -> FloatArray:
        """Standard uncertainty of the height between two readings, mm: the curve's errors that
        both share fall out, its error of scale stays.

        same_way: both were come to the same way, as the tops of two crowns are, and hysteresis
        falls out too; not so between a crown's top, come to rising, and the board beside it.
        """
        one, other = (
            powers(np.asarray(z, float) - self.reference_mm, self.coefficients.size)
            for z in (one_mm, other_mm)
        )
        way = 0.0 if same_way else np.sqrt(2.0) * self.hysteresis_mm
        return np.asarray(np.hypot(_spread(one - other, self.covariance), way))

    def half_width_mm(self, reading_mm: FloatArray) -> FloatArray:
        """Half the width of the curve's 95 % interval, without hysteresis."""
        design = powers(np.asarray(reading_mm) - self.reference_mm, self.coefficients.size)
        return np.asarray(self.factor * _spread(design, self.covariance))


def _spread(design: FloatArray, covariance: FloatArray) -> FloatArray:
    return np.asarray(
        np.sqrt(np.maximum(np.einsum("...i,ij,...j->...", design, covariance, design), 0.0))
    )


@dataclass(frozen=True, slots=True)
class SensorFit:
    """The curve, how its order was decided, and up against down where both were read."""

    curve: SensorCurve
    order: Order
    hysteresis: Hysteresis | None


def fit_sensor(readings: GaugeReadings) -> SensorFit:
    """Calibration curve by least squares about the mean reading, as in GUM H.3, with the gauges'
    own errors (`fit_mixed`) and of the lowest order the readings support (`choose_order`).

    Where both ways were read, a steady drift and the hysteresis are fitted with it: read one way
    only, a drift looks like an error of scale, and nothing shows it.

    Raises SensorError: under three different gauges, or a curve that turns back among them.
    """
    if readings.sizes < 3:
        raise SensorError(
            f"{readings.gauge_mm.size} readings, but only {readings.sizes} different gauges; "
            "a curve needs at least 3"
        )
    if np.ptp(readings.reading_mm) == 0.0:
        raise SensorError("every gauge reads the same: is the sensor at its stop?")
    order = choose_order(readings)
    fit = fit_order(readings, order.order)
    curve = _curve(readings, fit, order.order)
    _check_one_way(curve)
    if not readings.both_ways:
        return SensorFit(curve, order, None)
    loop = hysteresis_of(readings, fit, curve.apply(readings.reading_mm)[0])
    return SensorFit(_curve(readings, fit, order.order, loop.half_mm), order, loop)


def _curve(
    readings: GaugeReadings, fit: MixedFit, order: int, hysteresis_mm: float = 0.0
) -> SensorCurve:
    scaled = Scaled.of(readings)
    terms = order + 1
    back = scaled.half_mm ** -np.arange(terms, dtype=float)
    return SensorCurve(
        reference_mm=scaled.middle_mm,
        coefficients=fit.coefficients[:terms] * back,
        covariance=fit.covariance[:terms, :terms] * np.outer(back, back),
        factor=_factor(fit, terms, scaled),
        scatter_mm=float(np.sqrt(fit.variance)),
        hysteresis_mm=hysteresis_mm,
        reading_mm=readings.reading_mm,
        gauge_mm=readings.gauge_mm,
        u_gauge_mm=readings.u_gauge_mm,
        shift_mm=readings.nuisance() @ fit.coefficients[terms:],
    )


def _factor(fit: MixedFit, terms: int, scaled: Scaled) -> float:
    """95 % half width over u, in the mean over the range's ends and middle."""
    ratios = []
    for at in (float(scaled.at.min()), 0.0, float(scaled.at.max())):
        row = np.zeros(fit.coefficients.size)
        row[:terms] = at ** np.arange(terms)
        ratios.append(fit.half_width(row) / float(np.sqrt(row @ fit.covariance @ row)))
    return float(np.mean(ratios))


def _check_one_way(curve: SensorCurve) -> None:
    """The slope keeps its sign over the range."""
    low, high = curve.range_mm
    at = np.linspace(low, high, 101) - curve.reference_mm
    rising = np.arange(1, curve.coefficients.size) * curve.coefficients[1:]
    slope = powers(at, curve.order) @ rising
    if slope.min() <= 0.0 <= slope.max():
        raise SensorError(
            "not one way: the curve through the gauges turns back within their range; "
            "use less of the sensor's range"
        )
