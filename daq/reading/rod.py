"""What a job's scans say of its truss rod: scans of one state at two settings or more."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from pathlib import Path

import numpy as np

from analysis.findings.fingerprint import check_one_neck
from analysis.instrument import FloatArray
from analysis.rod.learnt import LearntRod, learn_rod
from analysis.rod.rod import Rod, default_rod
from analysis.rod.turned import Turned, tops_mm
from daq.documents.stored_plan import planned_um
from daq.errors import NeckformError
from daq.reading.reader import JobReader
from daq.reading.repeats import CombinedScan
from daq.reading.runs import Run, filed_after, may_be_filed, runs_of
from daq.reading.settings import same_setting, turns_of
from daq.workshop.job import STATES, Job
from daq.workshop.numbered import number_of
from daq.workshop.store import read_group


@dataclass(frozen=True, slots=True)
class StateRod:
    """The rod as the scans of one state show it. scans: before and after each turn, as
    `learnt.seen` has them."""

    state: str
    scans: tuple[tuple[Path, Path], ...]
    learnt: LearntRod


@dataclass(frozen=True, slots=True)
class RodPart:
    """What the rod adds to a movement between two scans that were made at two settings.

    turns: tightened by so much. relief_change_mm: what that adds to relief, by the rod as it was
    learnt, or by the default.
    """

    turns: float
    relief_change_mm: float
    u_relief_change_mm: float
    learnt: bool


@dataclass(frozen=True, slots=True)
class SincePlan:
    """How far the rod was tightened since a plan, what relief that added, and what the plan's
    own rod was to add for that."""

    plan: str
    turns: float
    relief_change_mm: float
    u_relief_change_mm: float
    expected_mm: float
    u_expected_mm: float


@dataclass(frozen=True, slots=True)
class JobRod:
    """What a job tells of its rod. states: those that tell it, strung first, which tells it most
    truly; why_not: what keeps the scans of a state from telling it."""

    states: tuple[StateRod, ...]
    why_not: tuple[str, ...]

    @property
    def best(self) -> StateRod | None:
        """What a plan goes by: the strung scans' word, else the unstrung ones'."""
        return self.states[0] if self.states else None


def job_rod(reader: JobReader, last: int | None = None) -> JobRod:
    """The rod by all scans of the job that can be read. last: the last scan that counts."""
    states, why_not = [], []
    runs = runs_of(reader.job, last)
    for state in STATES:
        turned, scans = _turns(reader, [run for run in runs if run[0].state == state], last)
        if not turned:
            continue
        instrument = reader.job.instrument().record
        try:
            learnt = learn_rod(turned, instrument, strung=state == "strung")
            states.append(StateRod(state, tuple(scans), learnt))
        except ValueError as error:
            names = " and ".join(sorted({path.name for pair in scans for path in pair}))
            why_not.append(f"{names}: {error}")
    return JobRod(tuple(states), tuple(why_not))


def rod_of_job(reader: JobReader, last: int | None = None) -> Rod | None:
    """What a plan of this job has to go by; None where two settings have not told it."""
    best = job_rod(reader, last).best
    return None if best is None else best.learnt.rod


def rod_between(
    reader: JobReader, from_turns: float, to_turns: float, last: int | None = None
) -> RodPart | None:
    """What the rod adds from one setting to another; None where they are one."""
    turns = to_turns - from_turns
    if same_setting(turns, 0.0):
        return None
    instrument = reader.job.instrument().record
    x_mm, _ = tops_mm(instrument)
    rod = rod_of_job(reader, last) or default_rod(instrument, x_mm)
    u = abs(turns) * rod.u_mm_per_turn
    return RodPart(turns, -turns * rod.mm_per_turn, u, rod.learnt)


def since_plan(found: JobRod, job: Job, strung: Path) -> SincePlan | None:
    """What the turns made since the job's latest plan gave, as its strung scans show it.

    None where there is no plan to compare with, or no turn was seen since.
    """
    path = job.latest_plan()
    seen = next((one for one in found.states if one.state == "strung"), None)
    if path is None or seen is None:
        return None
    try:
        plan = read_group(path)
        start = job.scans_folder / plan["scans"]["strung"]
        gain, u_gain = float(plan["rod"]["mm_per_turn"]), float(plan["rod"]["u_mm_per_turn"])
    except (NeckformError, KeyError, TypeError, ValueError):
        # a plan of an older program, or a damaged one, which is told where it is needed
        return None
    first, last = number_of(start) or 0, number_of(strung) or 0
    turns = [
        one
        for (before, after), one in zip(seen.scans, seen.learnt.seen, strict=True)
        if first <= (number_of(before) or 0) and (number_of(after) or 0) <= last
    ]
    total = sum(one.to_turns - one.from_turns for one in turns)
    if same_setting(total, 0.0):
        return None
    return SincePlan(
        path.name,
        total,
        sum(one.relief_change_mm for one in turns),
        float(np.linalg.norm([one.u_relief_change_mm for one in turns])),
        -total * gain,
        abs(total) * u_gain,
    )


def _turns(
    reader: JobReader, runs: list[Run], last: int | None
) -> tuple[list[Turned], list[tuple[Path, Path]]]:
    """Every turn of the rod from one run of a state to the next one that can be read."""
    settings = [turns for run in runs if (turns := turns_of(run[-1].path)) is not None]
    if not settings or all(same_setting(settings[0], other) for other in settings):
        # nothing is read for a rod that nobody turned
        return [], []
    read = [(run, scan) for run in runs if (scan := _read(reader, run, last)) is not None]
    filed = filed_after(reader.job)
    turned, scans = [], []
    for (run, before), (next_run, after) in pairwise(read):
        ends = before.scan.rod_turns, after.scan.rod_turns
        metal = may_be_filed(run[-1].number, next_run[-1].number, filed)
        if same_setting(*ends) or not _one_neck(before, after, metal):
            continue
        planned = _planned_um(reader.job) if metal else _nothing_um(reader.job)
        turned.append(Turned(before.neck, after.neck, *ends, planned))
        scans.append((before.scan.path, after.scan.path))
    return turned, scans


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
