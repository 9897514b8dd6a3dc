"""How many more such dressings the frets have, as a document."""

from __future__ import annotations

from typing import Any

from analysis.plan.life import FretLife, Life, Spare
from daq.documents.numbers import mm, rounded, u_mm, um

UNKNOWN = "the fret's height is not known"
USUAL = "the plan takes no metal: a usual dressing stands in (common practice)"


def life_document(life: Life) -> dict[str, Any]:
    """frets: the least life first. dressing_um: what a dressing like this one takes off a fret;
    dressings: so many more of it the neck has, off every fret alike."""
    entry: dict[str, Any] = {
        "dressing_um": um(1e3 * life.dressing_mm),
        "dressings": rounded(life.dressings, 2),
        "frets": [_fret(one) for one in life.frets],
        "spares": [_spare(one) for one in life.spares],
    }
    return {**entry, "status": USUAL} if life.usual else entry


def _fret(one: FretLife) -> dict[str, Any]:
    entry = {
        "fret": one.fret,
        "string": one.string or None,
        "height_after_mm": mm(one.height_mm),
        "u_height_after_mm": u_mm(one.u_height_mm),
        "room_mm": mm(one.room_mm),
        "cut_um": um(1e3 * one.cut_mm),
        "dressing_um": um(1e3 * one.dressing_mm),
        "dressings": rounded(one.dressings, 2),
    }
    return entry if one.string else {**entry, "status": UNKNOWN}


def _spare(one: Spare) -> dict[str, Any]:
    """string: whose highest action is raised by raise_mm; null where none is."""
    return {
        "string": one.string or None,
        "raise_mm": mm(one.raise_mm),
        "takes_um": um(1e3 * one.takes_mm),
        "more_metal_um": um(1e3 * one.metal_mm),
        "dressings": rounded(one.dressings, 2),
    }
