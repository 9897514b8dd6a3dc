"""The usual way, to compare with: a straight line under every top, string by string."""

from __future__ import annotations

from typing import Any

import numpy as np
from scipy import sparse
from scipy.optimize import linprog

from analysis.instrument import FloatArray
from analysis.rod import RodCase
from analysis.setup import Setup


def level_mm(setup: Setup, rod: RodCase, most_relief_mm: float) -> FloatArray:
    """What levelling would take off, [frets, strings], mm.

    Per string the straight line that lies under every top and takes least; the rod, one for
    all strings, set where the total is smallest: one linear programme over the lines' ends
    and the rod. Unseen tops (NaN) take no part.
    """
    x, top = setup.x_mm, setup.top_mm
    frets, strings = top.shape
    seen = np.isfinite(top)
    share = (x - x[0]) / (x[-1] - x[0])
    fret, string = np.nonzero(seen)
    rows = np.arange(fret.size)
    part = share[fret, string]
    # line(x) - rod lift <= top, for every seen top
    left = sparse.csr_array(
        (
            np.concatenate([1.0 - part, part, -rod.tops[fret, string]]),
            (
                np.tile(rows, 3),
                np.concatenate([string, strings + string, np.full(fret.size, 2 * strings)]),
            ),
        ),
        shape=(fret.size, 2 * strings + 1),
    )
    # the least metal is the highest sum of lines, the lifted tops' own sum aside
    cost = -np.asarray(left.sum(axis=0)).ravel()
    bounds: list[tuple[float | None, float | None]] = [(None, None)] * (2 * strings)
    bounds.append((-most_relief_mm, most_relief_mm))
    constraints: Any = left  # the solver takes sparse matrices, its type hints do not
    answer = linprog(
        cost,
        A_ub=constraints,
        b_ub=np.asarray(top[seen], dtype=float),
        bounds=bounds,
        method="highs",
    )
    off = np.zeros((frets, strings))
    off[seen] = np.clip(top[seen] - left @ np.asarray(answer.x), 0.0, None)
    return off
