"""What a person lays on the rig, and how."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from sim.plunger import CameFrom
from sim.straightedge import Turned

What = Literal["straightedge", "neck", "gauge", "pin", "edge", "nothing"]

STRAIGHTEDGE_AT_MM = 22.0
STRAIGHTEDGE_UP_MM = 2.5
NECK_UP_MM = 1.5
ROD_AT_MM = 300.0


@dataclass(frozen=True, slots=True)
class How:
    """Where and which way. Only what fits the thing is looked at.

    at_mm: where on the rail a straightedge begins, or a pin or an edge stands; None is the
        usual place. shift_mm: a neck's place, from its usual one. y_mm: the straightedge's
        middle. mm: a gauge block's thickness or a pin's diameter. tip_from: how the tip came
        onto a gauge block, None the way it had to from the thing before.
    """

    at_mm: float | None = None
    y_mm: float = 0.0
    turned: Turned = "no"
    shift_mm: float = 0.0
    mm: float = 0.0
    tip_from: CameFrom | None = None


AS_USUAL = How()


def place_mm(what: What, how: How, nut_at_mm: float) -> tuple[float, float]:
    """Where a thing is meant to begin on the rail, and how high it is meant to lie."""
    if what == "neck":
        return nut_at_mm + how.shift_mm, NECK_UP_MM
    if what == "straightedge":
        return STRAIGHTEDGE_AT_MM if how.at_mm is None else how.at_mm, STRAIGHTEDGE_UP_MM
    return ROD_AT_MM if how.at_mm is None else how.at_mm, 0.0
