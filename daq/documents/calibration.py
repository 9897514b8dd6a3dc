"""What a calibration found, as the command answers it."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np

from calibration.lag import Lag
from calibration.rail import RailMap
from calibration.sensor import SensorCurve
from daq.documents.numbers import rounded


def rail_answer(rail: RailMap, path: Path, scan_path: Path) -> dict[str, Any]:
    """Span, reach and uncertainty of the map; the map itself is in the file named."""
    return {
        "kind": "rail",
        "from_mm": rounded(float(rail.x_mm[0]), 2),
        "to_mm": rounded(float(rail.x_mm[-1]), 2),
        "span_um": rounded(1e3 * float(np.ptp(rail.r_mm)), 2),
        "u_um": rounded(1e3 * float(np.median(rail.u_mm)), 3),
        "file": str(path),
        "scan": str(scan_path),
    }


def lag_answer(lag: Lag, path: Path, scan_path: Path) -> dict[str, Any]:
    """Lag and backlash with their uncertainties."""
    return {
        "kind": "lag",
        "lag_ms": rounded(1e3 * lag.lag_s, 4),
        "u_lag_ms": rounded(1e3 * lag.u_lag_s, 4),
        "backlash_mm": rounded(lag.backlash_mm, 5),
        "u_backlash_mm": rounded(lag.u_backlash_mm, 5),
        "file": str(path),
        "scan": str(scan_path),
    }


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
