"""Finding out how late and how slack the rig is: a scan, a fit, a document in the workshop."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from calibration.lag.fit import LagFit, fit_lag
from calibration.lag.shift import LagError
from calibration.passes import RawPass
from daq.acquire.passes.lanes import lag_passes
from daq.errors import InputError
from daq.files.rig import RigFile
from daq.reading.calibrated import calibrations_for
from daq.reading.lag import lag_document
from daq.reading.neck import scan_passes
from daq.steps.calibrating import calibration_scan
from daq.steps.recording import Operator, now
from daq.workshop.place import Workshop

#: How far to one side the lag is tried where the middle is too even: half a string spacing.
ASIDE_MM = 4.5


@dataclass(frozen=True, slots=True)
class LagCalibrated:
    """Lag and backlash, where they are kept and the scan they came from."""

    found: LagFit
    path: Path
    scan_path: Path


def calibrate_lag(workshop: Workshop, rig: RigFile, operator: Operator) -> LagCalibrated:
    """Scans whatever stands on the rig both ways at two speeds and keeps lag and backlash.

    Along the middle; where that is too even to match and the rig drives across, once more to
    one side, for a string may lie along the middle of a strung neck. Raises InputError where
    nothing on the rig has a shape to match, or a carriage pushed by hand went at one speed.
    """
    store = workshop.calibrations(rig.name)
    asides = (0.0, ASIDE_MM) if rig.has_cross else (0.0,)
    for y_mm in asides:
        scan = calibration_scan("lag", rig, store, lag_passes(rig, y_mm), operator)
        passes = scan_passes(scan, rig, calibrations_for(scan, store))
        try:
            found = fit_lag(passes, rig.carriage.mm_per_count, abs(rig.sensor.mm_per_count))
            break
        except LagError as error:
            if y_mm == asides[-1]:
                raise InputError(f"{scan.path}: {error}; nothing was kept") from error
            operator.progress.notice(f"y = {y_mm:g} mm: {error}; trying y = {ASIDE_MM:g} mm")
    about = {"scan": scan.path.name, "speeds_mm_s": _speeds(passes)}
    path = store.save("lag", lag_document(found, rig.name, now(), about))
    return LagCalibrated(found, path, scan.path)


def _speeds(passes: list[RawPass]) -> list[float]:
    return sorted({one.speed_mm_s for one in passes})
