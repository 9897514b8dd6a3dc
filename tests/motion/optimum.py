"""The least metal there is, by a plain linear programme: cuts alone, nothing a file could not do.

Twice: for a neck known as well as it was measured (its margins' wants, guard bands and all), and
for the true neck, whose strings need what they really need.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import numpy as np
from scipy import sparse
from scipy.optimize import linprog

from analysis.plan.planner import Planner
from analysis.plan.target import ANYTHING
from analysis.strings.playing import PlayingProfile

from .lines import all_lines
from .swings import moving
from .trueneck import TrueNeck
from .wires import Array

#: No dip this small is worth a row, mm: the string is far above.
FAR_MM = 1.0


def least(rows: Any, wanted: Array, most: Array) -> float:
    """Least sum of cuts in [0, most] with rows @ cuts >= wanted, mm; NaN where there is none."""
    near = wanted > -FAR_MM
    answer = linprog(
        np.ones(most.size),
        A_ub=-rows[near],
        b_ub=-wanted[near],
        bounds=np.column_stack([np.zeros(most.size), most]),
        method="highs",
    )
    return float(answer.fun) if answer.status == 0 else float("nan")


def least_as_measured(planner: Planner, playing: PlayingProfile) -> float:
    """With the plan's own needs and guard bands, but no limit along a fret, nor to the action."""
    setup, margins = planner.setup, planner.margins
    now = margins.clearance_mm(setup.node_z_mm, setup.nut_mm, setup.saddle_mm)
    wanted = margins.swing_mm + playing.guard * margins.u_mm - now
    most = planner.limits(playing, ANYTHING).most_cut_mm.ravel()
    return least(margins.cuts, wanted, most)


def least_in_truth(true: TrueNeck, playing: Mapping[str, Any], most_mm: Array) -> float:
    """On the true neck, its strings as they really swing, without a guard band.

    most_mm: [frets, strings], how much a fret may lose.
    """
    force = 1e3 * playing["pluck_force_n"]
    dips = force * np.maximum(*moving(true, 1e-3 * playing["pluck_from_saddle_mm"]))
    rows, wanted = [], []
    for line in all_lines(true, playing):
        s, n, m = np.nonzero(np.isfinite(line.mm))
        wanted.append(dips[s, n, m] * line.slack[s, n] - line.mm[s, n, m])
        held = _cut_at(true, np.maximum(n - 1, 0), line.start_y_mm[s, n])
        kept = sparse.diags_array(np.where(n > 0, 1.0 - line.share[n, m], 0.0))
        rows.append(_cut_at(true, m, line.y_mm[s, n, m]) - kept @ held)
    return least(sparse.csr_array(sparse.vstack(rows)), np.concatenate(wanted), most_mm.ravel())


def _cut_at(true: TrueNeck, fret: Array, y_mm: Array) -> sparse.csr_array:
    """How cuts under the strings lower a fret at y: straight between neighbours. [rows, cuts]."""
    strings = true.nut_mm.size
    home = true.string_y_mm(true.x_mm)[fret]
    place = np.clip((home[:, 0] - y_mm) / (home[:, 0] - home[:, 1]), 0.0, strings - 1.0)
    low = np.minimum(place.astype(int), strings - 2)
    part = place - low
    row = np.arange(fret.size)
    at = fret * strings + low
    return sparse.csr_array(
        (
            np.concatenate([1.0 - part, part]),
            (np.concatenate([row, row]), np.concatenate([at, at + 1])),
        ),
        shape=(fret.size, true.x_mm.size * strings),
    )
