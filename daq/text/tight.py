"""Where a string has least room, in words short enough for a picture."""

from __future__ import annotations

from analysis.plan.tight import Tight
from daq.text.words import fixed


def held_words(one: Tight) -> str:
    """String 3 open; String 3 fretted at 5; String 3 bent at 5."""
    held = "bent" if one.bend else "fretted"
    where = "open" if one.fretted == 0 else f"{held} at {one.fretted}"
    return f"String {one.string} {where}"


def room_words(spare_mm: float, u_mm: float) -> str:
    """0.013 ± 0.018 mm short; 0.021 ± 0.018 mm to spare."""
    way = "to spare" if spare_mm >= 0.0 else "short"
    return f"{fixed(abs(spare_mm), 3)} ± {fixed(2.0 * u_mm, 3)} mm {way}"


def worst_words(one: Tight, *, after: bool) -> str:
    """now, fret 6: 0.013 ± 0.018 mm short; the guard is not counted."""
    clearance = one.after_mm if after else one.now_mm
    i = one.worst(clearance)
    room = room_words(float(clearance[i] - one.swing_mm[i]), float(one.u_mm[i]))
    return f"{'after' if after else 'now'}, fret {one.at[i]}: {room}"
