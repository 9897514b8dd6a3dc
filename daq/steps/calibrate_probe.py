"""The ball's radius or the spot's width: a scan over a pin or an edge, a fit, a document."""

from __future__ import annotations

from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np

from calibration.passes import RawPass
from calibration.probe.cap import Cap, ProbeError, cut_caps
from calibration.probe.spot import SpotFound, fit_spot
from calibration.probe.tip import Scales, TipFound, fit_tip
from calibration.probe.trace import Touched
from daq.acquire.passes.lanes import PassPlan, both_ways, straight_lane
from daq.errors import InputError
from daq.files.rig import RigFile
from daq.reading.calibrated import Calibrations, calibrations_for
from daq.reading.neck import scan_passes
from daq.reading.probe import nominal_mm, probe_document
from daq.steps.calibrating import calibration_scan
from daq.steps.recording import Operator, now
from daq.workshop.place import Workshop

#: A contact tip is scanned slower than a neck, and not at a speed where every count is rounded
#: alike; a spot so that readings lie this close.
CONTACT_SHARE, CONTACT_REPEATS = 0.4687, 3
SPOT_STEP_MM, SPOT_REPEATS = 0.0213, 2
#: How well a homemade rail's travel is known against its counts, before any screw calibration,
#: and how far from square across a pin may lie, rad.
TRAVEL_SHARE, ASKEW_RAD = 0.0005, 0.035
#: How well a sensor that was not calibrated is known by its nominal mm per count.
NOMINAL_SHARE = 0.003
#: A tip this far from what the rig file says is sooner another pin.
FURTHEST_SHARE = 0.3
#: Cut out around the top: this much more than the circle of tip and pin; at an edge seen by light.
CAP_SHARE, EDGE_CAP_MM = 1.3, 2.0


@dataclass(frozen=True, slots=True)
class ProbeCalibrated:
    """What was found, what the rig file says, where it is kept and the scan it came from."""

    found: TipFound | SpotFound
    nominal_mm: float
    path: Path
    scan_path: Path

    @property
    def off_mm(self) -> float:
        """Found less the rig file's."""
        size = self.found.radius_mm if isinstance(self.found, TipFound) else self.found.width_mm
        return size - self.nominal_mm

    @property
    def agrees(self) -> bool:
        """Whether the rig file is right within twice the standard uncertainty."""
        return abs(self.off_mm) <= 2.0 * self.found.u_mm


def calibrate_probe(
    workshop: Workshop, rig: RigFile, over: Touched, operator: Operator
) -> ProbeCalibrated:
    """Scans a pin or an edge that lies across the rail, both ways several times, and keeps the
    tip's radius or the spot's width.

    over: the pin; radius 0 is a sharp edge. Raises InputError, and keeps nothing, where the
    trace is not that of a tip or spot over it; the scan itself stays.
    """
    optical = rig.sensor.kind == "optical"
    if optical and over.radius_mm > 0.0:
        raise InputError(
            "--pin-mm: a spot of light takes next to nothing off a pin; allowed --edge for an "
            "optical sensor"
        )
    store = workshop.calibrations(rig.name)
    scan = calibration_scan("probe", rig, store, _passes(rig), operator)
    calibrations = calibrations_for(scan, store)
    try:
        passes = _straightened(scan_passes(scan, rig, calibrations), calibrations)
        found = _spot(passes, rig, over) if optical else _tip(passes, rig, over, calibrations)
    except ProbeError as error:
        said = str(error)
        stop = "" if said.endswith("?") else ";"
        raise InputError(f"{scan.path}: {said}{stop} nothing was kept") from error
    about = {
        "over": "pin" if over.radius_mm else "edge",
        "pin_mm": 2.0 * over.radius_mm,
        "u_over_radius_um": 1e3 * over.u_mm,
        "scan": scan.path.name,
    }
    path = store.save("probe", probe_document(found, rig, now(), about))
    return ProbeCalibrated(found, nominal_mm(rig), path, scan.path)


def _passes(rig: RigFile) -> tuple[PassPlan, ...]:
    full = rig.carriage.speed_mm_s
    speed, repeats = CONTACT_SHARE * full, CONTACT_REPEATS
    if rig.sensor.kind == "optical":
        speed, repeats = min(speed, SPOT_STEP_MM * rig.sensor.rate_hz), SPOT_REPEATS
    lanes = [replace(straight_lane(rig), lane=number) for number in range(1, repeats + 1)]
    return both_ways(lanes, speed)


def _straightened(passes: list[RawPass], calibrations: Calibrations) -> list[RawPass]:
    """Without the rail's own curvature, where it is known."""
    if calibrations.rail is None:
        return passes
    rail = calibrations.rail
    return [replace(one, z_mm=one.z_mm - rail.at(one.x_mm, one.y_mm)[0]) for one in passes]


def _caps(passes: list[RawPass], rig: RigFile, half_mm: float) -> list[Cap]:
    quantum = (rig.carriage.mm_per_count, abs(rig.sensor.mm_per_count))
    return cut_caps(passes, rig.pad_records, quantum, half_mm)


def _spot(passes: list[RawPass], rig: RigFile, over: Touched) -> SpotFound:
    caps = _caps(passes, rig, EDGE_CAP_MM + nominal_mm(rig))
    return fit_spot(caps, over.u_mm, TRAVEL_SHARE)


def _tip(
    passes: list[RawPass], rig: RigFile, over: Touched, calibrations: Calibrations
) -> TipFound:
    nominal = nominal_mm(rig)
    caps = _caps(passes, rig, CAP_SHARE * (over.radius_mm + nominal))
    top = max(float(np.nanpercentile(one.z_mm, 99.9)) for one in passes)
    along = float(np.hypot(TRAVEL_SHARE, 0.5 * ASKEW_RAD**2 / np.sqrt(5.0)))
    found = fit_tip(caps, over, nominal, Scales(along, _up(calibrations, top, over.radius_mm)))
    if abs(found.radius_mm - nominal) > FURTHEST_SHARE * nominal:
        raise ProbeError(
            f"over {over.words} the tip would have a radius of {found.radius_mm:.3f} mm, and the "
            f"rig file says {nominal:g}: was it that pin or edge? Where it was, put tip_radius_mm "
            f"{found.radius_mm:.2f} into the rig file and calibrate again"
        )
    return found


def _up(calibrations: Calibrations, top_mm: float, deep_mm: float) -> float:
    """The sensor's uncertainty of scale over the cap, as a share."""
    curve = calibrations.sensor
    if curve is None:
        return NOMINAL_SHARE
    deep = max(deep_mm, 0.5)
    return float(curve.u_of_difference(top_mm, top_mm - deep)) / deep
