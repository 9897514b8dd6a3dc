"""A job's latest scans, read together."""

from __future__ import annotations

from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from analysis.belongs.belongs import check_pulled
from analysis.findings.findings import Finding, findings, loose_of
from analysis.findings.fingerprint import check_one_neck
from analysis.instrument import Instrument, joint_mm
from analysis.movement.inferred import inferred_strung_shape, strung_shape_by
from analysis.movement.movement import Field
from analysis.movement.untouched import untouched_movement
from analysis.neck.shape import Shape, strung_shape, unstrung_shape
from daq.documents.movement import relief_changes
from daq.documents.stored_plan import planned_um
from daq.errors import InputError
from daq.reading.reader import JobReader
from daq.reading.repeats import CombinedScan, Repeats
from daq.reading.runs import run_to, runs_of
from daq.workshop.job import Job
from daq.workshop.numbered import number_of
from daq.workshop.store import read_group


@dataclass(frozen=True, slots=True)
class BothStates:
    """The strung neck inferred under its strings, and the unstrung ones it came from.

    strung: as it would stand now, filed or not. strung_then: as it stood when it was scanned.
    paired: the unstrung neck that belongs to that scan. unstrung: the latest. field:
    strung_then minus paired; findings: what is no bending between the two. Each scan is its run's
    latest, its neck that of all that repeat it.
    """

    instrument: Instrument
    strung: Shape
    strung_then: Shape
    paired: Shape
    unstrung: Shape
    field: Field
    findings: tuple[Finding, ...]
    strung_scan: CombinedScan
    paired_scan: CombinedScan
    unstrung_scan: CombinedScan

    @property
    def repeats(self) -> dict[str, Repeats]:
        """What the strung neck and the latest unstrung one were made of."""
        return {"strung": self.strung_scan.repeats, "unstrung": self.unstrung_scan.repeats}


def job_shape(reader: JobReader, state: str) -> tuple[Shape, CombinedScan]:
    """The neck in one state, by its latest scan and those that it repeats.

    A strung neck is inferred under its strings where there is an unstrung scan to do it from.
    """
    path = reader.job.need_scan(state)
    if state == "strung" and reader.job.latest_scan("unstrung") is not None:
        both = both_states(reader)
        return both.strung, both.strung_scan.also_loose(loose_of(both.findings))
    read = reader.state(path, state)
    instrument = reader.job.instrument().record
    alone = strung_shape if state == "strung" else unstrung_shape
    return alone(read.neck, instrument), read


def both_states(
    reader: JobReader, strung_name: str | None = None, unstrung_name: str | None = None
) -> BothStates:
    """The latest strung scan, the unstrung one that belongs to it, and the latest unstrung one.

    The unstrung scan nearest before or after the strung one shows the same metal, and gives the
    movement. A later one shows a neck filed since: its tops are taken, laid over the other on
    what no file touched. Each is combined with the scans it repeats. The names take older scans
    of the job instead of the latest, and the job as it was with them. Raises InputError where a
    scan is missing or they do not belong together.
    """
    job = reader.job
    strung_path = _scan_path(job, "strung", strung_name)
    latest_path = _scan_path(job, "unstrung", unstrung_name)
    last = None
    if strung_name is not None and unstrung_name is not None:
        last = max(number_of(strung_path) or 0, number_of(latest_path) or 0)
    instrument = job.instrument().record
    strung = reader.whole(strung_path, "strung", last)
    latest = reader.whole(latest_path, "unstrung", last)
    paired = _paired(reader, strung_path, latest, last)
    _check_one_neck(strung, paired)
    if latest is not paired:
        _check_one_neck(paired, latest, filed=True)
    where = f"{strung_path} and {paired.scan.path}"
    try:
        then, field = inferred_strung_shape(strung.neck, paired.neck, instrument)
        shape = then
        if latest is not paired:
            lay = _lay_since(job, paired, latest, instrument)
            shape = strung_shape_by(field, strung.neck, latest.neck, instrument, lay)
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
        findings(strung.neck, paired.neck, field, instrument),
        strung,
        paired,
        latest,
    )


def _scan_path(job: Job, state: str, name: str | None) -> Path:
    return job.need_scan(state) if name is None else job.scans_folder / name


def _paired(
    reader: JobReader, strung_path: Path, latest: CombinedScan, last: int | None
) -> CombinedScan:
    """The run of the unstrung scan nearest in the job's order; of two as near, the earlier one's.

    One that shows no whole unstrung neck is passed over: it was scanned again since.
    """
    number = number_of(strung_path) or 0
    runs = [run for run in runs_of(reader.job, last) if run[0].state == "unstrung"]
    own = run_to(runs, latest.scan.path)[:1]
    unstrung = [scan for run in runs for scan in run]
    for scan in sorted(unstrung, key=lambda scan: (abs(scan.number - number), scan.number)):
        run = next(run for run in runs if scan in run)
        if run[:1] == own:
            break
        for path in (run[-1].path, scan.path):
            with suppress(InputError):
                return reader.whole(path, "unstrung", last)
    return latest


def _check_one_neck(one: CombinedScan, other: CombinedScan, filed: bool = False) -> None:
    try:
        check_one_neck(one.neck, other.neck, filed)
    except ValueError as error:
        raise InputError(f"{one.scan.path} and {other.scan.path}: {error}") from error


def _check_pulled(strung: Shape, unstrung: Shape, field: Field, joint: int) -> None:
    changes = relief_changes(strung, unstrung, field, joint)
    check_pulled(
        np.array([one.change_mm for one in changes]), np.array([one.u_change_mm for one in changes])
    )


def _lay_since(
    job: Job, paired: CombinedScan, latest: CombinedScan, instrument: Instrument
) -> Field:
    """How the latest neck lies against the paired one, by what no plan had filed."""
    planned = np.zeros((instrument.frets, len(instrument.strings)))
    for path in job.plans():
        planned += planned_um(read_group(path), instrument)
    return untouched_movement(paired.neck, latest.neck, planned, joint_mm(instrument))
