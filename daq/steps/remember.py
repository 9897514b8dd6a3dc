"""What a hand meant and what came off, into the workshop's law book."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np

from analysis.instrument import FloatArray, Instrument
from daq.documents.stored_check import stored_aims_um
from daq.documents.stored_plan import aimed_um
from daq.errors import InputError
from daq.reading.repeats import CombinedScan
from daq.steps.recording import now
from daq.steps.verify_scans import ToVerify
from daq.workshop.job import Job
from daq.workshop.laws import LawEntry
from daq.workshop.place import Workshop
from daq.workshop.store import read_group

#: What came off between two scans, and its u, [frets, strings], µm, of the places given to be cut.
Achieved = Callable[[CombinedScan, FloatArray], tuple[FloatArray, FloatArray]]


@dataclass(frozen=True, slots=True)
class Pass:
    """One time at the bench: the scan it began with and what was meant, [frets, strings], µm."""

    name: str
    before: Path
    aimed_um: FloatArray


def last_pass(job: Job, which: ToVerify, used: Sequence[Path], instrument: Instrument) -> Pass:
    """The last time that metal came off before the latest unstrung scans, `used`.

    That is the plan's own cut, or, where a check of it found metal left, the pass after: then
    what was meant is what the check had aimed at, and the neck before is the one it judged.
    """
    plan = which.plan_path.stem
    for path in reversed(job.checks()):
        check = read_group(path)
        after = _after(check)
        if check.get("plan") != which.plan_path.name or after is None:
            continue
        if after not in [scan.name for scan in used]:
            aims = stored_aims_um(check, instrument)
            return Pass(f"{job.name}/{plan}/{path.stem}", job.scans_folder / after, aims)
    return Pass(f"{job.name}/{plan}", which.before, aimed_um(which.plan, instrument))


def _after(check: Mapping[str, Any]) -> str | None:
    scans = check.get("scans")
    return scans.get("after") if isinstance(scans, dict) else None


def remember(
    workshop: Workshop, plan: Mapping[str, Any], one: Pass, after: CombinedScan, achieved: Achieved,
    before: CombinedScan,
) -> None:  # fmt: skip
    """Once for each pass and scan. The same pass as fewer scans saw it gives way."""
    *fewer, name = [f"{one.name}/{scan.stem}" for scan in after.repeats.used]
    if not one.aimed_um.any() or any(entry.job == name for entry in workshop.laws.entries()):
        return
    try:
        off, u = achieved(before, one.aimed_um)
    except ValueError as error:
        raise InputError(f"{one.before} and {after.scan.path}: {error}") from error
    known = (one.aimed_um > 0) & np.isfinite(off) & np.isfinite(u)
    if not known.any():
        return
    workshop.laws.append(
        LawEntry(
            job=name,
            made=now(),
            tool=str(plan["tool"]),
            metal=str(plan["metal_kind"]),
            planned_um=tuple(one.aimed_um[known].tolist()),
            achieved_um=tuple(off[known].tolist()),
            u_um=tuple(u[known].tolist()),
        ),
        instead_of=fewer,
    )
