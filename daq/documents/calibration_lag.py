"""What the calibration of lag and backlash found, as the command answers it."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from calibration.lag import Lag
from daq.documents.numbers import rounded


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
