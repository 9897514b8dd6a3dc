"""The linear programme, against one written out densely and independently, and by probing."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest
from scipy.optimize import linprog

from analysis.instrument import Instrument
from analysis.neck.shape import Shape
from analysis.plan.changes import Changes
from analysis.plan.limits import CUT_SLOPE, Limits, limits_for
from analysis.plan.margins import Margins, margins
from analysis.plan.programme import (
    LIFE_COST,
    NUT_COST,
    ROD_COST,
    SADDLE_COST,
    Programme,
    Solution,
)
from analysis.plan.rows import rows_of
from analysis.plan.setup import Setup, setup_from
from analysis.plan.target import Target
from analysis.rod.rod import RodCase, default_rod
from analysis.strings.playing import PlayingProfile, built_in_profile
from analysis.strings.strings import string_loads

MakeShape = Callable[..., Shape]
PLAYER = replace(
    built_in_profile("everyday", 2),
    pluck_force_n=0.3,
    bend_semitones=1.0,
    highest_action_mm={1: 1.9, 2: 2.1},
)


class Case:
    """A tiny neck of 2 strings and 13 frets, its frets uneven by some hundredths."""

    def __init__(
        self,
        instrument: Instrument,
        make_shape: MakeShape,
        seed: int,
        keep: frozenset[str] = frozenset(),
        player: PlayingProfile = PLAYER,
        uneven_mm: float = 0.06,
    ) -> None:
        rng = np.random.default_rng(seed)
        strings = len(instrument.strings)
        high = 1.1 + rng.normal(0.0, uneven_mm, (instrument.frets, strings))
        self.shape = make_shape(instrument, high, relief_mm=0.1)
        self.setup: Setup = setup_from(self.shape, instrument)
        self.rows: Margins = margins(self.setup, string_loads(instrument), player)
        self.rod = default_rod(instrument, self.setup.x_mm)
        self.cases: tuple[RodCase, ...] = self.rod.cases
        self.limits: Limits = limits_for(self.setup, self.shape, player, Target(keep), self.rod)

    def solve(self) -> Solution:
        programme = Programme(rows_of(self.setup, self.rows, self.rod), self.rows, self.limits)
        return programme.solve(self.rows, self.limits)

    def carried_out(self, done: Changes, case: RodCase) -> tuple[np.ndarray, np.ndarray]:
        """(margins over what they need, action over fret 12), straight from the changed neck."""
        setup, cuts, relief = self.setup, done.remove_mm, done.relief_mm
        under = setup.node_z_mm[:, ::2] + relief * case.tops
        between = setup.node_z_mm[:, 1::2] + relief * 0.5 * (case.tops[:, :-1] + case.tops[:, 1:])
        z = np.empty_like(setup.node_z_mm)
        z[:, ::2], z[:, 1::2] = under, between
        nuts, saddles = (
            setup.nut_mm + done.nut_mm,
            setup.saddle_mm + done.saddle_mm + relief * case.saddle,
        )
        over = self.rows.clearance_mm(z, nuts, saddles) - self.rows.swing_mm
        over = over + self.rows.cuts @ cuts.ravel()
        share = setup.x_mm[11] / setup.saddle_x_mm
        action = (1.0 - share) * nuts + share * saddles - (under[11] - cuts[11])
        return over - self.limits.guard * self.rows.u_mm, action

    def steps(self, cuts: np.ndarray) -> np.ndarray:
        """How much of the allowed change along each fret is used, at most 1."""
        spacing = np.abs(np.diff(self.setup.node_y_mm[:, ::2], axis=1))
        return np.abs(np.diff(cuts, axis=1)) / (CUT_SLOPE * spacing)


@pytest.fixture
def tiny_case(tiny: Instrument, make_shape: MakeShape) -> Callable[..., Case]:
    def make(seed: int, **how: object) -> Case:
        return Case(tiny, make_shape, seed, **how)  # type: ignore[arg-type]

    return make


def metal_cost(limits: Limits) -> np.ndarray:
    """A fret with little left to give is dearer."""
    room = limits.most_cut_mm
    return 1.0 + LIFE_COST * (1.0 - room / room.max())


def cost_of(case: Case, s: Solution) -> float:
    screws = (
        SADDLE_COST * np.abs(s.changes.saddle_mm).sum() + NUT_COST * np.abs(s.changes.nut_mm).sum()
    )
    metal = metal_cost(case.limits) * s.changes.remove_mm
    return float(metal.sum() + screws + ROD_COST * abs(s.changes.relief_mm))


def dense_cost(case: Case) -> float:
    """Least cost by a dense programme, its rows from probing the neck one change at a time."""
    frets, strings = case.setup.frets, case.setup.strings
    cuts = frets * strings
    size = cuts + 2 * strings + 1

    def neck(v: np.ndarray) -> np.ndarray:
        parts = (
            v[:cuts].reshape(frets, strings), v[cuts : cuts + strings],
            v[cuts + strings : -1], float(v[-1]),
        )  # fmt: skip
        out = []
        for rod in case.cases:
            over, action = case.carried_out(Changes(*parts), rod)
            out += [over, case.limits.highest_action_mm - action]
        spacing = np.abs(np.diff(case.setup.node_y_mm[:, ::2], axis=1))
        step = np.diff(parts[0], axis=1)
        room = CUT_SLOPE * spacing
        return np.concatenate([*out, (room - step).ravel(), (room + step).ravel()])

    base = neck(np.zeros(size))
    slopes = np.stack([neck(one) - base for one in np.eye(size)], axis=1)
    # |screw| by a second variable each: t >= v, t >= -v
    screws = 2 * strings + 1
    cost = np.concatenate(
        [
            metal_cost(case.limits).ravel(), np.zeros(screws), np.full(strings, SADDLE_COST),
            np.full(strings, NUT_COST), [ROD_COST],
        ]
    )  # fmt: skip
    picked = np.hstack([np.zeros((screws, cuts)), np.eye(screws)])
    rows = np.vstack(
        [
            np.hstack([-slopes, np.zeros((base.size, screws))]),
            np.hstack([picked, -np.eye(screws)]),
            np.hstack([-picked, -np.eye(screws)]),
        ]
    )
    limits = case.limits
    bounds = [(0.0, m) for m in limits.most_cut_mm.ravel()]
    bounds += list(zip(*limits.saddle_mm, strict=True)) + list(zip(*limits.nut_mm, strict=True))
    bounds += [limits.relief_mm] + [(0.0, None)] * screws
    right = np.concatenate([base, np.zeros(2 * screws)])
    answer = linprog(cost, A_ub=rows, b_ub=right, bounds=bounds, method="highs-ipm")
    assert answer.status == 0
    return float(answer.fun)


@pytest.mark.parametrize("seed", [1, 2, 3])
@pytest.mark.parametrize("keep", [frozenset(), frozenset({"rod"})])
def test_optimal_against_a_dense_programme(
    tiny_case: Callable[..., Case], seed: int, keep: frozenset[str]
) -> None:
    case = tiny_case(seed, keep=keep)
    solution = case.solve()
    assert solution.feasible
    assert solution.changes.remove_mm.sum() > 0.0
    assert cost_of(case, solution) == pytest.approx(dense_cost(case), abs=2e-5)


def assert_sound(case: Case, solution: Solution) -> None:
    for rod in case.cases:
        over, action = case.carried_out(solution.changes, rod)
        assert over.min() > -2e-5
        assert np.all(action <= case.limits.highest_action_mm + 2e-5)
    assert case.steps(solution.changes.remove_mm).max() < 1.001
    assert np.all(solution.changes.remove_mm >= -1e-9)
    assert np.all(solution.changes.remove_mm <= case.limits.most_cut_mm + 1e-9)
    for value, (low, high) in (
        (solution.changes.saddle_mm, case.limits.saddle_mm),
        (solution.changes.nut_mm, case.limits.nut_mm),
    ):
        assert np.all(value >= low - 1e-9)
        assert np.all(value <= high + 1e-9)
    assert abs(solution.changes.relief_mm) <= case.limits.relief_mm[1] + 1e-9


@pytest.mark.parametrize("seed", range(6))
def test_every_margin_holds_under_every_rod_case(tiny_case: Callable[..., Case], seed: int) -> None:
    case = tiny_case(seed)
    solution = case.solve()
    assert solution.feasible
    assert_sound(case, solution)


def test_a_whole_neck(walnut: Instrument, make_shape: MakeShape) -> None:
    player = replace(built_in_profile("everyday", 6), bend_semitones=1.0)
    case = Case(walnut, make_shape, 3, player=player, uneven_mm=0.01)
    solution = case.solve()
    assert solution.feasible
    assert_sound(case, solution)


def test_no_single_cut_can_be_spared(tiny_case: Callable[..., Case]) -> None:
    """A little less on any one fret and string breaks a margin or the file's slope."""
    case = tiny_case(2)
    s = case.solve()
    for n, k in np.argwhere(s.changes.remove_mm > 2e-3):
        less = s.changes.remove_mm.copy()
        less[n, k] -= 1e-3
        over = [
            case.carried_out(replace(s.changes, remove_mm=less), rod)[0].min() for rod in case.cases
        ]
        assert min(over) < -1e-5 or case.steps(less).max() > 1.001


