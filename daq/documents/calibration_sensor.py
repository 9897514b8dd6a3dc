"""What the sensor's calibration found, as the command answers it."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from calibration.sensor import SensorCurve
from daq.documents.numbers import rounded


def sensor_answer(curve: SensorCurve, path: Path) -> dict[str, Any]:
    """The curve's range, shape and residuals, micrometres; the curve itself is in the file."""
    low, high = curve.range_mm
    return {
        "kind": "sensor",
        "from_mm": rounded(low, 4),
        "to_mm": rounded(high, 4),
        "quadratic": curve.bent,
        "scatter_um": rounded(1e3 * curve.scatter_mm, 3),
        "linearity_um": rounded(1e3 * curve.linearity_mm, 3),
        "residuals_um": [rounded(1e3 * float(r), 3) for r in curve.residuals_mm],
        "file": str(path),
    }
