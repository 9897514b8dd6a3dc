"""What the rail's calibration found, as the command answers it."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np

from calibration.rail import RailMap
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
