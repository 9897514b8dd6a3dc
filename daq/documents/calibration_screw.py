"""What the calibration of the lead screw found, as the command answers it."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import Any

from calibration.screw.fit import ScrewFit
from daq.documents.numbers import rounded


def screw_answer(found: ScrewFit, path: Path, scan_paths: Sequence[Path]) -> dict[str, Any]:
    """Scale and periodic error with their uncertainties; null where no periodic error was seen."""
    screw = found.screw
    seen = found.periodic
    return {
        "kind": "screw",
        "scale_ppm": rounded(1e6 * (screw.scale - 1.0), 1),
        "u_scale_ppm": rounded(1e6 * screw.u_scale, 1),
        "periodic_seen": seen,
        "pitch_mm": rounded(screw.pitch_mm, 4) if seen else None,
        "amplitude_um": rounded(1e3 * screw.amplitude_mm, 2) if seen else None,
        "phase_rad": rounded(screw.phase_rad, 3) if seen else None,
        "u_periodic_um": rounded(1e3 * screw.u_periodic_mm, 2),
        "at_most_um": rounded(found.most_um, 2),
        "misplaced_um": rounded(found.misplaced_um, 1),
        "scatter_um": rounded(found.scatter_um, 2),
        "placements": found.placements,
        "unseen": list(found.unseen),
        "file": str(path),
        "scans": [str(one) for one in scan_paths],
    }
