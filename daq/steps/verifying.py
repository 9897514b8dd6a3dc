"""After the cut: what came off, what the hand teaches, how the neck stands, what comes next."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from analysis.after.standing import Standing
from analysis.after.verify import Cut, Left, achieved_um, judge_cuts, what_is_left
from analysis.instrument import FloatArray
from daq.documents.repeats import repeats_document
from daq.documents.strung import strung_document
from daq.documents.verify import verify_document
from daq.errors import InputError
from daq.reading.reader import JobReader
from daq.reading.repeats import CombinedScan, Repeats
from daq.steps.law import Hand, Known, known_of
from daq.steps.recording import now
from daq.steps.remember import last_pass, remember
from daq.steps.standing import (
    AsPlanned,
    StrungEnd,
    as_planned,
    filed_standing,
    strung_end,
)
from daq.steps.verify_scans import ToVerify, what_to_verify
from daq.text.after import after_words
from daq.workshop.job import Job
from daq.workshop.place import Workshop
from daq.workshop.store import atomic_write_text, json_text

NO_STRUNG = "no strung scan since the last cut"


@dataclass(frozen=True, slots=True)
class Verified:
    """Every planned cut judged, the hand's law, how the neck stands, and where it is all kept.

    left: metal that still has to come off. strung: the strung neck at the end, None before it
    was scanned. repeats: what the necks before and after were made of.
    """

    cuts: tuple[Cut, ...]
    known: Known
    standing: Standing
    left: tuple[Left, ...]
    strung: StrungEnd | None
    next_words: str
    repeats: Mapping[str, Repeats]
    document: dict[str, object]
    path: Path

    @property
    def good(self) -> bool:
        """Nothing came off that was not to, and what is left can be done as planned."""
        over = any(cut.verdict == "over" for cut in self.cuts)
        ended = self.strung is None or self.strung.standing.done
        return not over and ended and (self.standing.done or self.standing.can)


@dataclass(frozen=True, slots=True)
class _CameOff:
    """[frets, strings], µm; all NaN where nothing was cut."""

    achieved_um: FloatArray
    u_um: FloatArray
    repeats: Mapping[str, Repeats]


def verify_job(workshop: Workshop, job: Job) -> Verified:
    """The latest plan against the scans made since.

    What was meant and what came off goes into the workshop's law book, once for each time at the
    bench and scan. Raises InputError where there is no plan, or no scan since that tells of it.
    """
    which = what_to_verify(job)
    reader = JobReader(workshop, job)
    plan = as_planned(reader, which)
    off = _came_off(workshop, reader, which, plan)
    hand = Hand(str(which.plan["tool"]), str(which.plan["metal_kind"]))
    known = known_of(workshop, hand)
    cuts = judge_cuts(1e3 * plan.planned_mm, off.achieved_um, off.u_um)
    standing = filed_standing(reader, which, plan)
    left = what_is_left(standing, known.law)
    end = None
    if which.strung is not None:
        end = strung_end(reader, which, which.strung, plan, off.achieved_um, off.u_um)
    finished = None if end is None else end.standing.done
    words = after_words(cuts, standing, left, job.name, finished)
    strung = (
        None
        if end is None
        else strung_document(end.scan.name, end.check, end.standing, end.heights)
    )
    document: dict[str, object] = {
        **verify_document(cuts, known.law, words, standing, left),
        "strung": strung,
        "strung_status": NO_STRUNG if end is None else "ok",
        "job": job.name,
        "made": now(),
        "tool": hand.tool,
        "metal_kind": hand.metal,
        "plan": which.plan_path.name,
        "scans": {
            "before": which.before.name,
            "after": None if which.after is None else which.after.name,
            "strung": None if which.strung is None else which.strung.name,
        },
        "repeats": {when: repeats_document(one) for when, one in off.repeats.items()},
    }
    path = job.next_check_path()
    atomic_write_text(path, json_text(document))
    return Verified(cuts, known, standing, left, end, words, off.repeats, document, path)


def _came_off(workshop: Workshop, reader: JobReader, which: ToVerify, plan: AsPlanned) -> _CameOff:
    """What came off in all since the plan; the last pass of it goes into the law book."""
    if which.after is None:
        nothing = np.full(plan.planned_mm.shape, np.nan)
        return _CameOff(nothing, nothing, {})
    after = reader.whole(which.after, "unstrung")
    before = reader.whole(which.before, "unstrung")

    def between(one: CombinedScan, cut_um: FloatArray) -> tuple[FloatArray, FloatArray]:
        return achieved_um(one.neck, after.neck, cut_um, plan.instrument)

    try:
        achieved, u = between(before, 1e3 * plan.planned_mm)
    except ValueError as error:
        raise InputError(f"{which.before} and {which.after}: {error}") from error
    once = last_pass(reader.job, which, after.repeats.used, plan.instrument)
    began = before if once.before == which.before else reader.whole(once.before, "unstrung")
    remember(workshop, which.plan, once, after, between, began)
    return _CameOff(achieved, u, {"before": before.repeats, "after": after.repeats})
