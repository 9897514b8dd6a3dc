"""One string from the side: the tops under it, what comes off, the string and its swing."""

from __future__ import annotations

from dataclasses import dataclass

from analysis.instrument import FloatArray
from analysis.plan.changes import Changes
from analysis.plan.planner import Planner
from analysis.plan.target import Target
from analysis.plan.tight import Looked, Tight


@dataclass(frozen=True, slots=True)
class Section:
    """Heights in mm in the frame of the strung tops, x from the nut of the centre line.

    All [frets]: x_mm, top_mm as measured (NaN: nobody saw it), u_top_mm, after_mm once the plan is
    done, the rod acting as it is stated to, cut_mm. shape_mm: the asked-for shape, NaN outside its
    anchors; None where none is asked for. nut_mm, saddle_mm: the string's ends, (now, after).
    tight: the string held where it was asked for; None where it has no margin there.
    """

    string: int
    x_mm: FloatArray
    top_mm: FloatArray
    u_top_mm: FloatArray
    after_mm: FloatArray
    cut_mm: FloatArray
    shape_mm: FloatArray | None
    anchors: tuple[int, int] | None
    nut_x_mm: float
    saddle_x_mm: float
    nut_mm: tuple[float, float]
    saddle_mm: tuple[float, float]
    tight: Tight | None


def section(
    planner: Planner,
    seen: Looked,
    done: Changes,
    target: Target,
    string: int,
    fretted: int | None = None,
) -> Section:
    """fretted: where the string is held, 0 is open; None: where it has least room now."""
    before, after, s = seen.before, seen.after, string - 1
    shape = target.shape
    return Section(
        string,
        before.x_mm[:, s],
        planner.shape.top_mm[:, s],
        planner.shape.u_top_mm[:, s],
        after.top_mm[:, s],
        done.remove_mm[:, s],
        None if shape is None else shape.height_mm(before.x_mm, before.top_mm)[:, s],
        None if shape is None else shape.frets,
        float(before.nut_x_mm[s]),
        float(before.saddle_x_mm[s]),
        (float(before.nut_mm[s]), float(after.nut_mm[s])),
        (float(before.saddle_mm[s]), float(after.saddle_mm[s])),
        seen.held(string, fretted),
    )
