"""Where the truss rod was turned between scans of one state, and where it may have been."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from pathlib import Path

import numpy as np

from analysis.findings.fingerprint import check_one_neck
from analysis.instrument import FloatArray
from analysis.rod.turned import Turned, relief_change_mm
from daq.documents.stored_plan import planned_um
from daq.errors import NeckformError
from daq.reading.reader import JobReader
from daq.reading.repeats import CombinedScan
from daq.reading.runs import Run, filed_after, may_be_filed
from daq.reading.settings import same_setting, turns_of
from daq.workshop.job import Job
from daq.workshop.store import read_group

Pair = tuple[Path, Path]
#: Strings put on again, a clamping and a day's weather bend a neck by some hundredths of a
#: millimetre; more, where nobody said so, is a rod (own choice).
MOVED_MM, MOVED_SIGMAS = 0.03, 4.0


@dataclass(frozen=True, slots=True)
class Moved:
    """Two scans said to be at one setting, between which the neck bent as by a rod."""

    scans: Pair
    relief_change_mm: float
    u_relief_change_mm: float


@dataclass(frozen=True, slots=True)
class Turns:
    """The turns of the rod between the runs of a state, in order; scans: before and after each."""

    turned: tuple[Turned, ...]
    scans: tuple[Pair, ...]
    moved: tuple[Moved, ...]


def was_turned(runs: Sequence[Run]) -> bool:
    """Whether the scans of a job say so, strung or unstrung."""
    settings = [turns for run in runs if (turns := turns_of(run[-1].path)) is not None]
    return not all(same_setting(settings[0], other) for other in settings)


def turns_between(reader: JobReader, runs: Sequence[Run], last: int | None = None) -> Turns:
    """From one run of a state to the next one that can be read. runs: all of one state."""
    read = [(run, scan) for run in runs if (scan := _read(reader, run, last)) is not None]
    filed, instrument = filed_after(reader.job), reader.job.instrument().record
    turned, scans, moved = [], [], []
    for (run, before), (next_run, after) in pairwise(read):
        metal = may_be_filed(run[-1].number, next_run[-1].number, filed)
        if not _one_neck(before, after, metal):
            continue
        ends = before.scan.rod_turns, after.scan.rod_turns
        planned = _planned_um(reader.job) if metal else _nothing_um(reader.job)
        one = Turned(before.neck, after.neck, *ends, planned)
        pair = before.scan.path, after.scan.path
        if not same_setting(*ends):
            turned.append(one)
            scans.append(pair)
            continue
        change, u = relief_change_mm(one, instrument)
        if abs(change) > max(MOVED_MM, MOVED_SIGMAS * u):
            moved.append(Moved(pair, change, u))
    return Turns(tuple(turned), tuple(scans), tuple(moved))


def _read(reader: JobReader, run: Run, last: int | None) -> CombinedScan | None:
    """None where a scan cannot be read; what is wrong with it is told where it is needed."""
    try:
        return reader.whole(run[-1].path, run[-1].state, last)
    except NeckformError:
        return None


def _one_neck(before: CombinedScan, after: CombinedScan, filed: bool) -> bool:
    try:
        check_one_neck(before.neck, after.neck, filed)
    except ValueError:
        return False
    return True


def _planned_um(job: Job) -> FloatArray:
    """All that any plan of the job would have taken, [frets, strings]."""
    planned = _nothing_um(job)
    for path in job.plans():
        planned += planned_um(read_group(path), job.instrument().record)
    return planned


def _nothing_um(job: Job) -> FloatArray:
    instrument = job.instrument().record
    return np.zeros((instrument.frets, len(instrument.strings)))
