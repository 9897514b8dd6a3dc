"""What no plan can do on this neck, and what would cure it."""

from __future__ import annotations

import numpy as np

from analysis.plan import Clearance, Plan
from daq.documents.plan import short_mm
from daq.text.margins import position
from daq.text.words import fixed, named


def short_sentences(plan: Plan) -> list[str]:
    """The worst of what stays short, for each string and position."""
    worst: dict[tuple[int, int, bool], Clearance] = {}
    for c in plan.short:
        key = (c.string, c.fretted, c.bend)
        if key not in worst or _short(plan, c) > _short(plan, worst[key]):
            worst[key] = c
    return [_sentence(plan, worst[key]) for key in sorted(worst)] + _action(plan)


def cure_sentences(plan: Plan) -> list[str]:
    """What would let a plan succeed."""
    cures = [f"Replace fret {refret.fret}: {refret.why}." for refret in plan.refret]
    if plan.feasible:
        return cures
    over = np.flatnonzero(plan.action_short_mm > 1e-5)
    if over.size:
        most = float(plan.action_short_mm.max())
        strings = named("string", (over + 1).tolist())
        cures.append(f"Or accept up to {fixed(most, 2)} mm more action over fret 12 for {strings}.")
    cures.append("Or plan for gentler playing, or free what is kept: rod, nut or saddles.")
    return cures


def _short(plan: Plan, clearance: Clearance) -> float:
    return short_mm(clearance, plan.playing.guard)


def _sentence(plan: Plan, c: Clearance) -> str:
    short = _short(plan, c)
    if short < 5e-4:
        return f"{position(c)} holds over fret {c.worst_at} only if the rod acts as the default."
    return f"{position(c)} stays {fixed(short, 3)} mm short over fret {c.worst_at}, guard included."


def _action(plan: Plan) -> list[str]:
    return [
        f"String {s + 1} stays {fixed(float(plan.action_short_mm[s]), 3)} mm over the highest "
        "action this player accepts."
        for s in np.flatnonzero(plan.action_short_mm > 1e-5).tolist()
    ]
