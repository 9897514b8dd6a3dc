"""What the probe's calibration found, as the command answers it."""

from __future__ import annotations

from typing import Any

from calibration.probe.tip import TipFound
from daq.documents.numbers import rounded
from daq.steps.calibrate_probe import ProbeCalibrated


def probe_answer(done: ProbeCalibrated) -> dict[str, Any]:
    """The tip or the spot beside what the rig file says of it."""
    found = done.found
    if isinstance(found, TipFound):
        size = {
            "tip_radius_mm": rounded(found.radius_mm, 5),
            "u_tip_radius_mm": rounded(found.u_mm, 6),
            "flat_mm": rounded(found.flat_mm, 3),
            "pin_left_um": rounded(found.left_um, 3),
        }
    else:
        size = {"spot_mm": rounded(found.width_mm, 5), "u_spot_mm": rounded(found.u_mm, 6)}
    return {
        "kind": "probe",
        **size,
        "rig_file_mm": rounded(done.nominal_mm, 5),
        "agrees": done.agrees,
        "passes": found.passes,
        "spread_um": rounded(found.spread_um, 3),
        "file": str(done.path),
        "scan": str(done.scan_path),
    }
