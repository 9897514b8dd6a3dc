"""A plan tried in memory, as a document: the same numbers as in the document of a plan kept."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

import numpy as np

from analysis.after.heights import string_rise_mm
from analysis.instrument import FloatArray
from analysis.plan.clearances import Clearance
from analysis.plan.room import ORDER, Room
from daq.documents.numbers import mm, um
from daq.documents.plan import short_mm
from daq.documents.screws import (
    action_by_string,
    changes_by_string,
    metal_um,
    rod_turned,
    shape_short_entries,
)
from daq.steps.trying import Tried


def tried_document(tried: Tried, room: Room, level_mm: FloatArray) -> dict[str, Any]:
    """Metal, screws, room to spare, what stays short. room: of what is tried; level_mm:
    [frets, strings], what levelling would take."""
    changes = tried.changes
    return {
        "feasible": bool(tried.feasible),
        "metal_um": metal_um(changes.remove_mm),
        "level_um": um(1e3 * float(level_mm.sum())),
        "rod": rod_turned(tried.turns, changes.relief_mm),
        "saddles": changes_by_string(changes.saddle_mm),
        "nut": changes_by_string(changes.nut_mm),
        "action": action_by_string(_action_after_mm(tried)),
        "tally": {word: int(np.count_nonzero(room.verdict == word)) for word in reversed(ORDER)},
        "least": least_entry(room),
        "short": [] if tried.feasible else short_entries(tried.short, tried.playing.guard),
        "shape_short": shape_short_entries(tried.limits.shape_short_mm),
    }


def _action_after_mm(tried: Tried) -> FloatArray:
    """As `action_after_mm` of a plan."""
    instrument = tried.bench.instrument
    case = tried.planner.rod.cases[0]
    rise = string_rise_mm(instrument, tried.changes, case, 12)
    return np.asarray(instrument.action_mm) + rise


def least_entry(room: Room) -> dict[str, Any] | None:
    """The place with least room of those with the worst verdict; None where nothing was seen."""
    for verdict in ORDER:
        places = np.argwhere(room.verdict == verdict)
        if places.size:
            fretted, string = min(places.tolist(), key=lambda at: room.spare_mm[tuple(at)])
            return {
                "string": string + 1,
                "fretted": fretted,
                "at": int(room.at[fretted, string]),
                "bend": bool(room.bend[fretted, string]),
                "spare_mm": mm(room.spare_mm[fretted, string]),
                "verdict": verdict,
            }
    return None


def short_entries(short: Iterable[Clearance], guard: float) -> list[dict[str, Any]]:
    """The worst of each string and position, straight and bent apart, the worst first."""
    worst: dict[tuple[int, int, bool], tuple[float, Clearance]] = {}
    for one in short:
        missing = short_mm(one, guard)
        key = (one.string, one.fretted, one.bend)
        if key not in worst or missing > worst[key][0]:
            worst[key] = missing, one
    return [
        {
            "string": one.string,
            "fretted": one.fretted,
            "at": one.worst_at,
            "bend": one.bend,
            "short_mm": mm(missing),
        }
        for missing, one in sorted(worst.values(), key=lambda pair: -pair[0])
    ]
