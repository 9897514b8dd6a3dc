"""What to turn and raise before any metal comes off."""

from __future__ import annotations

import math

import numpy as np

from analysis.instrument import FloatArray, Instrument
from analysis.plan.plan import Plan
from daq.documents.action import action_after_mm, nut_gap_after_mm
from daq.text.rod_words import by_what
from daq.text.words import fixed, named, signed, turn_words

#: Relief changes smaller than this are none, mm.
LEAST_RELIEF_MM = 0.001
#: Screws and slots are set to this, mm.
STEP_MM = 0.01


def setup_sentences(plan: Plan, instrument: Instrument) -> list[str]:
    """Rod, then nut, then saddles, in the order they are done, and what that must lead to."""
    said = [*rod_sentences(plan), *_nut(plan.nut_mm), *_saddles(plan.saddle_mm)]
    if np.any(np.abs(plan.nut_mm) > 0.5 * STEP_MM):
        said.append(_gaps(plan, nut_gap_after_mm(plan, instrument)))
    return [*said, _action(action_after_mm(plan, instrument))]


def rod_sentences(plan: Plan) -> list[str]:
    """How far the rod is turned and how to tell that it did what was meant."""
    if abs(plan.relief_change_mm) < LEAST_RELIEF_MM:
        return ["The rod stays as it is."]
    way = "Tighten" if plan.turns > 0 else "Loosen"
    words = turn_words(plan.turns)
    how = f"by {words}" if words.startswith("less") else words
    return [
        f"{way} the rod {how}, {_settle(plan.turns)}, measure again.",
        f"Meant is {signed(plan.relief_change_mm, 2)} mm of relief "
        f"({fixed(abs(plan.turns), 2)} turn {by_what(plan.rod)}): go by the relief "
        "you measure, not by the turn.",
    ]


def _settle(turns: float) -> str:
    if round(8.0 * abs(turns)) <= 2:
        return "let it settle"
    return "a quarter turn at a time and letting it settle each time"


def up_to_step(change_mm: float) -> float:
    """To the next 0.01 mm upwards: a string set too low would buzz."""
    return STEP_MM * math.ceil(round(change_mm / STEP_MM, 3))


def _action(after_mm: FloatArray) -> str:
    """Where the strings are to end: the plan has the saddles set to this whatever the rod does."""
    heights = ", ".join(f"{n}: {fixed(float(mm), 2)}" for n, mm in enumerate(after_mm, start=1))
    return (
        "When all is done, strings on and at pitch, set the saddles by the string height over "
        f"fret 12, mm by string: {heights}."
    )


def _gaps(plan: Plan, after_mm: FloatArray) -> str:
    """Where the filed slots are to end: a gap measured by hand is only so good."""
    changed = np.flatnonzero(np.abs(plan.nut_mm) > 0.5 * STEP_MM)
    gaps = ", ".join(f"{n + 1}: {fixed(float(after_mm[n]), 2)}" for n in changed)
    return (
        "File a slot by the open string's height over fret 1, not by the amount taken, and stop "
        f"short rather than past it; mm by string: {gaps}."
    )


def _saddles(change_mm: FloatArray) -> list[str]:
    return _sentences(
        change_mm,
        "Raise the saddle under {strings} by {mm} mm.",
        "Lower the saddle under {strings} by {mm} mm.",
        "The saddles stay as they are.",
    )


def _nut(change_mm: FloatArray) -> list[str]:
    return _sentences(
        change_mm,
        "Raise the nut slot of {strings} by {mm} mm (fill or shim it).",
        "Lower the nut slot of {strings} by {mm} mm.",
        "The nut stays as it is.",
    )


def _sentences(change_mm: FloatArray, up: str, down: str, none: str) -> list[str]:
    """One sentence for each amount, strings with the same amount together."""
    steps = [up_to_step(float(change)) for change in np.nan_to_num(change_mm)]
    by_step: dict[float, list[int]] = {}
    for string, step in enumerate(steps, start=1):
        if abs(step) > 0.5 * STEP_MM:
            by_step.setdefault(round(step, 2), []).append(string)
    if not by_step:
        return [none]
    return [
        (up if step > 0 else down).format(strings=named("string", strings), mm=fixed(abs(step), 2))
        for step, strings in by_step.items()
    ]
