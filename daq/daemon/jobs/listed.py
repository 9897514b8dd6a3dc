"""What a job's folder holds, for the list of jobs and for one of them."""

from __future__ import annotations

import math
from collections.abc import Mapping
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from daq.daemon.jobs.answers import (
    CheckEntry,
    InstrumentEntry,
    JobAnswer,
    JobEntry,
    PlanEntry,
    ScanEntry,
)
from daq.daemon.jobs.next import next_of
from daq.errors import NeckformError
from daq.record.scan import read_rod_turns, read_started
from daq.text.strings import string_cautions
from daq.workshop.job import Job, ScanName
from daq.workshop.store import read_group


def entry_of(job: Job) -> JobEntry:
    """In the list: what there is, by names alone. A job whose instrument file cannot be read is
    in it as well, and says so."""
    strings = frets = None
    name, fault = "", None
    try:
        record = job.instrument().record
        name, strings, frets = record.name, len(record.strings), record.frets
    except NeckformError as error:
        fault = str(error)
    return JobEntry(
        name=job.name,
        instrument=name,
        strings=strings,
        frets=frets,
        scans=len(job.scans()),
        plans=len(job.plans()),
        checks=len(job.checks()),
        changed=_changed(job),
        fault=fault,
    )


def answer_of(job: Job) -> JobAnswer:
    """One job in full. Raises InputError where its instrument file cannot be read."""
    record = job.instrument().record
    return JobAnswer(
        name=job.name,
        folder=str(job.folder.resolve()),
        instrument=InstrumentEntry(
            name=record.name,
            strings=len(record.strings),
            frets=record.frets,
            body_joint_fret=record.body_joint_fret,
            notes=string_cautions(record),
        ),
        scans=[_scan(one) for one in job.scans()],
        plans=[_plan(path) for path in job.plans()],
        checks=[_check(path) for path in job.checks()],
        next=next_of(job),
    )


def _changed(job: Job) -> datetime:
    """When something was last put in."""
    paths = [job.instrument_path, *(scan.path for scan in job.scans()), *job.plans(), *job.checks()]
    return datetime.fromtimestamp(max(map(_time_s, paths)), UTC)


def _time_s(path: Path) -> float:
    try:
        return path.stat().st_mtime
    except OSError:
        return 0.0


def _scan(scan: ScanName) -> ScanEntry:
    made = turns = fault = None
    try:
        made, turns = read_started(scan.path), read_rod_turns(scan.path)
    except NeckformError as error:
        fault = str(error)
    return ScanEntry(
        file=scan.path.name,
        number=scan.number,
        state=scan.state,
        label=scan.label,
        made=made,
        rod_turns=turns,
        fault=fault,
    )


def _plan(path: Path) -> PlanEntry:
    document, fault = _group(path)
    metal, playing = document.get("metal"), document.get("playing")
    return PlanEntry(
        file=path.name,
        made=_text(document.get("made")),
        feasible=bool(document.get("feasible")),
        metal_um=_number(metal.get("planned_um_total")) if isinstance(metal, Mapping) else None,
        player=_text(playing.get("name")) if isinstance(playing, Mapping) else None,
        fault=fault,
    )


def _check(path: Path) -> CheckEntry:
    document, fault = _group(path)
    plan = _text(document.get("plan"))
    return CheckEntry(file=path.name, made=_text(document.get("made")), plan=plan, fault=fault)


def _group(path: Path) -> tuple[Mapping[str, Any], str | None]:
    """Empty, and why, where it is damaged."""
    try:
        return read_group(path), None
    except NeckformError as error:
        return {}, str(error)


def _text(value: object) -> str | None:
    return value if isinstance(value, str) else None


def _number(value: object) -> float | None:
    good = isinstance(value, int | float) and not isinstance(value, bool) and math.isfinite(value)
    return float(value) if good else None  # type: ignore[arg-type]
