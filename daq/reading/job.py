"""A job's latest scans, read together."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

import numpy as np

from analysis.instrument import Instrument
from analysis.movement import Field
from analysis.neck import Neck
from analysis.shape import Shape, inferred_strung_shape, strung_shape, unstrung_shape
from analysis.untouched import untouched_movement
from daq.documents.stored_plan import planned_um
from daq.errors import InputError
from daq.reading.neck import ReadScan, read_scan_neck, rig_of
from daq.record.scan import Scan, read_scan
from daq.workshop.calibrations import CalibrationStore
from daq.workshop.job import Job
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


def read_state(workshop: Workshop, job: Job, path: Path) -> ReadScan:
    """One scan of a job, with the workshop's calibrations of its rig."""
    scan = read_scan(path)
    return read_scan_neck(scan, job.instrument().record, _store(workshop, scan))


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
    read = read_state(workshop, job, path)
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
    paired_path = _paired(job, strung_path)
    instrument = job.instrument().record
    strung = read_state(workshop, job, strung_path)
    paired = read_state(workshop, job, paired_path)
    latest = paired if latest_path == paired_path else read_state(workshop, job, latest_path)
    try:
        then, field = inferred_strung_shape(strung.neck, paired.neck, instrument)
        since = _since(job, paired, latest)
        shape = then
        if since is not None:
            shape, _ = inferred_strung_shape(strung.neck, paired.neck, instrument, since)
    except ValueError as error:
        raise InputError(f"{strung_path} and {paired_path}: {error}") from error
    return BothStates(
        instrument,
        shape,
        then,
        unstrung_shape(paired.neck, instrument),
        unstrung_shape(latest.neck, instrument),
        field,
        strung,
        paired,
        latest,
    )


def _scan_path(job: Job, state: str, name: str | None) -> Path:
    return job.need_scan(state) if name is None else job.scans_folder / name


def _paired(job: Job, strung_path: Path) -> Path:
    """The unstrung scan nearest in the job's order; of two as near, the earlier one."""
    number = next(scan.number for scan in job.scans() if scan.path == strung_path)
    unstrung = [scan for scan in job.scans() if scan.state == "unstrung"]
    return min(unstrung, key=lambda scan: (abs(scan.number - number), scan.number)).path


def _since(job: Job, paired: ReadScan, latest: ReadScan) -> tuple[Neck, Field] | None:
    if latest is paired:
        return None
    instrument = job.instrument().record
    planned = np.zeros((instrument.frets, len(instrument.strings)))
    for path in job.plans():
        planned += planned_um(read_group(path), instrument)
    return latest.neck, untouched_movement(paired.neck, latest.neck, planned)
