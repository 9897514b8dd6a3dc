"""The linear programme: least metal, subject to every margin."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from scipy import sparse
from scipy.optimize import linprog

from analysis.instrument import FloatArray
from analysis.plan.limits import Limits
from analysis.plan.margins import Margins
from analysis.plan.setup import Setup
from analysis.rod.rod import RodCase

#: What a millimetre of screw costs against a millimetre of metal: a screw can be turned back,
#: a nut slot can be filled or shimmed with some trouble, metal cannot be put back.
SADDLE_COST = 0.02
NUT_COST = 0.15
ROD_COST = 0.03
#: What a millimetre of margin not met costs: more than any metal could.
SHORT_COST = 1e4
#: Short by less than this is the solver's own tolerance.
SHORT_MM = 1e-5


@dataclass(frozen=True, slots=True)
class Solution:
    """What to change. remove_mm: [frets, strings]. saddle_mm, nut_mm: [strings], up positive.

    relief_mm: relief that the rod adds. short_mm: [margins], how far each margin stays short
    of what it needs; all zero where the programme is feasible. action_short_mm: [strings].
    """

    remove_mm: FloatArray
    saddle_mm: FloatArray
    nut_mm: FloatArray
    relief_mm: float
    short_mm: FloatArray
    action_short_mm: FloatArray

    @property
    def feasible(self) -> bool:
        worst = max(self.short_mm.max(initial=0.0), self.action_short_mm.max(initial=0.0))
        return bool(worst <= SHORT_MM)


@dataclass(frozen=True, slots=True)
class _Layout:
    """Where each kind of variable stands in the programme's vector."""

    cuts: int
    strings: int

    @property
    def size(self) -> int:
        return self.cuts + 4 * self.strings + 2

    def split(self, v: FloatArray) -> tuple[FloatArray, FloatArray, FloatArray, float]:
        c, s = self.cuts, self.strings
        up, down = v[c : c + s], v[c + s : c + 2 * s]
        nut_up, nut_down = v[c + 2 * s : c + 3 * s], v[c + 3 * s : c + 4 * s]
        return v[:c], up - down, nut_up - nut_down, float(v[-2] - v[-1])


def cut_of_nodes(setup: Setup) -> sparse.csr_array:
    """How a cut under the strings lowers every node: midway it is the mean of its neighbours."""
    strings, nodes = setup.strings, 2 * setup.strings - 1
    one = np.zeros((nodes, strings))
    one[::2] = np.eye(strings)
    one[1::2] = 0.5 * (np.eye(strings)[:-1] + np.eye(strings)[1:])
    return sparse.csr_array(sparse.kron(sparse.eye_array(setup.frets), one))


def rod_at_nodes(case: RodCase) -> FloatArray:
    """Lift of every node per mm of relief, strings and midway between."""
    frets, strings = case.tops.shape
    out = np.empty((frets, 2 * strings - 1))
    out[:, ::2] = case.tops
    out[:, 1::2] = 0.5 * (case.tops[:, :-1] + case.tops[:, 1:])
    return out


def solve(
    setup: Setup,
    rows: Margins,
    cases: tuple[RodCase, ...],
    limits: Limits,
    action_cost: float = SHORT_COST,
) -> Solution:
    """Least metal for which every margin holds under every rod case.

    Feasible or not, one programme answers: each margin may stay short, at a price no metal
    could be worth, so that an infeasible neck says which margins fail. action_cost: what a
    millimetre of action past the player's limit costs; less than SHORT_COST asks how much
    higher it would have to be.
    """
    layout = _Layout(setup.frets * setup.strings, setup.strings)
    matrix, right = _margin_rows(setup, rows, cases, limits)
    count = rows.string.size
    action, action_right = _action_rows(setup, cases, limits)
    steps, steps_right = _step_rows(setup, limits)
    # one shortfall a margin, shared by the rod cases
    share = sparse.vstack([sparse.eye_array(count)] * len(cases))
    action_share = sparse.vstack([sparse.eye_array(setup.strings)] * len(cases))
    left = sparse.block_array(
        [[matrix, -share, None], [action, None, -action_share], [steps, None, None]], format="csr"
    )
    bounds = _bounds(layout, limits) + [(0.0, None)] * (count + setup.strings)
    constraints: Any = left  # the solver takes sparse matrices, its type hints do not
    answer = linprog(
        np.concatenate(
            [
                _costs(layout),
                np.full(count, SHORT_COST),
                np.full(setup.strings, action_cost),
            ]
        ),
        A_ub=constraints,
        b_ub=np.concatenate([right, action_right, steps_right]),
        bounds=bounds,
        method="highs",
    )
    if answer.x is None:
        raise RuntimeError(f"the linear programme failed: {answer.message}")
    cuts, saddle, nut, relief = layout.split(answer.x[: layout.size])
    short = answer.x[layout.size :]
    return Solution(
        cuts.reshape(setup.frets, setup.strings),
        saddle,
        nut,
        relief,
        short[:count],
        short[count:],
    )


