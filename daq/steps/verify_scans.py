"""Which plan and scans a verification is of; one line where a scan that it needs is not there."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from daq.errors import InputError
from daq.steps.planning import read_plan
from daq.workshop.job import STATES, Job, ScanName, shown
from daq.workshop.numbered import number_of


@dataclass(frozen=True, slots=True)
class ToVerify:
    """before: the unstrung scan the plan rests on. after: the latest unstrung one since, None
    where the plan cuts nothing. strung: the latest strung one since all work on the metal,
    None while there is none."""

    plan_path: Path
    plan: Mapping[str, Any]
    before: Path
    after: Path | None
    strung: Path | None

    @property
    def unstrung(self) -> Path:
        """The latest unstrung scan that counts."""
        return self.before if self.after is None else self.after


def what_to_verify(job: Job) -> ToVerify:
    """Of the latest plan. Raises InputError where nothing was scanned since that tells of it."""
    plan_path = job.latest_plan()
    if plan_path is None:
        raise InputError(
            f"job {job.name}: found no plan; make one with: neckform plan {shown(job.name)}"
        )
    plan = read_plan(plan_path)
    rests_on = max(number_of(Path(plan["scans"][state])) or 0 for state in STATES)
    since = [scan for scan in job.scans() if scan.number > rests_on]
    before = job.scans_folder / plan["scans"]["unstrung"]
    strung, unstrung = (_latest(since, state) for state in STATES)
    if plan["cuts"] and unstrung is None:
        raise InputError(_no_unstrung(job, plan_path, strung))
    if not plan["cuts"] and strung is None:
        raise InputError(_no_strung(job, plan_path, unstrung))
    if strung is not None and unstrung is not None and strung.number < unstrung.number:
        # strings on before the last cut was scanned: not how the neck ends
        strung = None
    return ToVerify(
        plan_path,
        plan,
        before,
        None if unstrung is None else unstrung.path,
        None if strung is None else strung.path,
    )


def _latest(scans: list[ScanName], state: str) -> ScanName | None:
    return next((scan for scan in reversed(scans) if scan.state == state), None)


def _no_unstrung(job: Job, plan_path: Path, strung: ScanName | None) -> str:
    but = "" if strung is None else f", only {strung.path.name}, which is strung"
    why = "" if strung is None else "what came off is measured with the strings off; "
    return (
        f"job {job.name}: found no unstrung scan since {plan_path.name} was made{but}; {why}after "
        f"the cut run: neckform scan {shown(job.name)} --rig RIG.yaml --state unstrung"
    )


def _no_strung(job: Job, plan_path: Path, unstrung: ScanName | None) -> str:
    but = "" if unstrung is None else f", only {unstrung.path.name}, which is unstrung"
    return (
        f"{plan_path}: plans no cut, and job {job.name} has no strung scan since it was made{but}; "
        "once rod, nut and saddles are set run: "
        f"neckform scan {shown(job.name)} --rig RIG.yaml --state strung"
    )
