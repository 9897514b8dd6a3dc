"""The worst margin of every string in every position, and its verdict."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from analysis.instrument import FloatArray
from analysis.plan.margins import IntArray, Margins

#: The programme meets its rows to this, mm.
MET_MM = 1e-6


@dataclass(frozen=True, slots=True)
class Clearance:
    """The worst margin of one string in one fretted position (0: open).

    clearance_mm: string over the fret at its worst; needed_mm: what its swing needs, without
    guard, and without what a real string's comes deeper, more_mm; u_mm: standard uncertainty of
    clearance less need. verdict: "clear", "undecided" or "buzzes", by the guard band of
    ISO 14253-1.
    """

    string: int
    fretted: int
    worst_at: int
    bend: bool
    clearance_mm: float
    needed_mm: float
    more_mm: float
    u_mm: float
    verdict: str

    @property
    def swing_mm(self) -> float:
        """All that the string needs, without guard."""
        return self.needed_mm + self.more_mm


def worst_rows(rows: Margins, clearance_mm: FloatArray) -> IntArray:
    """Of every string, position and bend the margin nearest to trouble: its row, int[places]."""
    over = clearance_mm - rows.swing_mm
    first = rows.first
    least = np.minimum.reduceat(over, first)
    place = np.repeat(np.arange(first.size), np.diff(np.append(first, over.size)))
    found = np.flatnonzero(over == least[place])
    return np.asarray(found[np.unique(place[found], return_index=True)[1]])


def verdicts(over_mm: FloatArray, u_mm: FloatArray, guard: float) -> NDArray[np.str_]:
    """over_mm: clearance less need."""
    band = guard * u_mm
    return np.where(
        over_mm >= band - MET_MM, "clear", np.where(over_mm < -band, "buzzes", "undecided")
    )


def worst_clearances(
    rows: Margins, clearance_mm: FloatArray, guard: float
) -> tuple[Clearance, ...]:
    """`worst_rows` as records."""
    return clearances(rows, clearance_mm, guard, worst_rows(rows, clearance_mm))


def clearances(
    rows: Margins, clearance_mm: FloatArray, guard: float, chosen: IntArray
) -> tuple[Clearance, ...]:
    """The chosen rows as records."""
    over = clearance_mm[chosen] - rows.swing_mm[chosen]
    columns = (
        rows.string[chosen].tolist(),
        rows.fretted[chosen].tolist(),
        rows.at[chosen].tolist(),
        rows.bend[chosen].tolist(),
        clearance_mm[chosen].tolist(),
        rows.needed_mm[chosen].tolist(),
        rows.more_mm[chosen].tolist(),
        rows.u_mm[chosen].tolist(),
        verdicts(over, rows.u_mm[chosen], guard).tolist(),
    )
    return tuple(Clearance(*one) for one in zip(*columns, strict=True))
