"""What no plan can do on this neck, and what would cure it."""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np

from analysis.plan.clearances import Clearance
from analysis.plan.cure import Cure, CureKind
from analysis.plan.easing import DONE_FOR_MM
from analysis.plan.plan import Plan
from analysis.strings.playing import BUILT_IN, built_in_profile
from daq.documents.plan import short_mm
from daq.text.blocking import blocking_sentences, impossible_sentences
from daq.text.margins import TOLD, position
from daq.text.setup import up_to_step
from daq.text.words import fixed, listed, named, turn_words


def in_the_way_sentences(plan: Plan) -> list[str]:
    """What cannot be met together; where that is not known, what stays short."""
    said = impossible_sentences(plan.impossible) + blocking_sentences(plan)
    return said if plan.blocking else said + short_sentences(plan)


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
    """What would let a plan succeed, each alone, the cheapest first; frets too worn are named even
    where one does."""
    said = [f"Replace fret {fret}: {why}." for fret, why in too_worn(plan).items()]
    said += [f"{_CURES[cure.kind](plan, cure)}. {_metal(cure)}." for cure in plan.cures]
    if plan.feasible or said:
        return said
    return ["Nothing alone cures it: it takes several at once, or another setup of this neck."]


def too_worn(plan: Plan) -> dict[int, str]:
    """Frets that are to be replaced for themselves, not as one of several cures, and why."""
    cured = {fret for cure in plan.cures for fret in cure.frets}
    return {
        refret.fret: refret.why
        for refret in plan.refret
        if refret.fret not in cured or "high under" in refret.why
    }


def _metal(cure: Cure) -> str:
    return f"A plan would then take {1e3 * cure.metal_mm:.0f} µm of metal in all"


def _scan_again(plan: Plan, cure: Cure) -> str:
    scans = math.ceil(1.0 / cure.amount**2 - 1e-9)
    return (
        "Measure again before anything else, for only the guard is missed: with the tops known to "
        f"{fixed(cure.amount, 2)} of today's uncertainty, about {scans} scans of each state for "
        "one now"
    )


def _heights_again(plan: Plan, cure: Cure) -> str:
    return (
        "Measure the string heights over frets 1 and 12 again before anything else, for only the "
        f"guard is missed: known to ± {fixed(2 * cure.amount, 3)} mm (by pins or feelers; then "
        f"u_action_mm: {fixed(cure.amount, 4)} in the instrument's file)"
    )


def _measure_again(plan: Plan, cure: Cure) -> str:
    return (
        "Measure again before anything else, tops and string heights both, for only the guard is "
        f"missed: known to {fixed(cure.amount, 2)} of today's uncertainty"
    )


def _free(plan: Plan, cure: Cure) -> str:
    return f"Let {listed([f'the {one}' for one in cure.free])} be changed after all"


def _action_cure(plan: Plan, cure: Cure) -> str:
    return f"Accept more action over fret 12, {_by_string(cure)}"


def _saddles(plan: Plan, cure: Cure) -> str:
    return (
        f"Set the saddles past their usual range, {_by_string(cure, ' higher', ' lower')} "
        "(taller or lower saddles, or a shim under the neck)"
    )


def _nut(plan: Plan, cure: Cure) -> str:
    return f"Raise the nut further than a slot is filled, {_by_string(cure)} (a new nut or a shim)"


def _rod(plan: Plan, cure: Cure) -> str:
    way = "Tighten" if cure.amount > 0 else "Loosen"
    return (
        f"{way} the rod {turn_words(cure.amount)} in all, more than a plan turns it at once: a "
        "quarter turn at a time, let it settle, measure again, and stop where it resists"
    )


def _softer(plan: Plan, cure: Cure) -> str:
    strings = len(plan.loads)
    forces = ((name, built_in_profile(name, strings).pluck_force_n) for name in BUILT_IN)
    softer = [f"{name} is {force:g} N" for name, force in forces if force <= cure.amount]
    now = f"instead of {plan.playing.pluck_force_n:g} N"
    known = f" ({softer[-1]})" if softer else ""
    return f"Play softer, {fixed(cure.amount, 2)} N at the most {now}{known}"


def _bends(plan: Plan, cure: Cure) -> str:
    if cure.amount <= 0:
        return "Do not bend strings"
    now = f"{plan.playing.bend_semitones:g}"
    return f"Bend no wider than {cure.amount:g} semitones instead of {now}"


def _lower_frets(plan: Plan, cure: Cure) -> str:
    return (
        f"Accept frets down to {fixed(cure.amount, 2)} mm instead of "
        f"{fixed(plan.playing.least_fret_mm, 2)} mm (under about {DONE_FOR_MM:g} mm a fret is done "
        "for, common practice)"
    )


def _refret(plan: Plan, cure: Cure) -> str:
    frets = plan.remove_mm.shape[0]
    whole = len(cure.frets) == frets
    what = f"all {frets} frets" if whole else named("fret", cure.frets)
    crown = fixed(cure.amount, 2)
    return f"Replace {what}, with crowns of at least {crown} mm, dressed to a new plan afterwards"


_CURES: dict[CureKind, Callable[[Plan, Cure], str]] = {
    "scan again": _scan_again,
    "heights again": _heights_again,
    "measure again": _measure_again,
    "free": _free,
    "action": _action_cure,
    "saddles": _saddles,
    "nut": _nut,
    "rod": _rod,
    "softer": _softer,
    "bends": _bends,
    "lower frets": _lower_frets,
    "refret": _refret,
}


def _by_string(cure: Cure, up: str = "", down: str = "") -> str:
    """0.12 mm for strings 1 and 2 and 0.03 mm for string 6."""
    by_step: dict[str, list[int]] = {}
    for string, by in enumerate(cure.raise_mm, start=1):
        if abs(by) > 1e-5:
            step = fixed(up_to_step(abs(by)), 2)
            by_step.setdefault(f"{step} mm{up if by > 0 else down}", []).append(string)
    return listed([f"{step} for {named('string', who)}" for step, who in by_step.items()])


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
