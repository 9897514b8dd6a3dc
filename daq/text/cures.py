"""What no plan can do on this neck, and what would cure it."""

from __future__ import annotations

import numpy as np

from analysis.plan.clearances import Clearance
from analysis.plan.cures import Cure
from analysis.plan.plan import Plan
from daq.documents.plan import short_mm
from daq.text.margins import TOLD, position
from daq.text.setup import up_to_step
from daq.text.words import fixed, listed, named


def short_sentences(plan: Plan) -> list[str]:
    """What stays short, the worst of each string and position, the worst first."""
    worst: dict[tuple[int, int, bool], Clearance] = {}
    for c in plan.short:
        key = (c.string, c.fretted, c.bend)
        if key not in worst or _short(plan, c) > _short(plan, worst[key]):
            worst[key] = c
    order = sorted(worst.values(), key=lambda c: -_short(plan, c))
    said = [_sentence(plan, c) for c in order[:TOLD]]
    if len(order) > TOLD:
        said.append(f"... and {len(order) - TOLD} more places.")
    return said + _action(plan)


def cure_sentences(plan: Plan) -> list[str]:
    """What would let a plan succeed; frets too worn are named even where one does."""
    said = [f"Replace fret {refret.fret}: {refret.why}." for refret in plan.refret]
    said += [_cure(cure) for cure in plan.cures]
    if plan.feasible or said:
        return said
    return ["Nothing the plan may touch cures it: gentler playing or new frets would."]


def _cure(cure: Cure) -> str:
    metal = f"a plan would then take {1e3 * cure.metal_mm:.0f} µm of metal in all"
    if cure.free:
        what = listed([f"the {one}" for one in cure.free])
        return f"Let {what} be changed after all: {metal}."
    by_step: dict[str, list[int]] = {}
    for string, by in enumerate(cure.raise_mm, start=1):
        if by > 1e-5:
            by_step.setdefault(fixed(up_to_step(by), 2), []).append(string)
    parts = [f"{step} mm for {named('string', who)}" for step, who in by_step.items()]
    return f"Accept more action over fret 12, {listed(parts)}: {metal}."


def _short(plan: Plan, clearance: Clearance) -> float:
    return short_mm(clearance, plan.playing.guard)


def _sentence(plan: Plan, c: Clearance) -> str:
    short = _short(plan, c)
    amount = fixed(short, 3) if short >= 5e-4 else "less than 0.001"
    return f"{position(c)} stays {amount} mm short over fret {c.worst_at}, guard included."


def _action(plan: Plan) -> list[str]:
    return [
        f"String {s + 1} stays {fixed(float(plan.action_short_mm[s]), 3)} mm over the highest "
        "action this player accepts."
        for s in np.flatnonzero(plan.action_short_mm > 1e-5).tolist()
    ]
