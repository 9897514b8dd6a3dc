"""What each step buys: against plans made anew, and against the slopes."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from analysis.instrument import Instrument
from analysis.neck.shape import Shape
from analysis.plan.planner import Planner, planner_for
from analysis.plan.replan import replan
from analysis.plan.sensitivity import Sensitivity, sensitivity
from analysis.plan.target import Target
from analysis.rod.rod import default_rod
from analysis.strings.playing import PlayingProfile, built_in_profile

from ...planned import make_plan

MakeShape = Callable[..., Shape]
NONE = Target()
PLAYER = replace(built_in_profile("everyday", 6), name="own", pluck_force_n=0.5, bend_semitones=1.0)


@pytest.fixture(scope="module")
def uneven(walnut: Instrument, make_shape: MakeShape) -> Shape:
    high = 1.1 + np.random.default_rng(3).normal(0.0, 0.012, (22, 1)) * np.ones(6)
    return make_shape(walnut, high)


@pytest.fixture(scope="module")
def planner(uneven: Shape, walnut: Instrument) -> Planner:
    return planner_for(uneven, walnut, PLAYER, default_rod(walnut, uneven.x_mm))


@pytest.fixture(scope="module")
def found(planner: Planner) -> Sensitivity:
    return sensitivity(planner, PLAYER, NONE)


def metal_anew(
    shape: Shape, instrument: Instrument, player: PlayingProfile, target: Target = NONE
) -> float:
    """NaN where no plan meets everything."""
    plan = make_plan(shape, instrument, player, target)
    return plan.planned_mm if plan.feasible else float("nan")


def raised(by: float) -> PlayingProfile:
    heights = {string: mm + by for string, mm in PLAYER.highest_action_mm.items()}
    return replace(PLAYER, highest_action_mm=heights)


# screws have a price of their own, and equal plans may differ in metal by as little
NEAR = {"abs": 2e-3, "nan_ok": True}


def test_action_steps_are_plans_for_such_players(
    found: Sensitivity, uneven: Shape, walnut: Instrument
) -> None:
    assert [step.by for step in found.of("action")] == [-0.1, 0.1, 0.2, 0.3]
    assert 0.05 < found.plan.metal_mm == pytest.approx(metal_anew(uneven, walnut, PLAYER), **NEAR)
    for step in found.of("action"):
        assert step.metal_mm == pytest.approx(metal_anew(uneven, walnut, raised(step.by)), **NEAR)
    savings = [found.saves_mm(step) for step in found.of("action")[1:]]
    assert savings[0] > 0.02
    assert savings == sorted(savings)


def test_other_players_bend_otherwise_and_are_planned_for_as_they_are(
    found: Sensitivity, uneven: Shape, walnut: Instrument
) -> None:
    assert {step.what for step in found.of("profile")} == {"gentle", "everyday", "hard"}
    for step in found.of("profile"):
        anew = metal_anew(uneven, walnut, built_in_profile(step.what, 6))
        assert step.metal_mm == pytest.approx(anew, **NEAR)


def test_force_keep_and_fret_steps(found: Sensitivity, uneven: Shape, walnut: Instrument) -> None:
    for step in found.of("force"):
        player = replace(PLAYER, pluck_force_n=PLAYER.pluck_force_n + step.by)
        assert step.metal_mm == pytest.approx(metal_anew(uneven, walnut, player), **NEAR)
    for step in found.of("keep"):
        anew = metal_anew(uneven, walnut, PLAYER, Target(frozenset({step.what})))
        assert step.metal_mm == pytest.approx(anew, **NEAR)
    assert [step.what for step in found.of("keep")] == ["rod", "nut", "saddles"]
    assert not found.of("free")
    assert [found.saves_mm(step) for step in found.of("fret")] == pytest.approx([0, 0], abs=1e-3)


def test_what_is_kept_is_asked_freed_and_the_rod_not_turned(planner: Planner) -> None:
    kept = sensitivity(planner, PLAYER, Target(frozenset({"rod"})))
    assert [step.what for step in kept.of("free")] == ["rod"]
    assert [step.what for step in kept.of("keep")] == ["nut", "saddles"]
    assert not kept.of("rod")
    freed = planner.solve(PLAYER, planner.limits(PLAYER, NONE))
    assert kept.of("free")[0].metal_mm == pytest.approx(freed.metal_mm, **NEAR)
    assert kept.saves_mm(kept.of("free")[0]) > 0.02


def test_the_rod_is_pinned_a_quarter_turn_beside_the_plan(
    found: Sensitivity, planner: Planner
) -> None:
    assert found.of("rod")
    for step in found.of("rod"):
        assert step.turns - found.plan.turns == pytest.approx(step.by, abs=1e-6)
        assert abs(step.turns) <= planner.rod.most_turns + 1e-9
        assert not found.saves_mm(step) > 1e-3


def test_one_string_alone_buys_no_more_than_all(found: Sensitivity) -> None:
    tenth = found.saves_mm(found.of("action")[1])
    each = [found.saves_mm(step) for step in found.of("string")]
    assert [step.string for step in found.of("string")] == [1, 2, 3, 4, 5, 6]
    assert max(each) <= tenth + 1e-3
    assert max(each) > 0.005


@settings(deadline=None, max_examples=8)
@given(st.floats(-0.03, 0.3), st.integers(0, 5))
def test_a_slope_is_never_better_than_it_says(planner: Planner, by: float, string: int) -> None:
    """Convex: raised by so much a string saves no more than its slope, lowered costs no less."""
    limits = planner.limits(PLAYER, NONE)
    at = replan(planner, PLAYER, limits)
    action = limits.highest_action_mm.copy()
    action[string] += by
    moved = planner.solve(PLAYER, replace(limits, highest_action_mm=action))
    if moved.feasible:
        promised = at.solution.metal_mm + by * at.slopes.action[string]
        # metal alone is convex but for what screws cost beside it
        assert moved.metal_mm >= promised - 0.02


def test_slopes_are_what_the_sensitivity_carries(found: Sensitivity, planner: Planner) -> None:
    """Against steps so small that the plan keeps its shape: on one side at a corner."""
    limits = planner.limits(PLAYER, NONE)
    string = int(np.argmin(found.slopes.action))
    step = 1e-4
    metal = []
    for by in (-step, 0.0, step):
        action = limits.highest_action_mm.copy()
        action[string] += by
        metal.append(planner.solve(PLAYER, replace(limits, highest_action_mm=action)).metal_mm)
    low, high = np.diff(metal) / step
    assert found.slopes.action[string] < -0.5
    assert min(low, high) - 0.02 <= found.slopes.action[string] <= max(low, high) + 0.02


def test_held_metal_comes_back_where_a_place_needs_nothing(
    found: Sensitivity, planner: Planner
) -> None:
    held = [one.holds_mm for one in found.holding]
    assert held == sorted(held, reverse=True)
    assert 0.0 < held[0] <= found.plan.metal_mm + 1e-9
    first = found.holding[0]
    margins = planner.margins
    here = (
        (margins.string == first.string)
        & (margins.fretted == first.fretted)
        & (margins.bend == first.bend)
    )
    assert first.at in margins.at[here]
    # the same by taking the whole row of frets beyond down out of reach: no swing there
    needed = np.where(here, -10.0, margins.played(planner.loads, PLAYER).needed_mm)
    without = planner.programme.solve(
        replace(margins.played(planner.loads, PLAYER), needed_mm=needed),
        planner.limits(PLAYER, NONE),
    )
    assert found.plan.metal_mm - without.metal_mm == pytest.approx(first.holds_mm, abs=2e-3)


def test_metal_is_known_as_well_as_tops_and_string_heights(
    planner: Planner, found: Sensitivity
) -> None:
    """By reading all of them anew within a hundredth of their uncertainty, near enough to be
    straight, and planning for what was read."""
    rng, share = np.random.default_rng(5), 0.01
    limits, setup = planner.limits(PLAYER, NONE), planner.setup
    margins = planner.played(PLAYER)
    along = setup.x_mm[11] / setup.saddle_x_mm
    metal = []
    for _ in range(150):
        top, nut, saddle = (
            share * rng.normal(0.0, 1.0, u.shape) * u
            for u in (setup.u_node_mm, setup.u_nut_mm, setup.u_saddle_mm)
        )
        # what is read otherwise leaves other room: the same as another need and another limit
        room = margins.nodes @ top.ravel() + margins.nut @ nut + margins.saddle @ saddle
        higher = limits.highest_action_mm - (1.0 - along) * nut - along * saddle
        done = planner.programme.solve(
            replace(margins, needed_mm=margins.needed_mm - room),
            replace(limits, highest_action_mm=higher),
        )
        metal.append(done.metal_mm)
    assert share * found.u_metal_mm == pytest.approx(np.std(metal), rel=0.2)


def test_no_plan_has_steps_that_find_one(planner: Planner) -> None:
    hard = replace(PLAYER, pluck_force_n=1.5)
    found = sensitivity(planner, hard, NONE)
    assert not found.plan.feasible
    assert np.isnan(found.plan.metal_mm)
    assert np.isnan(found.u_metal_mm)
    assert not found.holding
    assert not found.of("rod")
    assert any(step.feasible for step in found.of("profile"))
