"""What the bench is set to, and what the beam does there: records of it."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import product

import numpy as np

from analysis.bench.placing import Placed, Work, taken_by
from analysis.bench.straight import U_SET_MM, Lines
from analysis.instrument import FloatArray
from analysis.neck.shape import Shape
from analysis.rod.rod import Rod


@dataclass(frozen=True, slots=True)
class Line:
    """One string of a section. stops: the two frets where the beam is down to the plan.

    take_um: [frets of the section], what comes off by then; NaN where a top was not seen.
    """

    string: int
    stops: tuple[int, int]
    take_um: FloatArray


@dataclass(frozen=True, slots=True)
class Section:
    """The beam laid over frets first to last. u_um: of a line over the plan, at its worst."""

    first: int
    last: int
    lines: tuple[Line, ...]
    u_um: float


@dataclass(frozen=True, slots=True)
class Prop:
    """A wedge or a strap under a fret, the body held. lift_mm: of fret 1, down where negative."""

    fret: int
    lift_mm: float
    u_lift_mm: float
    nut_mm: float


@dataclass(frozen=True, slots=True)
class BeamSetting:
    """relief_change_mm, turns: from the rod's setting in the unstrung scan; 0 where it stays.

    tops_mm: [frets, strings], the tops as bent, before the beam. taken_um, left_um: [frets,
    strings], what the beam takes and what then still stands above the plan, for the file; left
    is NaN where a top was not seen. Neither is ever negative: the beam goes nowhere below the
    plan. share: of the planned metal, what the beam takes; share_least: at the least, whatever
    rod and prop do of what they may and however well they are set. share_without: without the
    prop; None where none is proposed.
    """

    beam_mm: float | None
    relief_change_mm: float
    turns: float
    prop: Prop | None
    sections: tuple[Section, ...]
    tops_mm: FloatArray
    taken_um: FloatArray
    left_um: FloatArray
    share: float
    share_least: float
    share_without: float | None = None


def setting_of(
    unstrung: Shape, rod: Rod, lines: Lines, work: Work, beam_mm: float | None
) -> BeamSetting:
    """The record of one piece of work, no prop in it yet."""
    total = float(lines.remove_mm.sum())
    gap = lines.gaps_mm(work.bent)[0]
    done = taken_by(work.placed, lines.taken_mm(gap))
    left = np.where(np.isfinite(unstrung.top_mm), lines.remove_mm - done, np.nan)
    relief = float(work.bent[0])
    return BeamSetting(
        beam_mm,
        relief,
        -relief / rod.mm_per_turn,
        None,
        tuple(_section(unstrung, lines, gap, placed) for placed in work.placed),
        unstrung.top_mm + np.tensordot(work.bent, lines.lifts[0], axes=1),
        1e3 * done,
        1e3 * np.clip(left, 0.0, None),
        float(done.sum()) / total if total else 0.0,
        _least_mm(lines, work) / total if total else 0.0,
    )


def _least_mm(lines: Lines, work: Work) -> float:
    """What the beam takes at the least: in any case of rod and prop, each set by twice U_SET_MM
    too much or too little, and every line stopped where the first top is down to the plan."""
    least = np.inf
    for off in product((-2.0 * U_SET_MM, 0.0, 2.0 * U_SET_MM), repeat=work.bent.size):
        for gap in lines.gaps_mm(work.bent + np.array(off)):
            done = np.zeros_like(lines.remove_mm)
            for one in work.placed:
                under = gap[:, one.first : one.last + 1]
                high = -np.min(under, axis=1, initial=0.0, where=np.isfinite(under))[:, None]
                done = np.maximum(done, taken_by((one,), lines.taken_mm(gap + high)))
            least = min(least, float(done.sum()))
    return least


def _section(unstrung: Shape, lines: Lines, gap: FloatArray, placed: Placed) -> Section:
    """Only the strings under which the beam takes anything."""
    inside = slice(placed.first, placed.last + 1)
    found, doubts = [], []
    for string in np.flatnonzero(placed.line >= 0).tolist():
        line = int(placed.line[string])
        stops = int(lines.first[line]), int(lines.second[line])
        take = np.clip(lines.remove_mm[:, string] - gap[line, :, string], 0.0, None)
        found.append(Line(string + 1, (stops[0] + 1, stops[1] + 1), 1e3 * take[inside]))
        u = _u_line_mm(unstrung, lines, line, string)[inside]
        doubts.append(np.max(u[take[inside] > 0], initial=0.0))
    return Section(placed.first + 1, placed.last + 1, tuple(found), 1e3 * float(max(doubts)))


def _u_line_mm(unstrung: Shape, lines: Lines, line: int, string: int) -> FloatArray:
    """How well the line over each planned top is known, [frets]: three tops and the gauge that
    the neck is set by, as each bends the string between the two stops."""
    x, u = unstrung.x_mm[:, string], unstrung.u_top_mm[:, string]
    i, j = lines.first[line], lines.second[line]
    share = (x - x[i]) / (x[j] - x[i])
    tops = ((1.0 - share) * u[i]) ** 2 + (share * u[j]) ** 2 + u**2
    tops[[i, j]] = 0.0
    bends = np.sum((U_SET_MM * lines.bends[0, :, line, :, string]) ** 2, axis=0)
    return np.asarray(np.sqrt(tops + bends))
