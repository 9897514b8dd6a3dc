"""What the sensor's calibration found, as the command answers it."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from calibration.sensor.curve import SensorFit
from calibration.sensor.hysteresis import Hysteresis
from daq.documents.numbers import rounded


def sensor_answer(fit: SensorFit, path: Path) -> dict[str, Any]:
    """The curve's range and shape, and every reading on it; the curve itself is in the file."""
    curve = fit.curve
    low, high = curve.range_mm
    return {
        "kind": "sensor",
        "from_mm": rounded(low, 4),
        "to_mm": rounded(high, 4),
        "order": curve.order,
        "chance_of_no_more": rounded(fit.order.chance, 4),
        "unseen_bend_um": rounded(1e3 * fit.order.unseen_mm, 3),
        "scatter_um": rounded(1e3 * curve.scatter_mm, 3),
        "linearity_um": rounded(1e3 * curve.linearity_mm, 3),
        "factor_95": rounded(curve.factor, 3),
        "u_difference_um": rounded(1e3 * _u_across(fit), 3),
        "readings": _readings(fit),
        "hysteresis": None if fit.hysteresis is None else _hysteresis(fit.hysteresis),
        "file": str(path),
    }


def _u_across(fit: SensorFit) -> float:
    """Of the height between the ends of the range: the curve's error of scale at its largest."""
    return float(fit.curve.u_of_difference(*fit.curve.range_mm))


def _readings(fit: SensorFit) -> list[dict[str, float | None]]:
    curve = fit.curve
    _, u, _ = curve.apply(curve.reading_mm)
    rows = zip(
        curve.gauge_mm, curve.u_gauge_mm, curve.reading_mm, curve.residuals_mm, u, strict=True
    )
    return [
        {
            "gauge_mm": rounded(gauge, 5),
            "u_gauge_um": rounded(1e3 * u_gauge, 3),
            "reading_mm": rounded(reading, 5),
            "residual_um": rounded(1e3 * off, 3),
            "u_curve_um": rounded(1e3 * u_curve, 3),
        }
        for gauge, u_gauge, reading, off, u_curve in rows
    ]


def _hysteresis(loop: Hysteresis) -> dict[str, Any]:
    each = zip(loop.gauge_mm, loop.each_mm, loop.u_each_mm, strict=True)
    return {
        "falling_less_rising_um": rounded(1e3 * loop.whole_mm, 3),
        "u_falling_less_rising_um": rounded(1e3 * loop.u_mm, 3),
        "chance_of_none": rounded(loop.chance, 4),
        "seen": loop.seen,
        "drift_um_min": rounded(6e4 * loop.drift_mm_s, 3),
        "u_drift_um_min": rounded(6e4 * loop.u_drift_mm_s, 3),
        "gauges": [
            {
                "gauge_mm": rounded(gauge, 5),
                "falling_less_rising_um": rounded(1e3 * off, 3),
                "u_falling_less_rising_um": rounded(1e3 * u, 3),
            }
            for gauge, off, u in each
        ],
    }
