"""What the rail's calibration found, as the command answers it."""

from __future__ import annotations

from typing import Any

import numpy as np

from calibration.rail.combine import Agreement
from calibration.rail.surface import RailSurface
from daq.documents.numbers import rounded
from daq.reading.rail_kept import KeptEstimate
from daq.steps.calibrate_rail import RailCalibrated


def rail_answer(done: RailCalibrated) -> dict[str, Any]:
    """Span, reach and uncertainty of the map; the map itself is in the file named.

    u_um: of the map in use, what no method sees included; u_seen_um: without that.
    """
    result = done.result
    line = result.line.map()
    return {
        "kind": "rail",
        "method": result.line.method,
        "from_mm": rounded(float(line.x_mm[0]), 2),
        "to_mm": rounded(float(line.x_mm[-1]), 2),
        "span_um": rounded(1e3 * float(np.ptp(line.r_mm)), 2),
        "u_um": rounded(1e3 * float(np.median(line.u_mm)), 3),
        "u_seen_um": rounded(1e3 * float(np.median(result.line.u_seen_mm)), 3),
        "celsius": result.celsius,
        "unseen": list(result.line.unseen),
        "estimates": [_estimate(one) for one in result.kept],
        "agreement": [_agreement(one) for one in result.agreement],
        "across": None if result.across is None else _across(result.across),
        "stands_without": done.alone,
        "measured": dict(done.about),
        "file": str(done.path),
        "scan": str(done.scan_paths[0]),
        "scans": [str(path) for path in done.scan_paths],
    }


def _estimate(one: KeptEstimate) -> dict[str, Any]:
    return {
        "method": one.estimate.method,
        "made": one.made,
        "celsius": rounded(one.celsius, 2) if one.celsius is not None else None,
        "u_seen_um": rounded(1e3 * float(np.median(one.estimate.u_seen_mm)), 3),
        "unseen": list(one.estimate.unseen),
        "scans": list(one.scans),
    }


def _agreement(one: Agreement) -> dict[str, Any]:
    return {
        "method": one.method,
        "apart_um": rounded(one.apart_um, 3),
        "long_p": rounded(one.long_p, 5),
        "agrees": one.agrees,
    }


def _across(across: RailSurface) -> dict[str, Any]:
    low, high = across.y_mm
    return {
        "from_y_mm": rounded(low, 2),
        "to_y_mm": rounded(high, 2),
        "roll_span_mrad": rounded(1e3 * float(np.ptp(across.terms[1])), 4),
        "u_roll_mrad": rounded(1e3 * float(np.median(across.covariance[:, 1, 1] ** 0.5)), 4),
        "misfit": rounded(across.misfit, 2),
    }
