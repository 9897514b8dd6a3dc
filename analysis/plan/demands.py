"""All that is asked of a plan and all that limits it, as rows of one kind: G v >= h, v >= 0."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray
from scipy import sparse

from analysis.instrument import FloatArray
from analysis.plan.limits import Limits
from analysis.plan.margins import IntArray, Margins
from analysis.plan.rows import Rows

Kind = Literal[
    "margin", "action", "step up", "step down", "cut", "saddle up", "saddle down", "nut up",
    "nut down", "rod add", "rod take",
]  # fmt: skip


@dataclass(frozen=True, slots=True)
class Member:
    """One thing asked or one limit.

    string: 0 for the rod; a step goes from it to the next string. fretted, at, bend: of a margin;
    `at` is also the fret of a cut or a step. row: its margin's row, -1 for others.
    """

    kind: Kind
    string: int
    fretted: int = 0
    at: int = 0
    bend: bool = False
    row: int = -1


@dataclass(frozen=True, slots=True)
class Demands:
    """matrix: sparse [members, columns]. least_mm: [members]. The margins come first, row by row,
    then `limits`. That v is never negative (metal is not put back) is no member: nobody can give
    it up.
    """

    margins: Margins
    limits: tuple[Member, ...]
    matrix: sparse.csr_array
    least_mm: FloatArray

    @property
    def size(self) -> int:
        return int(self.least_mm.size)

    @property
    def string(self) -> IntArray:
        """[members]; 0 for the rod."""
        return np.concatenate([self.margins.string, [one.string for one in self.limits]])

    def is_kind(self, kind: Kind) -> NDArray[np.bool_]:
        """[members]."""
        margin = np.full(self.margins.string.size, kind == "margin")
        return np.concatenate([margin, [one.kind == kind for one in self.limits]])

    def member(self, i: int) -> Member:
        """One of them."""
        rows, count = self.margins, self.margins.string.size
        if i >= count:
            return self.limits[i - count]
        string, fretted, at = int(rows.string[i]), int(rows.fretted[i]), int(rows.at[i])
        return Member("margin", string, fretted, at, bool(rows.bend[i]), i)


def demands(rows: Rows, margins: Margins, limits: Limits) -> Demands:
    """margins: with what is needed and known now. Columns pinned away from zero stay so: `least`
    of each row is what it asks beyond them."""
    columns = rows.columns
    low, high = columns.bounds(limits)
    # the rod has columns for saddles set again and for saddles left: only one of them is there
    used = np.ones(columns.size, dtype=bool)
    used[-4:] = [not limits.saddles_left] * 2 + [limits.saddles_left] * 2
    low, high = low[used], high[used]
    effects = sparse.vstack([rows.margins, rows.action, rows.steps, -rows.steps], format="csr")
    capped = -sparse.eye_array(low.size, format="csr")
    matrix = sparse.csr_array(sparse.vstack([effects[:, used], capped]))
    least = np.concatenate(
        [
            wanted_mm(margins, limits) - rows.now_mm,
            rows.action_now_mm - limits.highest_action_mm,
            -rows.most_step_mm,
            -rows.most_step_mm,
            -high,
        ]
    )
    members = _of_limits(columns.frets, columns.strings)
    return Demands(margins, members, matrix, np.asarray(least - matrix @ low))


def wanted_mm(margins: Margins, limits: Limits) -> FloatArray:
    """What each margin needs, with its guard."""
    return np.asarray(margins.swing_mm + limits.guard * margins.u_mm)


def _of_limits(frets: int, strings: int) -> tuple[Member, ...]:
    """In the order of the rows: action, steps both ways, columns."""
    every = range(1, strings + 1)
    out = [Member("action", s) for s in every]
    ways: tuple[Kind, ...] = ("step up", "step down")
    for way in ways:
        out += [Member(way, s, 0, m) for m in range(1, frets + 1) for s in every[:-1]]
    out += [Member("cut", s, 0, m) for m in range(1, frets + 1) for s in every]
    screws: tuple[Kind, ...] = ("saddle up", "saddle down", "nut up", "nut down")
    for screw in screws:
        out += [Member(screw, s) for s in every]
    return (*out, Member("rod add", 0), Member("rod take", 0))
