"""The room that each string has in each position, at the worst place beyond."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from analysis.instrument import FloatArray
from analysis.plan.clearances import Clearance, verdicts, worst_rows
from analysis.plan.margins import IntArray, Margins

#: From bad to good.
ORDER = ("buzzes", "undecided", "clear")


@dataclass(frozen=True, slots=True)
class Room:
    """All [positions, strings], position 0 is open: the worst there, straight or bent.

    spare_mm: clearance less what the string needs, NaN where nothing was seen. verdict: of ORDER,
    or "" where nothing was seen. at: over which fret, 0 for none. bend: whether bent.
    """

    spare_mm: FloatArray
    verdict: NDArray[np.str_]
    at: IntArray
    bend: NDArray[np.bool_]


def room_of(clearances: Sequence[Clearance], frets: int, strings: int) -> Room:
    """From the worst margins of every string and position: of two verdicts the worse stands."""
    return _room(
        (frets, strings),
        np.array([c.fretted for c in clearances], dtype=np.int_),
        np.array([c.string for c in clearances], dtype=np.int_),
        np.array([c.clearance_mm - c.swing_mm for c in clearances], dtype=float),
        np.array([c.verdict for c in clearances], dtype="<U9"),
        np.array([c.worst_at for c in clearances], dtype=np.int_),
        np.array([c.bend for c in clearances], dtype=bool),
    )


def room_at(
    rows: Margins, clearance_mm: FloatArray, guard: float, frets: int, strings: int
) -> Room:
    """The same from the clearances of every margin."""
    worst = worst_rows(rows, clearance_mm)
    spare = clearance_mm[worst] - rows.swing_mm[worst]
    return _room(
        (frets, strings),
        rows.fretted[worst],
        rows.string[worst],
        spare,
        verdicts(spare, rows.u_mm[worst], guard),
        rows.at[worst],
        rows.bend[worst],
    )


def _room(
    shape: tuple[int, int],
    fretted: IntArray,
    string: IntArray,
    spare_mm: FloatArray,
    verdict: NDArray[np.str_],
    at: IntArray,
    bend: NDArray[np.bool_],
) -> Room:
    badness = np.argmax(verdict[:, None] == np.array(ORDER), axis=1)
    # of several at one place the last written stands: the worst
    order = np.lexsort((spare_mm, badness))[::-1]
    room = Room(
        np.full(shape, np.nan),
        np.full(shape, "", dtype="<U9"),
        np.zeros(shape, dtype=np.int_),
        np.zeros(shape, dtype=bool),
    )
    place = (fretted[order], string[order] - 1)
    room.spare_mm[place] = spare_mm[order]
    room.verdict[place] = verdict[order]
    room.at[place] = at[order]
    room.bend[place] = bend[order]
    return room
