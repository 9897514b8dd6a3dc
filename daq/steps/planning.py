"""Planning the work, and keeping the plan with what it rests on."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import Any

from analysis.bench.sheet import Bench
from analysis.plan.plan import Plan
from analysis.plan.target import Target
from analysis.plan.weighed import Weighed
from analysis.strings.playing import PlayingProfile
from daq.documents.bench import bench_document, expect_document
from daq.documents.doubts import doubts_document
from daq.documents.law import known_document
from daq.documents.plan import plan_document
from daq.documents.repeats import repeats_document
from daq.documents.rod import since_plan_document
from daq.documents.weighed import weighed_document
from daq.errors import FileError, InputError
from daq.reading.doubts import Doubts, doubts_of
from daq.reading.job import BothStates, both_states
from daq.reading.reader import JobReader
from daq.reading.rod import SincePlan, job_rod, since_plan
from daq.steps.bench import AtHand, plan_bench
from daq.steps.deciding import decide
from daq.steps.law import Hand, Known, known_of
from daq.steps.recording import now, program
from daq.workshop.job import STATES, Job
from daq.workshop.place import Workshop
from daq.workshop.store import atomic_write_text, json_text, read_group

#: What a stored plan must hold.
PLAN_KEYS = ("cuts", "kept", "metal_kind", "playing", "scans", "tool")


@dataclass(frozen=True, slots=True)
class Planned:
    """A plan, the necks it rests on, what is doubtful in them, what each thing is worth, the
    bench's work, the law it was aimed by, what the rod gave since the plan before, and
    scans that may not be at the setting of it they say."""

    plan: Plan
    both: BothStates
    weighed: Weighed
    doubts: Doubts
    bench: Bench
    known: Known
    document: dict[str, object]
    path: Path
    since: SincePlan | None = None
    rod_doubts: tuple[str, ...] = ()


def plan_job(
    workshop: Workshop,
    job: Job,
    playing: PlayingProfile,
    target: Target,
    hand: Hand,
    has: AtHand,
) -> Planned:
    """The setup and the cut plan from the latest scans; kept in the job, feasible or not.

    Raises InputError where a scan is missing or shows too little.
    """
    reader = JobReader(workshop, job)
    both = both_states(reader)
    found = job_rod(reader)
    rod = None if found.best is None else found.best.learnt.rod
    since = since_plan(found, job, both.strung_scan.scan.path)
    try:
        decided = decide(both, playing, target, rod)
    except ValueError as error:
        raise InputError(f"job {job.name}: {error}") from error
    plan, weighed = decided.plan, decided.weighed
    doubts = doubts_of(both, weighed.hanging)
    known = known_of(workshop, hand)
    law = known.law
    bench = plan_bench(both, plan, law, has)
    document: dict[str, object] = {
        **plan_document(plan, both.instrument, law),
        "doubts": doubts_document(doubts),
        **weighed_document(weighed),
        "bench": bench_document(bench, plan),
        "expect": expect_document(bench.expected),
        "job": job.name,
        "made": now(),
        "program": program(),
        "tool": hand.tool,
        "metal_kind": hand.metal,
        "aims_by": known_document(known),
        # unrounded: later they are told from heights measured anew
        "heights": {
            "action_mm": list(both.instrument.action_mm),
            "nut_gap_mm": list(both.instrument.nut_gap_mm),
        },
        "scans": {
            "strung": both.strung_scan.scan.path.name,
            "unstrung": both.unstrung_scan.scan.path.name,
        },
        "calibrations": list(both.unstrung_scan.calibrations.described),
        "rod_since": None if since is None else since_plan_document(since),
        "repeats": {state: repeats_document(repeats) for state, repeats in both.repeats.items()},
    }
    path = job.next_plan_path()
    atomic_write_text(path, json_text(document))
    return Planned(plan, both, weighed, doubts, bench, known, document, path, since, found.doubts)


def read_plan(path: Path) -> dict[str, Any]:
    """A stored plan with every key that later steps build on. Raises FileError where one lacks."""
    plan = read_group(path)
    scans = plan.get("scans")
    named = isinstance(scans, dict) and all(isinstance(scans.get(one), str) for one in STATES)
    missing = [key for key in PLAN_KEYS if key not in plan]
    if missing or not named:
        raise FileError(
            f"{path}: {', '.join(missing) or 'scans'}: found nothing fit; the plan is damaged: "
            "put back a copy, or plan again"
        )
    return plan
