"""A scan file read to a neck."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, replace

from analysis.belongs.belongs import Belongs, check_belongs
from analysis.faults import NeckError
from analysis.instrument import Instrument
from analysis.neck.curve import with_curve
from analysis.neck.neck import Neck, read_neck
from analysis.neck.rail import RailAlong
from calibration.correct import Corrected, cleaned, corrected, self_lag
from calibration.lag.lag import Lag
from calibration.lag.shift import LagError
from calibration.passes import RawPass
from calibration.profile import Profile
from daq.errors import InputError
from daq.files.rig import RigFile, parse_rig
from daq.reading.calibrated import Calibrations, calibrations_for
from daq.reading.lanes import check_lanes, check_ways
from daq.reading.probe import tip_of
from daq.reading.sensor import through_curve
from daq.record.profiles import raw_passes
from daq.record.scan import Scan
from daq.workshop.calibrations import CalibrationStore


@dataclass(frozen=True, slots=True)
class ReadScan:
    """A neck, the scan it was read from and the calibrations it was read with.

    remarks: what somebody should know: a bumped sensor, a neck that moved, passes one way only, a
    lane off the board, a nut far from where the file has it.
    """

    scan: Scan
    neck: Neck
    calibrations: Calibrations
    remarks: tuple[str, ...] = ()

    @property
    def caution(self) -> str | None:
        """The remarks as one line that names the file, None without any."""
        return f"{self.scan.path}: {'; '.join(self.remarks)}" if self.remarks else None


def rig_of(scan: Scan) -> RigFile:
    """The rig file recorded with a scan."""
    return parse_rig(scan.rig_text, f"{scan.path} (rig file inside)")


def scan_passes(scan: Scan, rig: RigFile, calibrations: Calibrations) -> list[RawPass]:
    """The good passes of a scan in millimetres, through the sensor's curve where there is one.

    Readings outside the curve's range are no readings. Raises InputError where no pass is good,
    or most readings lie outside.
    """
    passes = raw_passes(
        scan, rig.carriage.mm_per_count, rig.cross_mm_per_count, rig.sensor.mm_per_count
    )
    if not passes:
        raise InputError(f"{scan.path}: holds no good pass; scan again")
    if calibrations.sensor is None:
        return passes
    return through_curve(passes, calibrations.sensor, str(scan.path))


def scan_profiles(scan: Scan, rig: RigFile, calibrations: Calibrations) -> list[Profile]:
    """Every good pass corrected. Without a lag calibration the ways are laid over one another."""
    return _corrected(scan, rig, calibrations).profiles


def _corrected(scan: Scan, rig: RigFile, calibrations: Calibrations) -> Corrected:
    passes = scan_passes(scan, rig, calibrations)
    quantum = abs(rig.sensor.mm_per_count)
    clean = cleaned(passes, quantum)
    lag, screw = calibrations.lag, calibrations.screw
    if lag is None:
        rough = corrected(clean, rig.pad_records, quantum, screw=screw).profiles
        lag = _own_lag(rough, passes[0].speed_mm_s)
    return corrected(clean, rig.pad_records, quantum, lag, calibrations.rail, screw)


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
    rig, calibrations, done = _read(scan, instrument, store)
    with _of(scan):
        belongs = _belongs(done, instrument, calibrations)
        tip = tip_of(rig, calibrations.probe)
        neck = read_neck(done.profiles, instrument, tip, belongs.registration)
    if calibrations.sensor is not None:
        neck = with_curve(neck, calibrations.sensor)
    if calibrations.rail_sums is not None:
        at = neck.registration
        neck = replace(neck, rail=RailAlong(calibrations.rail_sums, at.nut_mm, at.scale))
    return ReadScan(scan, neck, calibrations, _remarks(scan, calibrations, done, belongs))


def look_over(
    scan: Scan, instrument: Instrument, store: CalibrationStore | None
) -> tuple[str, ...]:
    """Whether a scan can be read to a neck, without reading it; the remarks of `ReadScan`.

    Raises as `read_scan_neck`.
    """
    _, calibrations, done = _read(scan, instrument, store)
    with _of(scan):
        belongs = _belongs(done, instrument, calibrations)
    return _remarks(scan, calibrations, done, belongs)


def _read(
    scan: Scan, instrument: Instrument, store: CalibrationStore | None
) -> tuple[RigFile, Calibrations, Corrected]:
    check_lanes(scan, instrument)
    rig = rig_of(scan)
    calibrations = calibrations_for(scan, store)
    check_ways(scan, calibrations.lag)
    return rig, calibrations, _corrected(scan, rig, calibrations)


def _belongs(done: Corrected, instrument: Instrument, calibrations: Calibrations) -> Belongs:
    screw = calibrations.screw
    return check_belongs(done.profiles, instrument, None if screw is None else screw.u_scale)


def _remarks(
    scan: Scan, calibrations: Calibrations, done: Corrected, belongs: Belongs
) -> tuple[str, ...]:
    """Of the ways it was made in, of the session, and of the neck on the rig."""
    one_way = check_ways(scan, calibrations.lag)
    return (*one_way, *done.drift.remarks, *belongs.remarks)


@contextmanager
def _of(scan: Scan) -> Iterator[None]:
    """What a scan contradicts, with its file's name."""
    try:
        yield
    except NeckError as error:
        raise InputError(f"{scan.path}: {error}") from error
