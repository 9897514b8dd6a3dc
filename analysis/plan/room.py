"""The room that each string has in each position, at the worst place beyond."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from analysis.instrument import FloatArray
from analysis.plan.clearances import Clearance


@dataclass(frozen=True, slots=True)
class Room:
    """All [positions, strings], position 0 is open: the worst there, straight or bent.

    spare_mm: clearance less what the string needs, NaN where nothing was seen. verdict: "clear",
    "undecided", "buzzes", or "" where nothing was seen. at: over which fret, 0 for none.
    """

    spare_mm: FloatArray
    verdict: NDArray[np.str_]
    at: NDArray[np.int_]
    bend: NDArray[np.bool_]


#: From bad to good.
ORDER = ("buzzes", "undecided", "clear")


def room_of(clearances: Sequence[Clearance], frets: int, strings: int) -> Room:
    """From the worst margins of every string and position: of two verdicts the worse stands."""
    shape = (frets, strings)
    room = Room(
        np.full(shape, np.nan),
        np.full(shape, "", dtype="<U9"),
        np.zeros(shape, dtype=np.int_),
        np.zeros(shape, dtype=bool),
    )
    for c in sorted(clearances, key=_badness, reverse=True):
        place = (c.fretted, c.string - 1)
        room.spare_mm[place] = c.clearance_mm - c.swing_mm
        room.verdict[place] = c.verdict
        room.at[place] = c.worst_at
        room.bend[place] = c.bend
    return room


def _badness(c: Clearance) -> tuple[int, float]:
    return ORDER.index(c.verdict), c.clearance_mm - c.swing_mm
