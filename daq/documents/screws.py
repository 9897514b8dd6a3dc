"""What is turned and raised, and what the asked-for shape lacks: of a plan kept or only tried."""

from __future__ import annotations

from typing import Any

import numpy as np

from analysis.instrument import FloatArray
from daq.documents.numbers import cut_um, mm, rounded, um

#: A planned removal smaller than this is none, micrometres.
LEAST_CUT_UM = 0.05


def rod_turned(turns: float, relief_change_mm: float) -> dict[str, Any]:
    """turns: tightening positive."""
    written = rounded(abs(turns), 4)
    way = "tighten" if turns > 0 else "loosen"
    return {
        "turns": written,
        "direction": way if written else "none",
        "relief_change_mm": mm(relief_change_mm),
    }


def changes_by_string(change_mm: FloatArray) -> list[dict[str, Any]]:
    """change_mm: [strings]."""
    return [
        {"string": string, "change_mm": mm(change)}
        for string, change in enumerate(change_mm.tolist(), start=1)
    ]


def action_by_string(after_mm: FloatArray) -> list[dict[str, Any]]:
    """after_mm: string heights over fret 12 once it is done, [strings]."""
    return [{"string": s, "after_mm": mm(a)} for s, a in enumerate(after_mm.tolist(), start=1)]


def shape_short_entries(short_mm: FloatArray) -> list[dict[str, Any]]:
    """Where the asked-for shape is out of reach. short_mm: [frets, strings]."""
    places = np.argwhere(1e3 * short_mm > LEAST_CUT_UM).tolist()
    return [
        {"fret": f + 1, "string": s + 1, "short_um": um(1e3 * short_mm[f, s])} for f, s in places
    ]


def metal_um(remove_mm: FloatArray) -> float | None:
    """All of it together, each cut as it is written. remove_mm: [frets, strings]."""
    removal = 1e3 * remove_mm
    return um(sum(map(cut_um, removal[removal > LEAST_CUT_UM].tolist())))
