"""After the cut: what came off, what the hand teaches, what comes next."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np

from analysis.after.law import Law
from analysis.after.verify import Cut, achieved_um, judge_cuts
from analysis.instrument import FloatArray
from daq.documents.repeats import repeats_document
from daq.documents.stored_plan import aimed_um, planned_um
from daq.documents.verify import verify_document
from daq.errors import InputError
from daq.reading.reader import JobReader
from daq.reading.repeats import Repeats
from daq.steps.law import Hand, known_of
from daq.steps.planning import read_plan
from daq.steps.recording import now
from daq.text.verify import next_step
from daq.workshop.job import Job
from daq.workshop.laws import LawEntry
from daq.workshop.place import Workshop
from daq.workshop.store import atomic_write_text, json_text


@dataclass(frozen=True, slots=True)
class Verified:
    """Every planned cut judged, the law of this cut, and where it is all kept.

    repeats: what the necks before and after were made of.
    """

    cuts: tuple[Cut, ...]
    law: Law | None
    next_words: str
    repeats: Mapping[str, Repeats]
    document: dict[str, object]
    path: Path


def verify_job(workshop: Workshop, job: Job) -> Verified:
    """The latest plan against the latest unstrung scan, which must be newer than the plan's.

    The planned and achieved depths go into the workshop's law book, once for each plan and
    scan. Raises InputError where there is no plan, it cuts nothing, or the neck has not been
    scanned since.
    """
    plan_path, plan, before_path, after_path = _what_to_compare(job)
    instrument = job.instrument().record
    planned, aimed = planned_um(plan, instrument), aimed_um(plan, instrument)
    if not planned.any():
        raise InputError(f"{plan_path}: plans no cut, so there is none to verify")
    reader = JobReader(workshop, job)
    before = reader.whole(before_path, "unstrung")
    after = reader.whole(after_path, "unstrung")
    try:
        achieved, u = achieved_um(before.neck, after.neck, planned, instrument)
    except ValueError as error:
        raise InputError(f"{before_path} and {after_path}: {error}") from error
    cuts = judge_cuts(planned, achieved, u)
    names = [f"{job.name}/{plan_path.stem}/{scan.stem}" for scan in after.repeats.used]
    _remember(workshop, plan, names, (aimed, achieved, u))
    law = known_of(workshop, Hand(str(plan["tool"]), str(plan["metal_kind"]))).law
    words = next_step(cuts)
    repeats = {"before": before.repeats, "after": after.repeats}
    document: dict[str, object] = {
        **verify_document(cuts, law, words),
        "job": job.name,
        "made": now(),
        "plan": plan_path.name,
        "scans": {"before": before_path.name, "after": after_path.name},
        "repeats": {when: repeats_document(one) for when, one in repeats.items()},
    }
    path = job.next_check_path()
    atomic_write_text(path, json_text(document))
    return Verified(cuts, law, words, repeats, document, path)


def _what_to_compare(job: Job) -> tuple[Path, Mapping[str, Any], Path, Path]:
    plan_path = job.latest_plan()
    if plan_path is None:
        raise InputError(f"job {job.name}: found no plan; make one with: neckform plan {job.name}")
    plan = read_plan(plan_path)
    before_path = job.scans_folder / plan["scans"]["unstrung"]
    after_path = job.need_scan("unstrung")
    if after_path.name == before_path.name:
        raise InputError(
            f"job {job.name}: found no unstrung scan since {plan_path.name} was made; after the "
            f"cut run: neckform scan {job.name} --rig RIG.yaml --state unstrung"
        )
    return plan_path, plan, before_path, after_path


def _remember(
    workshop: Workshop,
    plan: Mapping[str, Any],
    names: Sequence[str],
    depths: tuple[FloatArray, FloatArray, FloatArray],
) -> None:
    """Into the law book, unless this very plan and scan are there already.

    names: of the plan and each scan of the neck after, the latest last; the cut as fewer of them
    saw it gives way.
    """
    *fewer, name = names
    aimed, achieved, u = depths
    known = (aimed > 0) & np.isfinite(achieved) & np.isfinite(u)
    if not known.any() or any(entry.job == name for entry in workshop.laws.entries()):
        return
    workshop.laws.append(
        LawEntry(
            job=name,
            made=now(),
            tool=str(plan["tool"]),
            metal=str(plan["metal_kind"]),
            planned_um=tuple(aimed[known].tolist()),
            achieved_um=tuple(achieved[known].tolist()),
            u_um=tuple(u[known].tolist()),
        ),
        instead_of=fewer,
    )
