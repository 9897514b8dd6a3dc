"""What the truss rod does on this neck, as a document."""

from __future__ import annotations

from typing import Any

from analysis.instrument import FloatArray
from analysis.rod.rod import RELIEF_PER_TURN_MM, Rod
from daq.documents.numbers import mm, rounded, u_mm
from daq.reading.rod import JobRod, RodPart, SincePlan, StateRod

#: Why there is no rod, where nothing else is in the way.
NO_TURN = "no two scans of one state were made at two settings of the rod"


def rod_used_document(rod: Rod) -> dict[str, Any]:
    """What one turn does by the rod a plan goes by."""
    return {
        "mm_per_turn": mm(rod.mm_per_turn),
        "u_mm_per_turn": u_mm(rod.u_mm_per_turn),
        "learnt": rod.learnt,
    }


def rod_document(job: str, found: JobRod) -> dict[str, Any]:
    """The rod as the job's scans show it; numbers are null where they do not, `status` says why.

    `shape`: how one turn of tightening moves each top, nut and joint kept where they are.
    `turns`: every turn that was seen. `states`: what strung and unstrung scans say each by
    themselves; the first is what a plan goes by. `follows`: 0 the tops past the joint stay, 1
    they go on along the tangent of an even bend.
    """
    best = found.best
    status = "; ".join(found.why_not) or ("ok" if best else NO_TURN)
    document: dict[str, Any] = {
        "job": job,
        "learnt": best is not None,
        "status": status,
        "state": None if best is None else best.state,
        **_of_state(best),
        "default_mm_per_turn": RELIEF_PER_TURN_MM,
        "turns": [turn for state in found.states for turn in _turns(state)],
        "states": [{"state": one.state, **_gain(one)} for one in found.states],
        "doubts": list(found.doubts),
        "shape": [] if best is None else _shape(best),
    }
    return document


def rod_part_document(part: RodPart) -> dict[str, Any]:
    """What the rod added between two scans that are compared."""
    return {
        "turns": rounded(part.turns, 4),
        "relief_change_mm": mm(part.relief_change_mm),
        "u_relief_change_mm": u_mm(part.u_relief_change_mm),
        "learnt": part.learnt,
    }


def since_plan_document(since: SincePlan) -> dict[str, Any]:
    """What the rod gave since the plan before, against what that expected."""
    return {
        "plan": since.plan,
        "turns": rounded(since.turns, 4),
        "relief_change_mm": mm(since.relief_change_mm),
        "u_relief_change_mm": u_mm(since.u_relief_change_mm),
        "expected_mm": mm(since.expected_mm),
        "u_expected_mm": u_mm(since.u_expected_mm),
    }


def lift_per_turn_mm(best: StateRod) -> tuple[FloatArray, FloatArray]:
    """[frets, strings]: how one turn of tightening moves the tops, nut and joint kept, and u."""
    rod = best.learnt.rod
    tops = rod.cases[0].tops
    u = (rod.mm_per_turn * best.learnt.u_tops) ** 2 + (tops * rod.u_mm_per_turn) ** 2
    return -rod.mm_per_turn * tops, u**0.5


def _gain(one: StateRod) -> dict[str, Any]:
    rod = one.learnt.rod
    return {"mm_per_turn": mm(rod.mm_per_turn), "u_mm_per_turn": u_mm(rod.u_mm_per_turn)}


def _of_state(best: StateRod | None) -> dict[str, Any]:
    if best is None:
        return dict.fromkeys((
            "mm_per_turn", "u_mm_per_turn", "most_turns", "twist_mrad_per_turn",
            "u_twist_mrad_per_turn", "follows", "u_follows", "linear", "slack_turns",
        ))  # fmt: skip
    learnt = best.learnt
    return {
        **_gain(best),
        "most_turns": rounded(learnt.rod.most_turns, 3),
        "twist_mrad_per_turn": rounded(learnt.twist_mrad_per_turn, 3),
        "u_twist_mrad_per_turn": rounded(learnt.u_twist_mrad_per_turn, 4),
        "follows": rounded(learnt.follows, 3),
        "u_follows": rounded(learnt.u_follows, 4),
        "linear": learnt.linear,
        "slack_turns": learnt.slack,
    }


def _turns(state: StateRod) -> list[dict[str, Any]]:
    return [
        {
            "state": state.state,
            "before": before.name,
            "after": after.name,
            "from_turns": rounded(one.from_turns, 4),
            "to_turns": rounded(one.to_turns, 4),
            "relief_change_mm": mm(one.relief_change_mm),
            "u_relief_change_mm": u_mm(one.u_relief_change_mm),
        }
        for (before, after), one in zip(state.scans, state.learnt.seen, strict=True)
    ]


def _shape(best: StateRod) -> list[dict[str, Any]]:
    dz, u = lift_per_turn_mm(best)
    frets, strings = dz.shape
    return [
        {
            "fret": fret + 1,
            "string": string + 1,
            "dz_mm": mm(dz[fret, string]),
            "u_dz_mm": u_mm(u[fret, string]),
        }
        for fret in range(frets)
        for string in range(strings)
    ]
