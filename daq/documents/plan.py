"""The plan as a document."""

from __future__ import annotations

from typing import Any

import numpy as np

from analysis.after.aim import aim_um
from analysis.after.law import Law
from analysis.instrument import Instrument
from analysis.plan.clearances import Clearance
from analysis.plan.plan import Plan
from daq.documents.action import action_after_mm
from daq.documents.chokes import chokes_document
from daq.documents.cures import cures_document
from daq.documents.numbers import cut_um, mm, rounded, u_mm, u_um, um
from daq.documents.playing import playing_document
from daq.documents.rod import rod_used_document
from daq.documents.screws import (
    LEAST_CUT_UM,
    action_by_string,
    changes_by_string,
    metal_um,
    rod_turned,
    shape_short_entries,
)
from daq.documents.target import target_document


def plan_document(plan: Plan, instrument: Instrument, law: Law | None = None) -> dict[str, Any]:
    """Setup, cuts, margins, what stays short and the metal.

    Beside the contract's: uncertainties and verdicts, `kept`, `target` (as a target file has it),
    `shape_short` (how far the asked-for shape is out of reach), `action` (string heights over fret
    12 once it is done), `bends`, `margins_now`, `bends_now`, `short`, those of
    `cures_document` and `chokes_document`, and with a law `aim_um`, what to mean to take.
    Raises ValueError where the plan is not one of this instrument.
    """
    if plan.remove_mm.shape != (instrument.frets, len(instrument.strings)):
        raise ValueError("the plan and the instrument have other frets or strings")
    return {
        "feasible": bool(plan.feasible),
        "kept": sorted(plan.target.keep),
        "target": target_document(plan.playing, plan.target),
        "shape_short": shape_short_entries(plan.shape_short_mm),
        "playing": playing_document(plan.playing),
        "strings": _strings(plan),
        **_setup(plan, instrument),
        **_cuts(plan, law),
        **_margins(plan),
        "short": [_short(c, plan.playing.guard) for c in plan.short],
        **cures_document(plan),
        **chokes_document(plan.chokes),
    }


def short_mm(clearance: Clearance, guard: float) -> float:
    """How far a clearance stays under what it needs with its guard band; never negative."""
    return max(clearance.swing_mm + guard * clearance.u_mm - clearance.clearance_mm, 0.0)


def _rod(plan: Plan) -> dict[str, Any]:
    return {**rod_turned(plan.turns, plan.relief_change_mm), **rod_used_document(plan.rod)}


def _strings(plan: Plan) -> list[dict[str, Any]]:
    return [
        {
            "string": number,
            "tension_n": rounded(load.tension_n, 2),
            "mass_kg_per_m": rounded(load.mass_kg_per_m, 8),
        }
        for number, load in enumerate(plan.loads, start=1)
    ]


def _setup(plan: Plan, instrument: Instrument) -> dict[str, Any]:
    return {
        "rod": _rod(plan),
        "saddles": changes_by_string(plan.saddle_mm),
        "nut": changes_by_string(plan.nut_mm),
        "action": action_by_string(action_after_mm(plan, instrument)),
    }


def _margins(plan: Plan) -> dict[str, Any]:
    return {
        "margins": [clearance_entry(c) for c in plan.after if not c.bend],
        "bends": [clearance_entry(c) for c in plan.after if c.bend],
        "margins_now": [clearance_entry(c) for c in plan.now if not c.bend],
        "bends_now": [clearance_entry(c) for c in plan.now if c.bend],
    }


def _cuts(plan: Plan, law: Law | None) -> dict[str, Any]:
    """Cuts and the metal: the total is that of the cuts as they are written."""
    places = np.argwhere(1e3 * plan.remove_mm > LEAST_CUT_UM).tolist()
    cuts = [_cut(plan, fret, string, law) for fret, string in places]
    total = metal_um(plan.remove_mm)
    metal = {"planned_um_total": total, "level_um_total": um(1e3 * plan.level_mm)}
    return {"cuts": cuts, "metal": metal}


def _cut(plan: Plan, fret: int, string: int, law: Law | None) -> dict[str, Any]:
    u = 1e3 * plan.u_remove_mm[fret, string]
    remove = cut_um(1e3 * plan.remove_mm[fret, string])
    entry: dict[str, Any] = {
        "fret": fret + 1,
        "string": string + 1,
        "remove_um": remove,
        "u_remove_um": u_um(u),
        "height_after_mm": mm(plan.height_after_mm[fret, string]),
    }
    if law is not None:
        entry["aim_um"] = um(float(aim_um(np.array([remove]), law)[0]))
    if not np.isfinite(u):
        entry["status"] = "the top was not seen; the cut follows its neighbours"
    return entry


def clearance_entry(clearance: Clearance) -> dict[str, Any]:
    """One place, its clearance, what it needs, its verdict."""
    return {
        "string": clearance.string,
        "fretted": clearance.fretted,
        "worst_at": clearance.worst_at,
        "clearance_mm": mm(clearance.clearance_mm),
        "u_clearance_mm": u_mm(clearance.u_mm),
        "needed_mm": mm(clearance.needed_mm),
        "more_mm": mm(clearance.more_mm),
        "verdict": clearance.verdict,
    }


def _short(clearance: Clearance, guard: float) -> dict[str, Any]:
    return {
        **clearance_entry(clearance),
        "bend": clearance.bend,
        "short_mm": mm(short_mm(clearance, guard)),
    }
