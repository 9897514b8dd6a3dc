"""The sensor's calibration curve: what it reads on known gauges, and how well that is known."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy.special import fdtrc

from calibration.passes import FloatArray

#: Chance of taking a straight sensor for a bent one.
BENT_CHANCE = 0.01
#: Gauges nearer to one another than this share of the range may read in the wrong order: noise.
NEAR_SHARE = 0.02


class SensorError(ValueError):
    """The gauges do not determine a curve."""


@dataclass(frozen=True, slots=True)
class SensorCurve:
    """height = c0 + c1 (reading - reference) [+ c2 (reading - reference)^2].

    coefficients: float[2] or float[3]; covariance: the same squared, from the scatter about the
    curve (GUM H.3) and the gauges' own uncertainty. scatter_mm: standard deviation about the
    curve. reading_mm, gauge_mm, u_gauge_mm: float[n], what it was fitted to.
    """

    reference_mm: float
    coefficients: FloatArray
    covariance: FloatArray
    scatter_mm: float
    reading_mm: FloatArray
    gauge_mm: FloatArray
    u_gauge_mm: FloatArray

    @property
    def range_mm(self) -> tuple[float, float]:
        """Lowest and highest reading on a gauge; beyond them the curve is not known."""
        return float(self.reading_mm.min()), float(self.reading_mm.max())

    @property
    def bent(self) -> bool:
        """Whether the quadratic was needed."""
        return self.coefficients.size > 2

    @property
    def residuals_mm(self) -> FloatArray:
        """float[n], gauge less curve."""
        return np.asarray(self.gauge_mm - self.apply(self.reading_mm)[0])

    @property
    def linearity_mm(self) -> float:
        """The furthest any gauge lies off the straight line of least squares."""
        design = _design(self.reading_mm - self.reference_mm, 2)
        line, *_ = np.linalg.lstsq(design, self.gauge_mm, rcond=None)
        return float(np.max(np.abs(self.gauge_mm - design @ line)))

    def apply(self, reading_mm: FloatArray) -> tuple[FloatArray, FloatArray, NDArray[np.bool_]]:
        """(height, its standard uncertainty, inside the gauges' range), shaped like the reading.

        The uncertainty is the curve's; a single reading adds its own noise. Where `inside` is
        False (a missing reading, NaN, too) the height is extrapolated: flag it, or refuse it.
        """
        low, high = self.range_mm
        design = _design(np.asarray(reading_mm) - self.reference_mm, self.coefficients.size)
        u = np.sqrt(np.einsum("...i,ij,...j->...", design, self.covariance, design))
        inside = (reading_mm >= low) & (reading_mm <= high)
        return np.asarray(design @ self.coefficients), np.asarray(u), np.asarray(inside)


def _design(offset_mm: FloatArray, terms: int) -> FloatArray:
    return np.stack([offset_mm**power for power in range(terms)], axis=-1)


def fit_sensor(reading_mm: FloatArray, gauge_mm: FloatArray, u_gauge_mm: FloatArray) -> SensorCurve:
    """Calibration curve by least squares about the mean reading, as in GUM H.3.

    reading_mm: float[n], nominal millimetres; gauge_mm, u_gauge_mm: float[n], the gauge under
    each reading and its standard uncertainty. A gauge may be read more than once.

    A line, unless a quadratic explains more than chance would: F = (SS1 - SS2) / (SS2 / (n - 3))
    against the F distribution with 1 and n - 3 degrees of freedom, at 1 %. That takes five
    readings; with fewer it stays a line. Where the line leaves nothing (quantised readings on
    a straight sensor) there is nothing to explain, and it stays a line too.

    Readings of one gauge share that gauge's error; different gauges are taken as independent.
    The scatter holds part of it already: counted twice, it errs on the safe side.

    Raises SensorError: under three readings, under three different gauges, or readings that do
    not go one way as the gauges rise.
    """
    reading, gauge, u_gauge = (
        np.asarray(a, dtype=float) for a in (reading_mm, gauge_mm, u_gauge_mm)
    )
    _check(reading, gauge)
    reference = float(np.mean(reading))
    half = float(np.ptp(reading)) / 2.0
    scaled = (reading - reference) / half
    line, line_left = _least_squares(scaled, gauge, 2)
    curve, left = line, line_left
    if gauge.size >= 5:
        bent, bent_left = _least_squares(scaled, gauge, 3)
        if _needs_bend(line_left, bent_left, gauge):
            curve, left = bent, bent_left
    _check_one_way(curve)
    variance = left / (gauge.size - curve.size) if gauge.size > curve.size else 0.0
    back = half ** -np.arange(curve.size, dtype=float)
    covariance = _covariance(scaled, curve.size, variance, gauge, u_gauge) * np.outer(back, back)
    return SensorCurve(
        reference, curve * back, covariance, float(np.sqrt(variance)), reading, gauge, u_gauge
    )


def _least_squares(scaled: FloatArray, gauge: FloatArray, terms: int) -> tuple[FloatArray, float]:
    """Coefficients and the sum of squares they leave."""
    design = _design(scaled, terms)
    fit, *_ = np.linalg.lstsq(design, gauge, rcond=None)
    return fit, float(np.sum((gauge - design @ fit) ** 2))


def _needs_bend(line_left: float, bent_left: float, gauge: FloatArray) -> bool:
    rounding = gauge.size * (1e-12 * float(np.max(np.abs(gauge)))) ** 2
    if line_left <= rounding:
        return False
    free = gauge.size - 3
    ratio = (line_left - bent_left) / max(bent_left / free, 1e-300)
    return bool(fdtrc(1.0, float(free), max(ratio, 0.0)) < BENT_CHANCE)


def _covariance(
    scaled: FloatArray, terms: int, variance: float, gauge: FloatArray, u_gauge: FloatArray
) -> FloatArray:
    """From the scatter, s^2 (A'A)^-1, and from the gauges through the same least squares."""
    design = _design(scaled, terms)
    inverse = np.linalg.inv(design.T @ design)
    pull = inverse @ design.T
    same = gauge[:, None] == gauge[None, :]
    gauges = np.where(same, np.outer(u_gauge, u_gauge), 0.0)
    return np.asarray(inverse * variance + pull @ gauges @ pull.T)


def _check(reading: FloatArray, gauge: FloatArray) -> None:
    if gauge.size < 3:
        raise SensorError(f"{gauge.size} readings on gauges; a curve needs at least 3")
    sizes = np.unique(gauge)
    if sizes.size < 3:
        raise SensorError(
            f"{gauge.size} readings, but only {sizes.size} different gauges; "
            "a curve needs at least 3"
        )
    means = np.array([np.mean(reading[gauge == size]) for size in sizes])
    rise = np.sign(means[-1] - means[0])
    # neighbours closer than noise may swap; a mistaken gauge stands further off
    back = np.flatnonzero(np.diff(means) * rise < -NEAR_SHARE * np.ptp(means))
    if rise == 0 or back.size:
        at = int(back[0]) if back.size else 0
        raise SensorError(
            f"not one way: gauges {sizes[at]:g} and {sizes[at + 1]:g} mm read {means[at]:.4g} and "
            f"{means[at + 1]:.4g} mm; was a gauge mistaken, or the sensor at its stop?"
        )


def _check_one_way(curve: FloatArray) -> None:
    """The slope keeps its sign over the range, which is -1 to 1 in scaled readings."""
    slopes = curve[1] + 2.0 * np.array([-1.0, 1.0]) * (curve[2] if curve.size > 2 else 0.0)
    if slopes[0] * slopes[1] <= 0:
        raise SensorError(
            "not one way: the curve through the gauges turns back within their range; "
            "use less of the sensor's range"
        )


def to_document(curve: SensorCurve) -> dict[str, Any]:
    """Plain numbers and lists, to be kept as JSON."""
    return {
        "kind": "sensor",
        "reference_mm": curve.reference_mm,
        "coefficients": curve.coefficients.tolist(),
        "covariance": curve.covariance.tolist(),
        "scatter_mm": curve.scatter_mm,
        "reading_mm": curve.reading_mm.tolist(),
        "gauge_mm": curve.gauge_mm.tolist(),
        "u_gauge_mm": curve.u_gauge_mm.tolist(),
    }


def from_document(document: Mapping[str, Any]) -> SensorCurve:
    """The curve that `to_document` wrote; other keys are let be.

    Raises SensorError where the document is of another kind or lacks a key.
    """
    if document.get("kind") != "sensor":
        raise SensorError(f"kind: found {document.get('kind')!r}; allowed: 'sensor'")
    arrays = ("coefficients", "covariance", "reading_mm", "gauge_mm", "u_gauge_mm")
    missing = [k for k in (*arrays, "reference_mm", "scatter_mm") if k not in document]
    if missing:
        raise SensorError(f"sensor calibration: {', '.join(missing)} missing; calibrate again")
    return SensorCurve(
        reference_mm=float(document["reference_mm"]),
        scatter_mm=float(document["scatter_mm"]),
        **{key: np.array(document[key], dtype=float) for key in arrays},
    )
