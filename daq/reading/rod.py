"""What a job's scans say of its truss rod: scans of one state at two settings or more."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from analysis.rod.learnt import LearntRod, learn_rod
from analysis.rod.rod import Rod, default_rod
from analysis.rod.turned import tops_mm
from daq.errors import NeckformError
from daq.reading.reader import JobReader
from daq.reading.runs import newest, runs_of
from daq.reading.settings import same_setting
from daq.reading.turns import Moved, turns_between, was_turned
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
    truly; why_not: what keeps the scans of a state from telling it; doubts: scans that may not
    be at the setting they say, a line each."""

    states: tuple[StateRod, ...]
    why_not: tuple[str, ...]
    doubts: tuple[str, ...] = ()

    @property
    def best(self) -> StateRod | None:
        """What a plan goes by: the strung scans' word, else the unstrung ones'."""
        return self.states[0] if self.states else None


def rod_then(reader: JobReader, scans: Iterable[str]) -> StateRod | None:
    """What was learnt of the rod by the latest of these scans, named as the job has them."""
    return job_rod(reader, newest(scans)).best


def job_rod(reader: JobReader, last: int | None = None) -> JobRod:
    """The rod by all scans of the job that can be read. last: the last scan that counts."""
    states, why_not, doubts = [], [], []
    runs = runs_of(reader.job, last)
    if not was_turned(runs):
        # nothing is read for a rod that nobody turned
        return JobRod((), ())
    instrument = reader.job.instrument().record
    for state in STATES:
        found = turns_between(reader, [run for run in runs if run[0].state == state], last)
        doubts += [_doubt(one) for one in found.moved]
        if not found.turned:
            continue
        try:
            learnt = learn_rod(found.turned, instrument, strung=state == "strung")
            states.append(StateRod(state, found.scans, learnt))
        except ValueError as error:
            names = " and ".join(sorted({path.name for pair in found.scans for path in pair}))
            why_not.append(f"{names}: {error}")
    return JobRod(tuple(states), tuple(why_not), tuple(doubts))


def _doubt(moved: Moved) -> str:
    before, after = (path.name for path in moved.scans)
    return (
        f"{before} and {after}: both are said to be at one setting of the rod, and relief differs "
        f"by {moved.relief_change_mm:.3f} ± {2.0 * moved.u_relief_change_mm:.3f} mm: if the rod "
        "was turned in between, move the scan away that does not say so"
    )


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
