"""The scan behind a calibration."""

from __future__ import annotations

from daq.acquire.passes.lanes import PassPlan
from daq.files.rig import RigFile
from daq.record.scan import Scan
from daq.steps.recording import Operator, first_note, recorded
from daq.workshop.calibrations import CalibrationStore


def calibration_scan(
    purpose: str,
    rig: RigFile,
    store: CalibrationStore,
    passes: tuple[PassPlan, ...],
    operator: Operator,
    label: str = "",
) -> Scan:
    """Scans for a calibration; the scan is kept beside the calibrations, whatever comes of it."""
    begin = first_note(purpose, rig, store, label=label)
    return recorded(begin, passes, store.next_scan_path(purpose), operator)
