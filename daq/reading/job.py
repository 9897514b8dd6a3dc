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
from daq.reading.rod import RodPart, rod_between
from daq.reading.runs import filed_after, may_be_filed, run_to, runs_of
from daq.reading.settings import same_setting, turns_of
from daq.workshop.job import Job, ScanName
from daq.workshop.numbered import number_of
from daq.workshop.store import read_group


@dataclass(frozen=True, slots=True)
class BothStates:
    """The strung neck inferred under its strings, and the unstrung ones it came from.

    strung: as it would stand now, filed or not. strung_then: as it stood when it was scanned.
    paired: the unstrung neck that belongs to that scan. unstrung: the latest. field:
    strung_then minus paired; findings: what is no bending between the two. Each scan is its run's
    latest, its neck that of all that repeat it. rod_part: what of the field the rod did, where no
    unstrung scan was made at the strung one's setting; None where one was.
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
    rod_part: RodPart | None = None

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
    movement; of those, one at the strung scan's setting of the rod, where there is one. At
    another setting it gives the strung tops as well, for the movement is then the strings' and
    the rod's together, and both bend a neck smoothly; only the strings' own part is not seen. A
    later one shows a neck filed since: its tops are taken, laid over the other on what no file
    touched. Each is combined with the scans it repeats. The names take older scans
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
    rod_part = rod_between(reader, paired.scan.rod_turns, strung.scan.rod_turns, last)
    where = f"{strung_path} and {paired.scan.path}"
    try:
        then, field = inferred_strung_shape(strung.neck, paired.neck, instrument)
        shape = then
        if latest is not paired:
            lay = _lay_since(job, paired, latest, instrument)
            shape = strung_shape_by(field, strung.neck, latest.neck, instrument, lay)
        unstrung_then = unstrung_shape(paired.neck, instrument)
        _check_pulled(then, unstrung_then, field, instrument.body_joint_fret, rod_part)
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
        rod_part,
    )


def _scan_path(job: Job, state: str, name: str | None) -> Path:
    return job.need_scan(state) if name is None else job.scans_folder / name


def _paired(
    reader: JobReader, strung_path: Path, latest: CombinedScan, last: int | None
) -> CombinedScan:
    """The run of the unstrung scan nearest in the job's order; of two as near, the earlier one's.

    Of those between which and the strung scan no metal can have come off, one at its setting of
    the rod goes before. One that shows no whole unstrung neck is passed over: it was scanned
    again since.
    """
    number, turns = number_of(strung_path) or 0, turns_of(strung_path)
    filed = filed_after(reader.job)

    def order(scan: ScanName) -> tuple[bool, int, int]:
        here = turns_of(scan.path)
        alike = turns is not None and here is not None and same_setting(turns, here)
        whole = not may_be_filed(number, scan.number, filed)
        return not (whole and alike), abs(scan.number - number), scan.number

    runs = [run for run in runs_of(reader.job, last) if run[0].state == "unstrung"]
    own = run_to(runs, latest.scan.path)[:1]
    unstrung = [scan for run in runs for scan in run]
    for scan in sorted(unstrung, key=order):
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


def _check_pulled(
    strung: Shape, unstrung: Shape, field: Field, joint: int, rod_part: RodPart | None
) -> None:
    """Whether the strings pulled, the rod's part taken off."""
    changes = relief_changes(strung, unstrung, field, joint)
    rod, u_rod = (
        (0.0, 0.0) if rod_part is None else (rod_part.relief_change_mm, rod_part.u_relief_change_mm)
    )
    check_pulled(
        np.array([one.change_mm for one in changes]) - rod,
        np.hypot([one.u_change_mm for one in changes], u_rod),
    )


def _lay_since(
    job: Job, paired: CombinedScan, latest: CombinedScan, instrument: Instrument
) -> Field:
    """How the latest neck lies against the paired one, by what no plan had filed."""
    planned = np.zeros((instrument.frets, len(instrument.strings)))
    for path in job.plans():
        planned += planned_um(read_group(path), instrument)
    return untouched_movement(paired.neck, latest.neck, planned, joint_mm(instrument))
