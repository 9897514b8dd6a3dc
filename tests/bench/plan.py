"""Planning again after a control is moved: kept warm, from nothing, by a modelling layer."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from importlib.util import find_spec

import numpy as np
from scipy import sparse
from scipy.optimize import linprog

from analysis.plan.limits import Limits
from analysis.plan.planner import Planner, planner_for
from analysis.plan.programme import (
    NUT_COST,
    ROD_COST,
    SADDLE_COST,
    SHORT_COST,
    Solution,
    _cut_cost,
)
from analysis.plan.replan import replan
from analysis.plan.target import ANYTHING
from analysis.rod.rod import default_rod
from analysis.strings.playing import PlayingProfile, built_in_profile

from ..conftest import shape_of, walnut_parlour
from .table import Part, rounded, times
from .timing import interleaved

MOVES = 24
WARM = "neckform, kept warm (highspy)"


@dataclass(frozen=True)
class Whole:
    """The same programme written out: min cost @ v, rows @ v >= least, low <= v <= high."""

    cost: np.ndarray
    rows: sparse.csr_array
    least: np.ndarray
    low: np.ndarray
    high: np.ndarray


def measure() -> Iterator[Part]:
    """The action a player allows, moved to and fro."""
    planner, playing = _planner()
    at = planner.limits(playing, ANYTHING)
    rng = np.random.default_rng(1)
    moves = [
        replace(at, highest_action_mm=at.highest_action_mm + rng.uniform(-0.05, 0.2))
        for _ in range(MOVES)
    ]
    wholes = [_whole(planner, playing, limits) for limits in moves]
    # The two that share a planner are never asked for the same move one after the other.
    turn = {"warm": 0, "cold": 0, "layer": 0, "all": MOVES // 2}

    def next_move(who: str) -> int:
        turn[who] = (turn[who] + 1) % MOVES
        return turn[who]

    ways: dict[str, Callable[[], object]] = {
        WARM: lambda: planner.solve(playing, moves[next_move("warm")]),
        "the same with margins, verdicts and slopes": lambda: replan(
            planner, playing, moves[next_move("all")]
        ),
        "scipy linprog (HiGHS), sparse, matrices ready": lambda: _linprog(
            wholes[next_move("cold")]
        ),
    }
    others = {"scipy linprog (HiGHS), sparse, matrices ready": _linprog}
    if find_spec("pulp") is not None:
        from .peer_pulp import solved

        ways["PuLP, built and solved (HiGHS)"] = lambda: solved(wholes[next_move("layer")])
        others["PuLP, built and solved (HiGHS)"] = solved
    took = interleaved(ways, 9)
    best = [_cost(planner, moves[k], planner.solve(playing, moves[k])) for k in range(MOVES)]
    off = {
        name: max(abs(best[k] - solve(wholes[k])) for k in range(0, MOVES, 6))
        for name, solve in others.items()
    }
    rows = [
        [
            name,
            rounded(1e3 * one.wall_s),
            times(one.wall_s / took[WARM].wall_s),
            f"{1e3 * off[name]:.4f}" if name in off else "",
        ]
        for name, one in took.items()
    ]
    whole = wholes[0]
    says = (
        f"6 strings by 22 frets, {whole.rows.shape[0]:,} rows by {whole.cost.size} columns; the "
        "highest action moved each time. Off: the largest difference of the optimum."
    )
    yield Part("Planning again", says, ("way", "ms", "of warm", "optimum off, µm"), rows)


def _planner() -> tuple[Planner, PlayingProfile]:
    instrument = walnut_parlour()
    rng = np.random.default_rng(3)
    high = 1.1 + rng.normal(0.0, 0.02, (22, 1)) + rng.normal(0.0, 0.006, (22, 6))
    shape = shape_of(instrument, high, relief_mm=0.15)
    playing = built_in_profile("everyday", 6)
    return planner_for(shape, instrument, playing, default_rod(instrument, shape.x_mm)), playing


def _whole(planner: Planner, playing: PlayingProfile, limits: Limits) -> Whole:
    rows, margins = planner.rows, planner.played(playing)
    strings, count = rows.columns.strings, rows.now_mm.size
    slack = 2 * strings
    own = sparse.csr_array(
        (np.ones(count), (np.arange(count), margins.string - 1)), shape=(count, slack)
    )
    over = sparse.csr_array(
        (np.ones(strings), (np.arange(strings), strings + np.arange(strings))),
        shape=(strings, slack),
    )
    none = sparse.csr_array((rows.steps.shape[0], slack))
    matrix = sparse.block_array(
        [[rows.margins, own], [rows.action, over], [rows.steps, none], [-rows.steps, none]]
    )
    wanted = margins.swing_mm + limits.guard * margins.u_mm - rows.now_mm
    least = np.concatenate(
        [
            wanted,
            rows.action_now_mm - limits.highest_action_mm,
            -rows.most_step_mm,
            -rows.most_step_mm,
        ]
    )
    low, high = rows.columns.bounds(limits)
    return Whole(
        np.concatenate([_costs(planner, limits), np.full(slack, SHORT_COST)]),
        sparse.csr_array(matrix),
        least,
        np.concatenate([low, np.zeros(slack)]),
        np.concatenate([high, np.full(slack, np.inf)]),
    )


def _costs(planner: Planner, limits: Limits) -> np.ndarray:
    # What the programme was built with: a fret's life is weighed as it stood then.
    return planner.rows.columns.costs(_cut_cost(limits), SADDLE_COST, NUT_COST, ROD_COST)


def _cost(planner: Planner, limits: Limits, solution: Solution) -> float:
    """What a solution costs, mm of metal."""
    done = solution.changes
    short = np.zeros(planner.rows.columns.strings)
    np.maximum.at(short, planner.margins.string - 1, solution.short_mm)
    return float(
        np.sum(_cut_cost(limits) * done.remove_mm)
        + SADDLE_COST * np.abs(done.saddle_mm).sum()
        + NUT_COST * np.abs(done.nut_mm).sum()
        + ROD_COST * abs(done.relief_mm)
        + SHORT_COST * (short.sum() + solution.action_short_mm.sum())
    )


def _linprog(whole: Whole) -> float:
    found = linprog(
        whole.cost,
        A_ub=-whole.rows,
        b_ub=-whole.least,
        bounds=np.stack([whole.low, whole.high], axis=1),
        method="highs",
    )
    return float(found.fun)
