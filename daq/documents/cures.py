"""What is in the way of a plan and what would cure it, as a document."""

from __future__ import annotations

from typing import Any

import numpy as np

from analysis.plan.blocking import Blocking, Hurdle
from analysis.plan.cure import Cure, CureKind
from analysis.plan.ideal import Impossible
from analysis.plan.plan import Plan
from daq.documents.numbers import mm, rounded, u_mm, um

#: What a cure's amount is called, and to how many digits it is written.
_AMOUNTS: dict[CureKind, tuple[str, int]] = {
    "scan again": ("u_share", 2),
    "heights again": ("u_action_mm", 4),
    "measure again": ("u_share", 2),
    "rod": ("turns", 4),
    "softer": ("pluck_force_n", 2),
    "bends": ("bend_semitones", 2),
    "lower frets": ("least_fret_mm", 2),
    "refret": ("crown_mm", 2),
}
#: What it is called by how much each string goes past its limit.
_BY_STRING: dict[CureKind, str] = {"saddles": "saddles_mm", "nut": "nut_mm"}


def cures_document(plan: Plan) -> dict[str, Any]:
    """`action_short`, `refret`, `in_the_way`, `no_neck`, `cures`.

    in_the_way: sets that cannot be met together, none of whose members can be spared. no_neck:
    what no neck at all could meet, and what could be met; null where some could.
    """
    over = np.flatnonzero(plan.action_short_mm > 1e-5).tolist()
    return {
        "action_short": [{"string": s + 1, "short_mm": mm(plan.action_short_mm[s])} for s in over],
        "refret": [{"fret": refret.fret, "why": refret.why} for refret in plan.refret],
        "in_the_way": [_blocking(one) for one in plan.blocking],
        "no_neck": _impossible(plan.impossible),
        "cures": [_cure(cure) for cure in plan.cures],
    }


def _blocking(one: Blocking) -> dict[str, Any]:
    return {
        "short_mm": mm(one.short_mm),
        "whatever_the_frets": one.any_frets,
        "members": [_hurdle(hurdle) for hurdle in one.hurdles],
    }


def _hurdle(hurdle: Hurdle) -> dict[str, Any]:
    """now_mm: clearance, action or fret height; only a limit where it is of a screw or a file."""
    member = hurdle.member
    entry: dict[str, Any] = {"kind": member.kind}
    if member.string:
        entry["string"] = member.string
    if member.kind == "margin":
        entry |= {"fretted": member.fretted, "over_fret": member.at, "bend": member.bend}
    elif member.at:
        entry["fret"] = member.at
    if hurdle.now_mm is not None:
        entry |= {"now_mm": mm(hurdle.now_mm), "u_now_mm": u_mm(hurdle.u_mm)}
    return {**entry, "limit_mm": mm(hurdle.limit_mm)}


def _impossible(found: Impossible | None) -> dict[str, Any] | None:
    if found is None:
        return None
    heights = {str(string): mm(height) for string, height in found.action_mm.items()}
    force = None if found.force_n is None else rounded(found.force_n, 3)
    return {
        "highest_action_mm": heights,
        "pluck_force_n": force,
        "bend_semitones": found.bend_semitones,
    }


def _cure(cure: Cure) -> dict[str, Any]:
    """raise_mm: string number to how much higher its action would have to be allowed."""
    by = {str(s): mm(by) for s, by in enumerate(cure.raise_mm, start=1) if abs(by) > 1e-5}
    entry: dict[str, Any] = {
        "kind": cure.kind,
        "free": list(cure.free),
        "raise_mm": by if cure.kind == "action" else {},
        "metal_um": um(1e3 * cure.metal_mm),
    }
    if cure.kind in _BY_STRING:
        entry[_BY_STRING[cure.kind]] = by
    if cure.kind in _AMOUNTS:
        name, digits = _AMOUNTS[cure.kind]
        entry[name] = rounded(cure.amount, digits)
    if cure.frets:
        entry["frets"] = list(cure.frets)
    return entry
