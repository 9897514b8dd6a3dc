"""A job's latest scans, read together."""

from __future__ import annotations

from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from analysis.instrument import Instrument, joint_mm
from analysis.neck.neck import Neck
from analysis.neck.shape import Shape, strung_shape, unstrung_shape
from analysis.pattern.belongs import check_pulled
from analysis.states.inferred import inferred_strung_shape
from analysis.states.movement import Field
from analysis.states.untouched import untouched_movement
from daq.documents.movement import relief_changes
from daq.documents.stored_plan import planned_um
from daq.errors import InputError
from daq.reading.lanes import check_whole
from daq.reading.neck import ReadScan, look_over, read_scan_neck, rig_of
from daq.record.scan import Scan, read_scan
from daq.workshop.calibrations import CalibrationStore
from daq.workshop.job import Job
from daq.workshop.numbered import number_of
from daq.workshop.place import Workshop
from daq.workshop.store import read_group


@dataclass(frozen=True, slots=True)
class BothStates:
    """The strung neck inferred under its strings, and the unstrung ones it came from.

    strung: as it would stand now, filed or not. strung_then: as it stood when it was scanned.
    paired: the unstrung neck that belongs to that scan. unstrung: the latest. field:
    strung_then minus paired.
    """

    instrument: Instrument
    strung: Shape
    strung_then: Shape
    paired: Shape
    unstrung: Shape
    field: Field
    strung_scan: ReadScan
    paired_scan: ReadScan
    unstrung_scan: ReadScan


def read_state(workshop: Workshop, job: Job, path: Path, state: str) -> ReadScan:
    """One scan of a job, with the workshop's calibrations of its rig.

    Raises InputError where it is not of that state, or cannot be read to this job's neck.
    """
    scan = read_scan(path)
    if scan.purpose == "scan" and scan.state != state:
        raise InputError(
            f"{path}: is named {state}, and says of itself that it is {scan.state}; give it back "
            "its own name, or move it away"
        )
    try:
        return read_scan_neck(scan, job.instrument().record, _store(workshop, scan))
    except InputError as error:
        raise _with_file(error, job) from error


def read_whole(workshop: Workshop, job: Job, path: Path, state: str) -> ReadScan:
    """As `read_state`, and every lane is there. Raises InputError."""
    read = read_state(workshop, job, path, state)
    check_whole(read.scan, job.instrument().record)
    return read


def look_over_state(workshop: Workshop, job: Job, scan: Scan) -> tuple[str, ...]:
    """Whether a scan just made will do for its job, and what to know of it. Raises InputError."""
    try:
        return look_over(scan, job.instrument().record, _store(workshop, scan))
    except InputError as error:
        raise _with_file(error, job) from error


def _with_file(error: InputError, job: Job) -> InputError:
    """Where the instrument's file is at fault: which one it is, for a job has its own."""
    about_file = any(f": {key}: the file says" in str(error) for key in ("scale_mm", "frets"))
    return InputError(f"{error} in {job.instrument_path}") if about_file else error


def _store(workshop: Workshop, scan: Scan) -> CalibrationStore:
    return workshop.calibrations(rig_of(scan).name)


def job_shape(workshop: Workshop, job: Job, state: str) -> tuple[Shape, ReadScan]:
    """The neck in one state, by its latest scan.

    A strung neck is inferred under its strings where there is an unstrung scan to do it from.
    """
    path = job.need_scan(state)
    if state == "strung" and job.latest_scan("unstrung") is not None:
        both = both_states(workshop, job)
        return both.strung, both.strung_scan
    read = read_state(workshop, job, path, state)
    instrument = job.instrument().record
    alone = strung_shape if state == "strung" else unstrung_shape
    return alone(read.neck, instrument), read


def both_states(
    workshop: Workshop, job: Job, strung_name: str | None = None, unstrung_name: str | None = None
) -> BothStates:
    """The latest strung scan, the unstrung one that belongs to it, and the latest unstrung one.

    The unstrung scan nearest before or after the strung one shows the same metal, and gives the
    movement. A later one shows a neck filed since: its tops are taken, laid over the other on
    what no file touched. The names take older scans of the job instead of the latest. Raises
    InputError where a scan is missing or they do not belong together.
    """
    strung_path = _scan_path(job, "strung", strung_name)
    latest_path = _scan_path(job, "unstrung", unstrung_name)
    instrument = job.instrument().record
    strung = read_whole(workshop, job, strung_path, "strung")
    latest = read_whole(workshop, job, latest_path, "unstrung")
    paired = _paired(workshop, job, strung_path, latest)
    where = f"{strung_path} and {paired.scan.path}"
    try:
        then, field = inferred_strung_shape(strung.neck, paired.neck, instrument)
        since = _since(job, paired, latest)
        shape = then
        if since is not None:
            shape, _ = inferred_strung_shape(strung.neck, paired.neck, instrument, since)
        unstrung_then = unstrung_shape(paired.neck, instrument)
        _check_pulled(then, unstrung_then, field, instrument.body_joint_fret)
    except ValueError as error:
        raise InputError(f"{where}: {error}") from error
    return BothStates(
        instrument,
        shape,
        then,
        unstrung_then,
        unstrung_shape(latest.neck, instrument),
        field,
        strung,
        paired,
        latest,
    )


def _scan_path(job: Job, state: str, name: str | None) -> Path:
    return job.need_scan(state) if name is None else job.scans_folder / name


def _paired(workshop: Workshop, job: Job, strung_path: Path, latest: ReadScan) -> ReadScan:
    """The unstrung scan nearest in the job's order; of two as near, the earlier one.

    One that shows no whole unstrung neck is passed over: it was scanned again since.
    """
    number = number_of(strung_path) or 0
    unstrung = [scan for scan in job.scans() if scan.state == "unstrung"]
    for scan in sorted(unstrung, key=lambda scan: (abs(scan.number - number), scan.number)):
        if scan.path == latest.scan.path:
            break
        with suppress(InputError):
            return read_whole(workshop, job, scan.path, "unstrung")
    return latest


def _check_pulled(strung: Shape, unstrung: Shape, field: Field, joint: int) -> None:
    changes = relief_changes(strung, unstrung, field, joint)
    check_pulled(
        np.array([one.change_mm for one in changes]), np.array([one.u_change_mm for one in changes])
    )


def _since(job: Job, paired: ReadScan, latest: ReadScan) -> tuple[Neck, Field] | None:
    if latest is paired:
        return None
    instrument = job.instrument().record
    planned = np.zeros((instrument.frets, len(instrument.strings)))
    for path in job.plans():
        planned += planned_um(read_group(path), instrument)
    return latest.neck, untouched_movement(paired.neck, latest.neck, planned, joint_mm(instrument))
