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
from dataclasses import dataclass, replace
from fractions import Fraction
from itertools import combinations

import numpy as np
import pytest

from analysis.instrument import Instrument
from analysis.neck.shape import Shape
from analysis.plan import programme
from analysis.plan.limits import CUT_SLOPE, LEAST_NUT_GAP_MM, NUT_RANGE_MM, SADDLE_RANGE_MM
from analysis.plan.plan import Plan, make_plan
from analysis.plan.planner import planner_for
from analysis.rod.rod import Rod, default_rod
from analysis.strings.playing import PlayingProfile, built_in_profile

Array = np.ndarray
MakeShape = Callable[..., Shape]
#: The frets that have metal to give, and how much.
GIVING = np.array([2, 4, 6, 8, 10])
ROOM_MM = np.array([0.10, 0.16, 0.12, 0.20, 0.14])
PLAYER = replace(
    built_in_profile("everyday", 2),
    pluck_force_n=0.3,
    bend_semitones=0.0,
    highest_action_mm={1: 2.0, 2: 2.2},
)
ALL = frozenset({"rod", "nut", "saddles"})


@dataclass
class Small:
    """A neck, and what may be done to it: rows @ v >= least, 0 <= v <= most, cost @ v.

    v: cuts of the giving frets [5 x strings], then per string saddle up, saddle down, nut up, nut
    down, then relief up and down. Rows as geometry has them, one for every way the rod may act.
    """

    instrument: Instrument
    shape: Shape
    player: PlayingProfile
    rod: Rod
    keep: frozenset[str]

    def __post_init__(self) -> None:
        strings, frets = len(self.instrument.strings), self.instrument.frets
        planner = planner_for(self.shape, self.instrument, self.player, self.rod)
        known = planner.margins
        self.wanted = {
            (int(s) - 1, int(n), int(m)): float(need + self.player.guard * u)
            for s, n, m, need, u in zip(
                known.string, known.fretted, known.at, known.swing_mm, known.u_mm, strict=True
            )
        }
        assert len(self.wanted) == strings * frets * (frets + 1) // 2
        size = GIVING.size * strings + 4 * strings + 2
        base = self.over(np.zeros(size))
        slopes = np.stack([self.over(one) - base for one in np.eye(size)], axis=1)
        self.rows, self.least = slopes, -base
        self.most = self.bounds()
        metal = 1.0 + programme.LIFE_COST * (1.0 - np.repeat(ROOM_MM, strings) / ROOM_MM.max())
        saddle, nut, rod = programme.SADDLE_COST, programme.NUT_COST, programme.ROD_COST
        screws = np.repeat([saddle, saddle, nut, nut], strings)
        self.cost = np.concatenate([metal, screws, [rod, rod]])

    def bounds(self) -> Array:
        """A slot is filed no further than leaves LEAST_NUT_GAP_MM over fret 1."""
        strings = len(self.instrument.strings)
        saddle = 0.0 if "saddles" in self.keep else 1.0
        nut = 0.0 if "nut" in self.keep else 1.0
        relief = 0.0 if "rod" in self.keep else self.rod.most_relief_mm
        deepest = np.minimum(np.array(self.instrument.nut_gap_mm) - LEAST_NUT_GAP_MM, 0.3)
        return np.concatenate(
            [
                np.repeat(ROOM_MM, strings),
                saddle * np.repeat([SADDLE_RANGE_MM[1], -SADDLE_RANGE_MM[0]], strings),
                nut * np.full(strings, NUT_RANGE_MM[1]),
                nut * deepest,
                [relief, relief],
            ]
        )

    def over(self, v: Array) -> Array:
        """Everything that must not be negative, the plan v carried out on the neck."""
        strings = len(self.instrument.strings)
        k = GIVING.size * strings
        cuts = np.zeros(self.shape.top_mm.shape)
        cuts[GIVING] = v[:k].reshape(GIVING.size, strings)
        up, down, nut_up, nut_down = v[k : k + 4 * strings].reshape(4, strings)
        relief = v[-2] - v[-1]
        out: list[float] = []
        for case in self.rod.cases:
            top = self.shape.top_mm - cuts + relief * case.tops
            saddle = self.found[1] + up - down + relief * case.saddle
            out += self.clear(top, self.found[0] + nut_up - nut_down, saddle)
        spacing = np.abs(np.diff(self.instrument.string_y_mm(np.array([1.0, 2.0]), self.x), axis=1))
        step, room = np.diff(cuts, axis=1), CUT_SLOPE * spacing
        return np.concatenate([out, (room - step)[GIVING].ravel(), (room + step)[GIVING].ravel()])

    @property
    def x(self) -> Array:
        return self.shape.x_mm

    @property
    def ends(self) -> Array:
        """Where the strings end."""
        return self.instrument.saddle_x_mm(self.instrument.string_numbers)

    @property
    def found(self) -> tuple[Array, Array]:
        """Strings at the nut and the saddle: straight through what was measured at 1 and 12."""
        first = self.shape.top_mm[0] + np.array(self.instrument.nut_gap_mm)
        twelfth = self.shape.top_mm[11] + np.array(self.instrument.action_mm)
        slope = (twelfth - first) / (self.x[11] - self.x[0])
        return first - slope * self.x[0], first + slope * (self.ends - self.x[0])

    def clear(self, top: Array, nut: Array, saddle: Array) -> list[float]:
        """Each margin over what it wants; then how much lower the action is than it may be."""
        out = []
        for (s, n, m), wanted in self.wanted.items():
            at, held = (0.0, nut[s]) if n == 0 else (self.x[n - 1, s], top[n - 1, s])
            share = (self.x[m - 1, s] - at) / (self.ends[s] - at)
            out.append(held + share * (saddle[s] - held) - top[m - 1, s] - wanted)
        share = self.x[11] / self.ends
        action = nut + share * (saddle - nut) - top[11]
        return [*out, *(self.player.highest_action(action.size) - action).tolist()]

    def plan(self) -> Plan:
        return make_plan(self.shape, self.instrument, self.player, self.keep, self.rod)

    def v_of(self, plan: Plan) -> Array:
        parts = [np.clip(sign * change, 0.0, None) for change, sign in (
            (plan.saddle_mm, 1), (plan.saddle_mm, -1), (plan.nut_mm, 1), (plan.nut_mm, -1),
            (np.array([plan.relief_change_mm]), 1), (np.array([plan.relief_change_mm]), -1),
        )]  # fmt: skip
        assert np.delete(plan.remove_mm, GIVING, axis=0).max() == 0.0
        return np.concatenate([plan.remove_mm[GIVING].ravel(), *parts])


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


