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
from daq.workshop.store import read_json


@dataclass(frozen=True, slots=True)
class BothStates:
    """The strung neck inferred under its strings, and the unstrung ones it came from.

    strung: as it stands now, filed or not. paired: the unstrung neck that belongs to the
    strung scan. unstrung: the latest. field: strung minus paired.
    """

    instrument: Instrument
    strung: Shape
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


def both_states(workshop: Workshop, job: Job) -> BothStates:
    """The latest strung scan, the unstrung one that belongs to it, and the latest unstrung one.

    The unstrung scan nearest before or after the strung one shows the same metal, and gives the
    movement. A later one shows a neck filed since: its tops are taken, laid over the other on
    what no file touched. Raises InputError where a scan is missing or they do not belong
    together.
    """
    strung_path, latest_path = job.need_scan("strung"), job.need_scan("unstrung")
    paired_path = _paired(job, strung_path)
    instrument = job.instrument().record
    strung = read_state(workshop, job, strung_path)
    paired = read_state(workshop, job, paired_path)
    latest = paired if latest_path == paired_path else read_state(workshop, job, latest_path)
    try:
        since = _since(job, paired, latest)
        shape, field = inferred_strung_shape(strung.neck, paired.neck, instrument, since)
    except ValueError as error:
        raise InputError(f"{strung_path} and {paired_path}: {error}") from error
    return BothStates(
        instrument,
        shape,
        unstrung_shape(paired.neck, instrument),
        unstrung_shape(latest.neck, instrument),
        field,
        strung,
        paired,
        latest,
    )


def _paired(job: Job, strung_path: Path) -> Path:
    """The unstrung scan nearest in the job's order; of two as near, the earlier one."""
    number = next(scan.number for scan in job.scans() if scan.path == strung_path)
    unstrung = [scan for scan in job.scans() if scan.state == "unstrung"]
    return min(unstrung, key=lambda scan: (abs(scan.number - number), scan.number)).path


def _since(job: Job, paired: ReadScan, latest: ReadScan) -> tuple[Neck, Field] | None:
    if latest is paired:
        return None
    plan_path = job.latest_plan()
    instrument = job.instrument().record
    planned = np.zeros((instrument.frets, len(instrument.strings)))
    if plan_path is not None:
        planned = planned_um(read_json(plan_path), instrument)
    return latest.neck, untouched_movement(paired.neck, latest.neck, planned)
