"""A stored plan made again from its own scans, with all that a report shows of it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from analysis.plan.changes import Changes
from analysis.plan.chokes import chokes
from analysis.plan.plan import Plan
from analysis.plan.planner import Planner
from analysis.plan.tight import TightStrings, margins_done, tight_strings
from analysis.plan.weighed import Weighed
from daq.documents.stored_plan import planned_um, stored_heights, stored_screws
from daq.documents.stored_target import stored_target
from daq.files.playing import parse_playing
from daq.reading.job import BothStates, both_states
from daq.reading.reader import JobReader
from daq.reading.rod import StateRod, rod_then
from daq.steps.deciding import decide
from daq.workshop.store import json_text

#: A plan made again that differs by less than this from the one stored is the same, mm: screws
#: are written to a tenth of it.
SAME_MM = 1e-3


@dataclass(frozen=True, slots=True)
class PlanAgain:
    """plan: cuts and screws as stored, whatever calibrations have come since: they are what went
    to the bench. tight: each string where it has least room. rod: as learnt by then, None where
    it was not. same: made again it comes out as it was stored.
    """

    plan: Plan
    weighed: Weighed
    both: BothStates
    tight: TightStrings
    rod: StateRod | None
    same: bool


def plan_again(reader: JobReader, document: Mapping[str, Any]) -> PlanAgain:
    """document: as `read_plan` has it. Raises InputError where its scans cannot be read,
    FileError where it is damaged."""
    scans = document["scans"]
    both = both_states(reader, scans["strung"], scans["unstrung"])
    both = replace(both, instrument=stored_heights(document, both.instrument))
    playing = parse_playing(json_text(document["playing"]), "stored plan", both.instrument).record
    rod = rod_then(reader, scans.values())
    target = stored_target(document, both.instrument)
    decided = decide(both, playing, target, None if rod is None else rod.learnt.rod)
    plan, weighed, planner = decided.plan, decided.weighed, decided.planner
    stored = _stored(document, both, plan)
    same = _same(plan, document, stored)
    plan = _with_cuts(plan, both, stored) if same else _as_stored(plan, planner, document, stored)
    tight = tight_strings(planner, planner.limits(playing, target), stored)
    return PlanAgain(plan, weighed, both, tight, rod, same)


def _stored(document: Mapping[str, Any], both: BothStates, plan: Plan) -> Changes:
    """What went to the bench; screws of plans that do not say are as they come out again."""
    cuts = 1e-3 * planned_um(document, both.instrument)
    if all(key in document for key in ("rod", "saddles", "nut")):
        return replace(stored_screws(document, both.instrument), remove_mm=cuts)
    return Changes(cuts, plan.saddle_mm, plan.nut_mm, plan.relief_change_mm)


def _same(plan: Plan, document: Mapping[str, Any], stored: Changes) -> bool:
    off = (
        plan.remove_mm - stored.remove_mm,
        plan.saddle_mm - stored.saddle_mm,
        plan.nut_mm - stored.nut_mm,
        np.array([plan.relief_change_mm - stored.relief_mm]),
    )
    feasible = bool(document.get("feasible", plan.feasible)) == plan.feasible
    return feasible and all(float(np.abs(one).max()) < SAME_MM for one in off)


def _with_cuts(plan: Plan, both: BothStates, stored: Changes) -> Plan:
    height = both.strung.height_mm - stored.remove_mm
    return replace(plan, remove_mm=stored.remove_mm, height_after_mm=height)


def _as_stored(plan: Plan, planner: Planner, document: Mapping[str, Any], stored: Changes) -> Plan:
    """Of another program, or under other calibrations: margins and bends are those of what was
    stored, and what stood in its way is not known any more."""
    playing = plan.playing
    limits = planner.limits(playing, plan.target)
    return replace(
        plan,
        feasible=bool(document.get("feasible", plan.feasible)),
        remove_mm=stored.remove_mm,
        height_after_mm=planner.shape.height_mm - stored.remove_mm,
        saddle_mm=stored.saddle_mm,
        nut_mm=stored.nut_mm,
        relief_change_mm=stored.relief_mm,
        turns=-stored.relief_mm / plan.rod.mm_per_turn,
        planned_mm=float(stored.remove_mm.sum()),
        after=margins_done(planner, limits, stored),
        short=(),
        action_short_mm=np.zeros_like(plan.action_short_mm),
        refret=(),
        cures=(),
        blocking=(),
        impossible=None,
        chokes=chokes(planner, playing, limits, stored),
    )