@pytest.mark.parametrize("kept", [{"rod"}, {"nut"}, {"saddles"}, {"rod", "nut", "saddles"}])
def test_what_is_kept_is_not_touched(tiny_case: Callable[..., Case], kept: set[str]) -> None:
    case = tiny_case(4, keep=frozenset(kept))
    solution = case.solve()
    free = tiny_case(4).solve()
    if "rod" in kept:
        assert solution.changes.relief_mm == 0.0
    if "nut" in kept:
        assert np.all(solution.changes.nut_mm == 0.0)
    if "saddles" in kept:
        assert np.all(solution.changes.saddle_mm == 0.0)
    if solution.feasible:
        assert cost_of(case, solution) >= cost_of(case, free) - 1e-6


def test_a_neck_that_clears_is_left_alone(tiny_case: Callable[..., Case]) -> None:
    player = replace(PLAYER, pluck_force_n=0.05, bend_semitones=0.0, guard=0.5,
                     highest_action_mm={1: 3.0, 2: 3.0})  # fmt: skip
    case = tiny_case(5, player=player, uneven_mm=0.0)
    solution = case.solve()
    assert solution.feasible
    assert cost_of(case, solution) == pytest.approx(0.0, abs=1e-9)


def test_one_high_fret_costs_metal_there_alone(tiny: Instrument, make_shape: MakeShape) -> None:
    player = replace(
        PLAYER, pluck_force_n=0.45, bend_semitones=0.0, highest_action_mm={1: 1.7, 2: 1.9}
    )
    case = Case(tiny, make_shape, 0, player=player, uneven_mm=0.0)
    high = np.full((13, 2), 1.1)
    high[6] += 0.08
    case.shape = make_shape(tiny, high, relief_mm=0.1)
    case.setup = setup_from(case.shape, tiny)
    case.rows = margins(case.setup, string_loads(tiny), player)
    case.limits = limits_for(case.setup, case.shape, player, Target(), case.rod)
    solution = case.solve()
    assert solution.feasible
    assert np.all(solution.changes.remove_mm[6] > 0.02)
    # fret 7 down, and at most a little where the screws do not reach
    assert (
        np.delete(solution.changes.remove_mm, 6, axis=0).sum() < solution.changes.remove_mm[6].sum()
    )


def test_an_infeasible_programme_says_how_far_it_is_short(
    tiny_case: Callable[..., Case],
) -> None:
    player = replace(PLAYER, pluck_force_n=3.0, highest_action_mm={1: 1.0, 2: 1.0})
    case = tiny_case(6, player=player)
    solution = case.solve()
    assert not solution.feasible
    assert solution.short_mm.shape == case.rows.string.shape
    worst = [case.carried_out(solution.changes, rod)[0] for rod in case.cases]
    np.testing.assert_allclose(
        np.clip(-np.min(worst, axis=0), 0.0, None), solution.short_mm, atol=5e-5
    )
