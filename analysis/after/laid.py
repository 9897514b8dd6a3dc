"""The tops under one string before and after the cut, the two scans laid over one another."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from analysis.instrument import FloatArray, Instrument, joint_mm
from analysis.movement.changes import BENDS
from analysis.movement.untouched import untouched_movement
from analysis.neck.neck import Neck


@dataclass(frozen=True, slots=True)
class LaidOver:
    """[frets], mm: tops before, as they would lie in the scan after, and tops after; NaN: not
    seen. u: standard; how well the two lie over one another is in `u_after_mm`."""

    x_mm: FloatArray
    before_mm: FloatArray
    u_before_mm: FloatArray
    after_mm: FloatArray
    u_after_mm: FloatArray


def laid_over(
    before: Neck, after: Neck, planned_um: FloatArray, instrument: Instrument, string: int
) -> LaidOver | None:
    """By the board and by the frets that nothing was planned for, as `achieved_um` does it.

    planned_um: [frets, strings]. None where a scan has no lane under the string. Raises
    ValueError where the scans share too little.
    """
    i, j = np.flatnonzero(before.string == string), np.flatnonzero(after.string == string)
    if i.size == 0 or j.size == 0:
        return None
    a, b = i[0], j[0]
    field = untouched_movement(before, after, planned_um, joint_mm(instrument))
    moved, u_moved = field.at(before.x_mm[:, a], before.y_mm[:, a])
    # how clamping bent the neck is in the field
    u_before, u_after = (neck.terms.without(BENDS).u_mm for neck in (before, after))
    return LaidOver(
        before.x_mm[:, a],
        before.top_mm[:, a] + moved,
        u_before[:, a],
        after.top_mm[:, b],
        np.hypot(u_after[:, b], u_moved),
    )
