"""Finding out how straight the rail is: a scan, a fit, a document kept in the workshop."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from calibration.correct import correct
from calibration.rail import RailError, RailMap, fit_rail
from daq.acquire.lanes import rail_passes
from daq.errors import InputError
from daq.files.rig import RigFile
from daq.reading.calibrated import calibrations_for
from daq.reading.neck import scan_passes
from daq.reading.rail import rail_document
from daq.steps.calibrating import calibration_scan
from daq.steps.recording import Operator, now
from daq.workshop.place import Workshop


@dataclass(frozen=True, slots=True)
class RailCalibrated:
    """The map, where it is kept and the scan it came from."""

    rail: RailMap
    path: Path
    scan_path: Path


def calibrate_rail(
    workshop: Workshop, rig: RigFile, straightedge_um: float, operator: Operator
) -> RailCalibrated:
    """Scans the straightedge on the rig and keeps the rail's error map.

    straightedge_um: the straightedge's own standard uncertainty. Nothing is kept where the scan
    shows no straightedge (InputError); the scan itself stays.
    """
    store = workshop.calibrations(rig.name)
    scan = calibration_scan("rail", rig, store, rail_passes(rig), operator)
    calibrations = calibrations_for(scan, store)
    profiles = correct(
        scan_passes(scan, rig, calibrations),
        rig.pad_records,
        abs(rig.sensor.mm_per_count),
        calibrations.lag,
        None,
    )
    try:
        rail = fit_rail(profiles, rig.pad_records, straightedge_um)
    except RailError as error:
        raise InputError(f"{scan.path}: {error}; no map was kept") from error
    about = {
        "reference": "straightedge",
        "u_straightedge_um": straightedge_um,
        "scan": scan.path.name,
        "lag_known": calibrations.lag is not None,
    }
    path = store.save("rail", rail_document(rail, rig.name, now(), about))
    return RailCalibrated(rail, path, scan.path)
