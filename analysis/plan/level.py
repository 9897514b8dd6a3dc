"""The usual way, to compare with: a straight line under every top, string by string."""

from __future__ import annotations

from typing import Any

import numpy as np
from scipy.optimize import linprog

from analysis.instrument import FloatArray
from analysis.plan.lines import line_bounds, line_rows
from analysis.plan.setup import Setup
from analysis.rod.rod import RodCase


def level_mm(setup: Setup, rod: RodCase, most_relief_mm: float) -> FloatArray:
    """What levelling would take off, [frets, strings], mm.

    Per string the straight line that lies under every top and takes least; the rod, one for
    all strings, set where the total is smallest: one linear programme over the lines' ends
    and the rod. Unseen tops (NaN) take no part.
    """
    top = setup.top_mm
    fret, string = np.nonzero(np.isfinite(top))
    rows = line_rows(setup.x_mm, rod.tops, fret, string)
    constraints: Any = rows  # the solver takes sparse matrices, its type hints do not
    # the least metal is the highest sum of lines, the lifted tops' own sum aside
    answer = linprog(
        -np.asarray(rows.sum(axis=0)).ravel(),
        A_ub=constraints,
        b_ub=np.asarray(top[fret, string], dtype=float),
        bounds=line_bounds(setup.strings, most_relief_mm),
        method="highs",
    )
    off = np.zeros(top.shape)
    off[fret, string] = np.clip(top[fret, string] - rows @ np.asarray(answer.x), 0.0, None)
    return off
