"""The lines of one string from the side, over a straight line under it: what the views draw."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from analysis.instrument import FloatArray
from analysis.plan.section import Section

#: Heights that differ by less are the same, mm.
_SAME_MM = 1e-6


@dataclass(frozen=True, slots=True)
class Baseline:
    """Straight through the tops of two frets, as measured; heights are drawn over it."""

    frets: tuple[int, int]
    x_mm: tuple[float, float]
    z_mm: tuple[float, float]

    def over(self, x_mm: FloatArray, z_mm: FloatArray) -> FloatArray:
        """Heights over the line, mm."""
        (x0, x1), (z0, z1) = self.x_mm, self.z_mm
        return np.asarray(z_mm - z0 - (x_mm - x0) / (x1 - x0) * (z1 - z0))


@dataclass(frozen=True, slots=True)
class Swing:
    """The held string from its finger on, heights in mm over the baseline: at rest, the lowest
    that its swing comes, and that with the guard."""

    x_mm: FloatArray
    rest_mm: FloatArray
    low_mm: FloatArray
    guard_mm: FloatArray


@dataclass(frozen=True, slots=True)
class SideLines:
    """[frets], mm over the base: top, after, shape (NaN: not known, none). ends: (x, height) of
    the open string now and after. swing: None where there is none to draw. changed: the plan
    moves or cuts something, so that after is not now."""

    section: Section
    base: Baseline
    top_mm: FloatArray
    after_mm: FloatArray
    shape_mm: FloatArray
    now: tuple[FloatArray, FloatArray]
    then: tuple[FloatArray, FloatArray]
    swing: Swing | None
    changed: bool


def side_lines(section: Section, over: tuple[int, int]) -> SideLines:
    """over: the two frets whose tops heights are measured from."""
    base = _base(section, over)
    x = section.x_mm
    ends_x = np.array([section.nut_x_mm, section.saddle_x_mm])
    shape = np.full_like(x, np.nan) if section.shape_mm is None else section.shape_mm
    now, then = (
        (ends_x, base.over(ends_x, np.array([section.nut_mm[i], section.saddle_mm[i]])))
        for i in (0, 1)
    )
    changed = _changed(section)
    return SideLines(
        section,
        base,
        base.over(x, section.top_mm),
        base.over(x, section.after_mm),
        base.over(x, shape),
        now,
        then,
        _swing(section, base, changed),
        changed,
    )


def _base(section: Section, frets: tuple[int, int]) -> Baseline:
    """Where one of the two was not seen: the nearest fret that was."""
    seen = np.flatnonzero(np.isfinite(section.top_mm))
    if seen.size < 2:
        middle = float(np.mean(section.nut_mm))
        return Baseline((0, 0), (0.0, 1.0), (middle, middle))
    first = int(seen[np.argmin(np.abs(seen - (frets[0] - 1)))])
    others = seen[seen != first]
    last = int(others[np.argmin(np.abs(others - (frets[1] - 1)))])
    x, z = section.x_mm[[first, last]].tolist(), section.top_mm[[first, last]].tolist()
    return Baseline((first + 1, last + 1), (x[0], x[1]), (z[0], z[1]))


def _changed(section: Section) -> bool:
    moved = np.nan_to_num(np.abs(section.after_mm - section.top_mm)).max(initial=0.0)
    ends = max(abs(b - a) for a, b in (section.nut_mm, section.saddle_mm))
    return bool(max(float(moved), ends) > _SAME_MM)


def _swing(section: Section, base: Baseline, changed: bool) -> Swing | None:
    """As the string lies once the plan is done; a bent one lies across the board, not here."""
    tight = section.tight
    if tight is None or tight.bend:
        return None
    tops = section.after_mm if changed else section.top_mm
    nut = section.nut_mm[1 if changed else 0]
    clearance = tight.after_mm if changed else tight.now_mm
    start = nut if tight.fretted == 0 else float(tops[tight.fretted - 1])
    x = np.concatenate([[tight.start_x_mm], tight.x_mm])
    rest = np.concatenate([[start], tops[tight.at - 1] + clearance])
    seen = np.isfinite(rest)
    if np.count_nonzero(seen) < 2:
        return None
    swing, wanted = (np.concatenate([[0.0], one]) for one in (tight.swing_mm, tight.wanted_mm))
    over = base.over(x, rest)
    return Swing(x[seen], over[seen], (over - swing)[seen], (over - wanted)[seen])