def _costs(layout: _Layout) -> FloatArray:
    s = layout.strings
    return np.concatenate(
        [
            np.ones(layout.cuts),
            np.full(2 * s, SADDLE_COST),
            np.full(2 * s, NUT_COST),
            np.full(2, ROD_COST),
        ]
    )


def _bounds(layout: _Layout, limits: Limits) -> list[tuple[float, float | None]]:
    most = limits.most_cut_mm.ravel()
    pairs: list[tuple[float, float | None]] = [(0.0, float(m)) for m in most]
    for low, high in (limits.saddle_mm, limits.nut_mm):
        pairs += [(0.0, float(h)) for h in high] + [(0.0, float(-w)) for w in low]
    return [*pairs, (0.0, limits.relief_mm), (0.0, limits.relief_mm)]


def _screws(
    nodes: sparse.csr_array,
    nut: sparse.csr_array,
    saddle: sparse.csr_array,
    case: RodCase,
    setup: Setup,
) -> sparse.csr_array:
    """Change of `nodes @ z + nut @ n + saddle @ s` with every variable of the programme."""
    rod = nodes @ rod_at_nodes(case).ravel() + saddle @ case.saddle
    column = sparse.csr_array(rod[:, None])
    return sparse.csr_array(
        sparse.hstack([-(nodes @ cut_of_nodes(setup)), saddle, -saddle, nut, -nut, column, -column])
    )


def _margin_rows(
    setup: Setup, rows: Margins, cases: tuple[RodCase, ...], limits: Limits
) -> tuple[sparse.csr_array, FloatArray]:
    """clearance >= needed + guard u, as A v <= b, once for every rod case."""
    base = rows.clearance_mm(setup.node_z_mm, setup.nut_mm, setup.saddle_mm)
    right = base - rows.needed_mm - limits.guard * rows.u_mm
    matrix = sparse.vstack(
        [-_screws(rows.nodes, rows.nut, rows.saddle, case, setup) for case in cases]
    )
    return sparse.csr_array(matrix), np.tile(right, len(cases))


def _action_rows(
    setup: Setup, cases: tuple[RodCase, ...], limits: Limits
) -> tuple[sparse.csr_array, FloatArray]:
    """Open string over fret 12 no higher than the player allows."""
    strings = np.arange(setup.strings)
    share = (setup.x_mm[11] - setup.nut_x_mm) / (setup.saddle_x_mm - setup.nut_x_mm)
    columns = 11 * (2 * setup.strings - 1) + 2 * strings
    shape = (setup.strings, setup.node_z_mm.size)
    nodes = sparse.csr_array((-np.ones(setup.strings), (strings, columns)), shape=shape)
    nut = sparse.csr_array(sparse.diags_array(1.0 - share))
    saddle = sparse.csr_array(sparse.diags_array(share))
    now = nodes @ setup.node_z_mm.ravel() + nut @ setup.nut_mm + saddle @ setup.saddle_mm
    matrix = sparse.vstack([_screws(nodes, nut, saddle, case, setup) for case in cases])
    return sparse.csr_array(matrix), np.tile(limits.highest_action_mm - now, len(cases))


def _step_rows(setup: Setup, limits: Limits) -> tuple[sparse.csr_array, FloatArray]:
    """Along one fret the cut may not change faster than a file can follow, either way."""
    strings, frets = setup.strings, setup.frets
    one = np.diff(np.eye(strings), axis=0)
    step = sparse.kron(sparse.eye_array(frets), one)
    wide = sparse.hstack([step, sparse.csr_array((step.shape[0], 4 * strings + 2))])
    spacing = np.abs(np.diff(setup.node_y_mm[:, ::2], axis=1)).ravel()
    limit = limits.cut_slope * spacing
    return sparse.csr_array(sparse.vstack([wide, -wide])), np.tile(limit, 2)


def nothing_changed(solution: Solution) -> Solution:
    """The same, with every change taken back."""
    return replace(
        solution,
        remove_mm=np.zeros_like(solution.remove_mm),
        saddle_mm=np.zeros_like(solution.saddle_mm),
        nut_mm=np.zeros_like(solution.nut_mm),
        relief_mm=0.0,
    )
