"""Small necks planned by brute force: no plan is cheaper, proved without a solver.

Twelve frets are the least an instrument may have, for action is measured over the twelfth: two
strings, 13 frets, of which only five have any metal to give. Two ways, both from geometry alone
(needs and uncertainties are taken over: they have tests of their own):

- nothing but cuts: every corner of what is allowed, tried one by one, string by string;
- rod, nut and saddles too: a corner found by pivoting, and its proof checked in whole fractions:
  it is allowed, and prices that are not negative make its cost a bound for any other.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest

from analysis.instrument import Instrument
from analysis.neck.shape import Shape
from analysis.plan import programme
from analysis.rod.rod import default_rod
from analysis.strings.playing import built_in_profile

from .corners import every_corner, proved_least
from .small_necks import GIVING, ROOM_MM, Small

MakeShape = Callable[..., Shape]
PLAYER = replace(
    built_in_profile("everyday", 2),
    pluck_force_n=0.3,
    bend_semitones=0.0,
    highest_action_mm={1: 2.0, 2: 2.2},
)
ALL = frozenset({"rod", "nut", "saddles"})


@pytest.fixture(scope="module")
def small(tiny: Instrument, make_shape: MakeShape) -> Callable[..., Small]:
    def make(
        seed: int, keep: frozenset[str] = ALL, force_n: float = 0.3, apart_mm: float = 0.02
    ) -> Small:
        rng = np.random.default_rng(seed)
        high = 1.1 + rng.uniform(-0.004, 0.004, (tiny.frets, 2))
        # only what can give stands proud
        high[GIVING] += rng.uniform(0.0, 0.07, (GIVING.size, 1)) + rng.uniform(
            0.0, apart_mm, (5, 2)
        )
        shape = make_shape(tiny, high, relief_mm=0.1, flat_board=True)
        player = replace(PLAYER, pluck_force_n=force_n)
        height = np.full(high.shape, np.nan)
        left = ROOM_MM[:, None] + player.least_fret_mm
        height[GIVING] = left + player.guard * shape.u_height_mm[GIVING]
        shape = replace(shape, height_mm=height)
        return Small(tiny, shape, player, default_rod(tiny, shape.x_mm), keep)

    return make


@pytest.mark.parametrize("seed", range(8))
def test_no_corner_takes_less_metal(small: Callable[..., Small], seed: int) -> None:
    """Cuts alone, the file's slope not in the way: each string by itself, its five cuts."""
    case = small(seed)
    plan = case.plan()
    assert plan.feasible
    assert 0.01 < plan.planned_mm < 1.0
    least = 0.0
    for s in range(2):
        mine = np.arange(s, 10, 2)
        own = np.any(case.rows[:-10, mine] != 0.0, axis=1)
        rows, wanted = case.rows[:-10, mine][own], case.least[:-10][own]
        # a row that no allowed change could break is no row
        worst = np.minimum(rows, 0.0) @ ROOM_MM
        matters = np.unique(np.column_stack([rows, wanted])[worst < wanted], axis=0)
        rows = np.vstack([matters[:, :-1], np.eye(5), -np.eye(5)])
        wanted = np.concatenate([matters[:, -1], np.zeros(5), -ROOM_MM])
        least += every_corner(rows, wanted, case.cost[mine])
    cost = float(case.cost @ case.v_of(plan))
    assert cost > least - 1e-5
    # what the file's slope forbids is dearer
    if np.min(case.rows[-10:] @ case.v_of(plan) - case.least[-10:]) > 1e-6:
        assert cost == pytest.approx(least, abs=1e-5)


#: Saddle, nut, rod, and what a fret with little left costs more: the programme's own, and dear
#: ones, for which it must choose otherwise.
OWN, DEAR = None, (0.3, 0.8, 1.5, 0.9)


@pytest.mark.parametrize("costs", [OWN, DEAR])
@pytest.mark.parametrize("keep", [ALL, frozenset({"rod"}), frozenset({"nut"}), frozenset()])
@pytest.mark.parametrize("seed", [1, 2, 3])
def test_no_plan_costs_less(
    small: Callable[..., Small],
    seed: int,
    keep: frozenset[str],
    costs: tuple[float, float, float, float] | None,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """Everything together, the file's slope and every way the rod may act among the rows."""
    if costs is not None:
        names = ("SADDLE_COST", "NUT_COST", "ROD_COST", "LIFE_COST")
        for name, cost in zip(names, costs, strict=True):
            monkeypatch.setattr(programme, name, cost)
    case = small(seed, keep, 0.3 if keep == ALL else 0.45, apart_mm=0.09)
    plan = case.plan()
    assert plan.feasible
    v = case.v_of(plan)
    assert np.all(case.rows @ v >= case.least - 2e-6)
    assert np.all(v <= case.most + 1e-9)
    assert float(case.cost @ v) == pytest.approx(proved_least(case), abs=1e-5)
