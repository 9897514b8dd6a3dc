"""What each step buys in metal, and what holds the plan, in words."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from analysis.plan.holding import Holding
from analysis.plan.sensitivity import Sensitivity, Step
from daq.text.words import fixed, listed

#: Less than this in all is nothing to speak of, mm: a stroke or two of a file (own choice).
WORTH_MM = 0.01
#: A place that holds less metal is not told, mm.
LEAST_MM = 1e-3
#: So many places are told.
TOLD = 3
NO_PLAN = "no plan meets everything"


def sensitivity_sentences(found: Sensitivity) -> list[str]:
    """Action first, then the player, rod and what is kept, then the places that hold the plan."""
    if not found.plan.feasible:
        return _cured(found)
    said = [*_action(found), *_held(found), *_player(found), *_rod(found), *_kept(found)]
    said += _fret(found)
    return [*said, metal_known_sentence(found)]


def metal_known_sentence(found: Sensitivity) -> str:
    """How well the plan's metal is known."""
    return (
        f"The metal in all is known to ± {fixed(2e3 * found.u_metal_mm, 0)} µm by how well tops "
        "and string heights are known."
    )


def metal_words(metal_mm: float) -> str:
    """Of metal summed over frets and strings: 304 µm; 16.8 mm; no metal."""
    um = 1e3 * metal_mm
    if um < 0.5:
        return "no metal"
    return f"{fixed(um, 0)} µm" if um < 1e3 else f"{fixed(metal_mm, 1)} mm"


def change_words(saves_mm: float) -> str:
    """265 µm less; 16.8 mm more; nothing to speak of."""
    if not np.isfinite(saves_mm):
        return NO_PLAN
    if abs(saves_mm) < WORTH_MM:
        return "next to no difference"
    return f"{metal_words(abs(saves_mm))} {'less' if saves_mm > 0 else 'more'}"


def _action(found: Sensitivity) -> list[str]:
    """All strings a tenth higher, and what more buys; the best single string; lower."""
    up = [step for step in found.of("action") if step.by > 0.0]
    said = []
    if up and found.saves_mm(up[0]) >= WORTH_MM:
        first, *rest = up
        more = ", ".join(
            f"{step.by:g} mm: {metal_words(found.saves_mm(step))}"
            for step in rest
            if found.saves_mm(step) - found.saves_mm(first) >= WORTH_MM
        )
        words = f"{first.by:g} mm more action on every string saves "
        words += metal_words(found.saves_mm(first)) + (f" ({more})" if more else "")
        said.append(words + _best_string(found) + ".")
    else:
        said.append("More action saves no metal to speak of.")
    for step in found.of("action"):
        if step.by < 0.0:
            said.append(f"{-step.by:g} mm less action: {change_words(found.saves_mm(step))}.")
    return said


def _best_string(found: Sensitivity) -> str:
    each = [step for step in found.of("string") if step.feasible]
    if not each:
        return ""
    best = max(each, key=found.saves_mm)
    if found.saves_mm(best) < WORTH_MM:
        return ""
    return f"; on string {best.string} alone, which buys most, {metal_words(found.saves_mm(best))}"


def _player(found: Sensitivity) -> list[str]:
    force = [
        f"with {abs(step.by):g} N {'more' if step.by > 0 else 'less'}, "
        f"{change_words(found.saves_mm(step))}"
        for step in found.of("force")
    ]
    other = [
        f"{step.what} {metal_words(step.metal_mm) if step.feasible else NO_PLAN}"
        for step in found.of("profile")
    ]
    said = [f"Plucked {'; '.join(force)}."] if force else []
    if other:
        said.append(f"For another player, with that player's own action: {', '.join(other)}.")
    return said


def _rod(found: Sensitivity) -> list[str]:
    steps = [
        f"a quarter turn {'tighter' if step.by > 0 else 'looser'}, "
        f"{change_words(found.saves_mm(step))}"
        for step in found.of("rod")
    ]
    return [f"The rod held beside where the plan has it: {'; '.join(steps)}."] if steps else []


def _kept(found: Sensitivity) -> list[str]:
    freed = [
        f"Letting the {step.what} be changed after all: {change_words(found.saves_mm(step))}."
        for step in found.of("free")
    ]
    kept = [f"the {step.what}, {change_words(found.saves_mm(step))}" for step in found.of("keep")]
    return [*freed, f"Left as it is: {'; '.join(kept)}."] if kept else freed


def _fret(found: Sensitivity) -> list[str]:
    """Only where the frets' heights stand in the way, or would."""
    return [
        f"With {abs(step.by):g} mm {'more' if step.by > 0 else 'less'} fret height needed: "
        f"{change_words(found.saves_mm(step))}."
        for step in found.of("fret")
        if not abs(found.saves_mm(step)) < WORTH_MM
    ]


def _held(found: Sensitivity) -> list[str]:
    told = [_place(one) for one in found.holding[:TOLD] if one.holds_mm >= LEAST_MM]
    if not told or found.plan.metal_mm < WORTH_MM:
        return []
    return [f"What holds the plan: {'; '.join(told)}. Each by itself: they share metal."]


def _place(one: Holding) -> str:
    where = "open" if one.fretted == 0 else f"{'bent' if one.bend else 'fretted'} at {one.fretted}"
    return f"string {one.string} {where} over fret {one.at}, {metal_words(one.holds_mm)}"


def _cured(found: Sensitivity) -> list[str]:
    """The least of each kind that would make a plan possible."""
    steps = [_least(found.of("action")), _least(found.of("force"))]
    said = [_would(step) for step in steps if step is not None]
    players = [
        f"{step.what} ({metal_words(step.metal_mm)})"
        for step in found.of("profile")
        if step.feasible
    ]
    if players:
        said.append(f"There is a plan for another player: {listed(players)}.")
    return said


def _least(steps: Sequence[Step]) -> Step | None:
    return min((one for one in steps if one.feasible), key=lambda one: abs(one.by), default=None)


def _would(step: Step) -> str:
    what = f"{step.by:g} mm more action on every string"
    if step.kind == "force":
        what = f"Plucking with {-step.by:g} N less"
    return f"{what} would make a plan possible, with {metal_words(step.metal_mm)} of metal."
