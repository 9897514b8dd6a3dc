"""What each step buys in metal, as a document."""

from __future__ import annotations

from typing import Any

from analysis.plan.holding import Holding
from analysis.plan.sensitivity import Sensitivity, Step
from daq.documents.numbers import mm, rounded, u_um, um

NO_PLAN = "no plan meets everything"


def sensitivity_document(found: Sensitivity) -> dict[str, Any]:
    """Metal in micrometres, summed over frets and strings.

    slopes: for one more millimetre of highest action, newton of pluck, standard uncertainty of
    guard; true close by, and one-sided where the plan changes its shape: a step that lets more
    through saves no more than its slope says, one that asks more costs no less.
    """
    slopes = found.slopes
    return {
        "metal_um": um(1e3 * found.plan.metal_mm),
        "u_metal_um": u_um(1e3 * found.u_metal_mm),
        "steps": [_step(found, step) for step in found.steps],
        "slopes": {
            "action_um_per_mm": [
                {"string": s, "metal_um": um(1e3 * slope)}
                for s, slope in enumerate(slopes.action.tolist(), start=1)
            ],
            "force_um_per_n": um(1e3 * slopes.force),
            "guard_um": um(1e3 * slopes.guard),
        },
        "holding": [_holding(one) for one in found.holding],
    }


def _step(found: Sensitivity, step: Step) -> dict[str, Any]:
    """by: mm of action or fret height, N of pluck, turns tightened; what: a player, or what is
    freed or kept; string: null for all."""
    entry = {
        "kind": step.kind,
        "by": rounded(step.by, 4),
        "what": step.what or None,
        "string": step.string,
        "feasible": step.feasible,
        "metal_um": um(1e3 * step.metal_mm),
        "saves_um": um(1e3 * found.saves_mm(step)),
        "rod_turns": rounded(step.turns, 4) if step.feasible else None,
        "action_mm": [mm(one) for one in step.action_mm.tolist()] if step.feasible else None,
    }
    return entry if step.feasible else {**entry, "status": NO_PLAN}


def _holding(one: Holding) -> dict[str, Any]:
    return {
        "string": one.string,
        "fretted": one.fretted,
        "bend": one.bend,
        "at": one.at,
        "holds_um": um(1e3 * one.holds_mm),
        "metal_um_per_um": rounded(one.price, 3),
    }