def every_corner(rows: Array, least: Array, cost: Array) -> float:
    """The least cost over all corners: where as many rows as there are changes hold just so."""
    picks = np.array(list(combinations(range(least.size), cost.size)))
    square = rows[picks]
    firm = np.abs(np.linalg.det(square)) > 1e-9
    corners = np.linalg.solve(square[firm], least[picks[firm]][:, :, None])[:, :, 0]
    allowed = np.all(corners @ rows.T >= least - 1e-10, axis=1)
    return float((corners[allowed] @ cost).min())


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


def pivoted(rows: Array, least: Array, cost: Array) -> Array:
    """The rows that hold just so at the cheapest corner, by the dual simplex method.

    Written as slack = rows @ v - least >= 0, v itself among the rows. Nothing done costs least
    and breaks rows; each pivot takes the most broken and gives it the cheapest change.
    """
    table = np.column_stack([rows, -least])
    price, held = cost.copy(), np.arange(rows.shape[0])[-cost.size :]
    for _ in range(500):
        broken = int(np.argmin(table[:, -1]))
        if table[broken, -1] > -1e-11:
            return held
        row = table[broken].copy()
        ratio = np.where(row[:-1] > 1e-11, price / np.maximum(row[:-1], 1e-11), np.inf)
        j = int(np.argmin(ratio))
        assert np.isfinite(ratio[j]), "nothing allowed mends this row"
        # the change j is what brings this row to zero: x_j = (slack - rest) / row_j
        without = row / row[j]
        without[j] = 0.0
        scale = table[:, j] / row[j]
        table -= np.outer(table[:, j], without)
        table[:, j] = scale
        paid = price[j] / row[j]
        price = price - price[j] * without[:-1]
        price[j] = paid
        held = held.copy()
        held[j] = broken
    raise AssertionError("no corner found")


def exact(matrix: Array, right: list[Fraction]) -> list[Fraction]:
    """Solves a square system in whole fractions."""
    size = len(right)
    table = [[Fraction(float(a)) for a in row] + [b] for row, b in zip(matrix, right, strict=True)]
    for k in range(size):
        pivot = next(i for i in range(k, size) if table[i][k] != 0)
        table[k], table[pivot] = table[pivot], table[k]
        table[k] = [a / table[k][k] for a in table[k]]
        for i in range(size):
            if i != k and table[i][k] != 0:
                factor = table[i][k]
                table[i] = [a - factor * b for a, b in zip(table[i], table[k], strict=True)]
    return [row[-1] for row in table]


def proved_least(case: Small) -> float:
    """The least cost, its proof checked: prices y >= 0 with y @ rows = cost, y @ least = cost @ v.

    Only changes that are allowed at all take part.
    """
    free = case.most > 0.0
    size = int(free.sum())
    rows = np.vstack([case.rows[:, free], -np.eye(size), np.eye(size)])
    least = np.concatenate([case.least, -case.most[free], np.zeros(size)])
    cost = case.cost[free]
    held = pivoted(rows, least, cost)
    v = exact(rows[held], [Fraction(float(b)) for b in least[held]])
    y = exact(rows[held].T, [Fraction(float(c)) for c in cost])
    assert min(y) >= 0
    tiny = Fraction(1, 10**12)
    for row, wanted in zip(rows.tolist(), least.tolist(), strict=True):
        reached = sum((Fraction(a) * b for a, b in zip(row, v, strict=True) if a), Fraction(0))
        assert reached >= Fraction(wanted) - tiny
    return float(sum(Fraction(float(c)) * b for c, b in zip(cost, v, strict=True)))


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
