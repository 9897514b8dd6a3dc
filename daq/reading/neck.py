"""A scan file read to a neck."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass

import numpy as np

from analysis.belongs import check_belongs
from analysis.faults import NeckError
from analysis.instrument import Instrument
from analysis.neck import Neck, Tip, read_neck
from calibration.correct import correct, self_lag
from calibration.lag import Lag, LagError
from calibration.passes import RawPass
from calibration.profile import Profile
from daq.errors import InputError
from daq.files.rig import RigFile, parse_rig
from daq.reading.calibrated import Calibrations, calibrations_for
from daq.reading.lanes import check_lanes
from daq.record.profiles import raw_passes
from daq.record.scan import Scan
from daq.workshop.calibrations import CalibrationStore


@dataclass(frozen=True, slots=True)
class ReadScan:
    """A neck, the scan it was read from and the calibrations it was read with."""

    scan: Scan
    neck: Neck
    calibrations: Calibrations


def rig_of(scan: Scan) -> RigFile:
    """The rig file recorded with a scan."""
    return parse_rig(scan.rig_text, f"{scan.path} (rig file inside)")


def scan_passes(scan: Scan, rig: RigFile, calibrations: Calibrations) -> list[RawPass]:
    """The good passes of a scan in millimetres, through the sensor's curve where there is one.

    Readings outside the curve's range are no readings. Raises InputError where no pass is good.
    """
    passes = raw_passes(
        scan, rig.carriage.mm_per_count, rig.cross_mm_per_count, rig.sensor.mm_per_count
    )
    if not passes:
        raise InputError(f"{scan.path}: holds no good pass; scan again")
    if calibrations.sensor is None:
        return passes
    return [_through_curve(one, calibrations) for one in passes]


def _through_curve(one: RawPass, calibrations: Calibrations) -> RawPass:
    assert calibrations.sensor is not None
    value, _, inside = calibrations.sensor.apply(one.z_mm)
    return RawPass(
        one.lane,
        one.string,
        one.direction,
        one.speed_mm_s,
        one.t_s,
        one.x_mm,
        one.y_mm,
        np.where(inside, value, np.nan),
    )


def scan_profiles(scan: Scan, rig: RigFile, calibrations: Calibrations) -> list[Profile]:
    """Every good pass corrected. Without a lag calibration the ways are laid over one another."""
    passes = scan_passes(scan, rig, calibrations)
    quantum = abs(rig.sensor.mm_per_count)
    lag = calibrations.lag
    if lag is None:
        rough = correct(passes, rig.pad_records, quantum, None, None)
        lag = _own_lag(rough, passes[0].speed_mm_s)
    return correct(passes, rig.pad_records, quantum, lag, calibrations.rail)


def _own_lag(rough: list[Profile], speed_mm_s: float) -> Lag | None:
    try:
        return self_lag(rough, speed_mm_s)
    except LagError:
        # nothing with a shape lies on the rig: what reads the profiles will say so
        return None


def read_scan_neck(scan: Scan, instrument: Instrument, store: CalibrationStore | None) -> ReadScan:
    """Fret tops and board of a scan.

    Raises InputError where it is no scan of a neck, not of this instrument, or not in the state
    it is said to be in.
    """
    rig, calibrations, profiles = _profiles(scan, instrument, store)
    tip = Tip(rig.sensor.tip_radius_mm or 0.0, rig.sensor.spot_mm or 0.0)
    with _of(scan):
        check_belongs(profiles, instrument)
        return ReadScan(scan, read_neck(profiles, instrument, tip), calibrations)


def look_over(scan: Scan, instrument: Instrument, store: CalibrationStore | None) -> None:
    """Whether a scan can be read to a neck, without reading it. Raises as `read_scan_neck`."""
    _, _, profiles = _profiles(scan, instrument, store)
    with _of(scan):
        check_belongs(profiles, instrument)


def _profiles(
    scan: Scan, instrument: Instrument, store: CalibrationStore | None
) -> tuple[RigFile, Calibrations, list[Profile]]:
    check_lanes(scan, instrument)
    rig = rig_of(scan)
    calibrations = calibrations_for(scan, store)
    return rig, calibrations, scan_profiles(scan, rig, calibrations)


@contextmanager
def _of(scan: Scan) -> Iterator[None]:
    """What a scan contradicts, with its file's name."""
    try:
        yield
    except NeckError as error:
        raise InputError(f"{scan.path}: {error}") from error
