"""Finding out how late and how slack the rig is: a scan, a fit, a document in the workshop."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

import numpy as np

from calibration.correct import correct, pairs_both_ways
from calibration.lag import Lag, LagError, fit_lag, match_shift
from calibration.passes import RawPass
from calibration.profile import Profile
from daq.acquire.lanes import lag_passes
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
#: What rounding to whole counts does to a pass as a whole, in counts.
ROUNDING_COUNTS = 0.06


@dataclass(frozen=True, slots=True)
class LagCalibrated:
    """Lag and backlash, where they are kept and the scan they came from."""

    lag: Lag
    path: Path
    scan_path: Path


def calibrate_lag(workshop: Workshop, rig: RigFile, operator: Operator) -> LagCalibrated:
    """Scans whatever stands on the rig both ways at two speeds and keeps lag and backlash.

    Along the middle; where that is too even to match and the rig drives across, once more to
    one side, for a string may lie along the middle of a strung neck. Raises InputError where
    nothing on the rig has a shape to match.
    """
    store = workshop.calibrations(rig.name)
    asides = (0.0, ASIDE_MM) if rig.has_cross else (0.0,)
    for y_mm in asides:
        scan = calibration_scan("lag", rig, store, lag_passes(rig, y_mm), operator)
        passes = scan_passes(scan, rig, calibrations_for(scan, store))
        try:
            lag = _fit_lag(passes, rig)
            break
        except LagError as error:
            if y_mm == asides[-1]:
                raise InputError(f"{scan.path}: {error}; nothing was kept") from error
            operator.progress.notice(f"y = {y_mm:g} mm: {error}; trying y = {ASIDE_MM:g} mm")
    about = {"scan": scan.path.name, "speeds_mm_s": sorted({one.speed_mm_s for one in passes})}
    path = store.save("lag", lag_document(lag, rig.name, now(), about))
    return LagCalibrated(lag, path, scan.path)


def _fit_lag(passes: list[RawPass], rig: RigFile) -> Lag:
    profiles = correct(passes, rig.pad_records, abs(rig.sensor.mm_per_count), None, None)
    return fit_lag(_shifts(profiles, [one.speed_mm_s for one in passes], rig))


def _shifts(
    profiles: list[Profile], speeds: list[float], rig: RigFile
) -> list[tuple[float, float, float]]:
    """(speed, shift between the ways, its u) of every lane at every speed."""
    rounding = ROUNDING_COUNTS * rig.carriage.mm_per_count
    found = []
    for speed in sorted(set(speeds)):
        same = [p for p, v in zip(profiles, speeds, strict=True) if v == speed]
        for pair in pairs_both_ways(same):
            shift, u = match_shift(*pair)
            found.append((speed, shift, float(np.hypot(u, rounding))))
    return found
