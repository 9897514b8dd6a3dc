"""What the calibration of lag and backlash found, as the command answers it."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from calibration.lag.fit import LagFit
from daq.documents.numbers import rounded


def lag_answer(found: LagFit, path: Path, scan_path: Path) -> dict[str, Any]:
    """Lag and backlash with their uncertainties, and how far apart the passes lie corrected."""
    lag = found.lag
    return {
        "kind": "lag",
        "lag_ms": rounded(1e3 * lag.lag_s, 4),
        "u_lag_ms": rounded(1e3 * lag.u_lag_s, 4),
        "backlash_mm": rounded(lag.backlash_mm, 5),
        "u_backlash_mm": rounded(lag.u_backlash_mm, 5),
        "correlation": rounded(lag.correlation, 3),
        "backlash_varies": found.varies,
        "backlash_um_per_m": rounded(1e6 * found.slope_per_mm, 2),
        "u_backlash_um_per_m": rounded(1e6 * found.u_slope_per_mm, 2),
        "middle_mm": rounded(lag.middle_mm, 1),
        "apart_um": rounded(found.apart_um, 3),
        "height_um": rounded(found.height_um, 3),
        "file": str(path),
        "scan": str(scan_path),
    }
