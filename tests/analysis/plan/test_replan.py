"""One control moved: the warm programme against one built afresh, its slopes against steps."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from analysis.instrument import Instrument
from analysis.neck.shape import Shape
from analysis.plan.limits import Limits
from analysis.plan.planner import Planner, planner_for
from analysis.plan.programme import LIFE_COST, NUT_COST, ROD_COST, SADDLE_COST
from analysis.plan.replan import Replanned, replan
from analysis.plan.target import Target
from analysis.rod.rod import default_rod
from analysis.strings.playing import PlayingProfile, built_in_profile

MakeShape = Callable[..., Shape]
KEPT = Target(frozenset({"rod", "nut", "saddles"}))
PLAYER = replace(built_in_profile("everyday", 6), bend_semitones=1.0, pluck_force_n=0.32)


@pytest.fixture(scope="module")
def uneven(walnut: Instrument, make_shape: MakeShape) -> Callable[[], Planner]:
    rng = np.random.default_rng(5)
    high = 1.1 + rng.normal(0.0, 0.02, (walnut.frets, 1)) + rng.normal(0.0, 0.005, (22, 6))
    shape = make_shape(walnut, high, relief_mm=0.15)
    rod = default_rod(walnut, shape.x_mm)
    return lambda: planner_for(shape, walnut, PLAYER, rod)


@pytest.fixture(scope="module")
def warm(uneven: Callable[[], Planner]) -> Planner:
    return uneven()


def pinned(limits: Limits, string: int, saddle_mm: float, relief_mm: float) -> Limits:
    low, high = (one.copy() for one in limits.saddle_mm)
    low[string] = high[string] = saddle_mm
    return replace(limits, saddle_mm=(low, high), relief_mm=(relief_mm, relief_mm))


@settings(max_examples=25, deadline=None)
@given(
    force=st.floats(0.2, 0.55),
    pluck=st.floats(80.0, 160.0),
    guard=st.floats(0.0, 2.5),
    higher=st.floats(-0.05, 0.4),
    string=st.integers(0, 5),
    saddle=st.floats(-0.1, 0.4),
    relief=st.floats(-0.15, 0.15),
    pin=st.booleans(),
)
def test_a_moved_control_answers_as_a_programme_built_afresh(
    warm: Planner, uneven: Callable[[], Planner], force: float, pluck: float, guard: float,
    higher: float, string: int, saddle: float, relief: float, pin: bool,
) -> None:  # fmt: skip
    playing = replace(PLAYER, pluck_force_n=force, pluck_from_saddle_mm=pluck)
    limits = warm.limits(playing, Target())
    limits = replace(limits, guard=guard, highest_action_mm=limits.highest_action_mm + higher)
    if pin:
        limits = pinned(limits, string, saddle, relief)
    moved, afresh = replan(warm, playing, limits), replan(uneven(), playing, limits)
    assert moved.solution.feasible == afresh.solution.feasible
    if moved.solution.feasible:
        assert moved.solution.metal_mm == pytest.approx(
            afresh.solution.metal_mm, abs=0.02, rel=0.02
        )
        assert_holds(warm, moved, limits)
    if pin:
        assert moved.solution.changes.saddle_mm[string] == pytest.approx(saddle, abs=1e-9)
        assert moved.solution.changes.relief_mm == pytest.approx(relief, abs=1e-9)


def cost(planner: Planner, moved: Replanned) -> float:
    """What the programme makes least: metal, a little dearer on low frets, and the screws."""
    room = planner.limits(PLAYER, Target()).most_cut_mm
    done = moved.solution.changes
    metal = (1.0 + LIFE_COST * (1.0 - room / room.max())) * done.remove_mm
    screws = SADDLE_COST * np.abs(done.saddle_mm).sum() + NUT_COST * np.abs(done.nut_mm).sum()
    return float(metal.sum() + screws + ROD_COST * abs(done.relief_mm))


def assert_holds(planner: Planner, moved: Replanned, limits: Limits) -> None:
    """Every margin, not only those the programme ever looked at."""
    wanted = moved.margins.swing_mm + limits.guard * moved.margins.u_mm
    assert np.min(moved.solution.clearance_mm - wanted) > -2e-6
    assert set(moved.verdict) == {"clear"}
    action = planner.rows.action_now_mm.copy()
    done = moved.solution.changes
    share = (planner.setup.x_mm[11] - planner.setup.nut_x_mm) / (
        planner.setup.saddle_x_mm - planner.setup.nut_x_mm
    )
    action += share * done.saddle_mm + (1 - share) * done.nut_mm + done.remove_mm[11]
    action -= done.relief_mm * planner.rod.cases[0].tops[11]
    assert np.all(action <= limits.highest_action_mm + 1e-6)


@pytest.mark.parametrize("target", [Target(), KEPT])
def test_slopes_bound_every_step(warm: Planner, target: Target) -> None:
    """Least metal is convex: a slope is the most a step lets off and the least it asks."""
    limits = warm.limits(PLAYER, target)
    higher = 1.0 if target.keep else -0.5
    limits = replace(limits, highest_action_mm=limits.highest_action_mm + higher)
    at = replan(warm, PLAYER, limits)
    assert at.solution.feasible
    assert at.solution.metal_mm > 0.005
    for step in (-0.02, 0.02):
        harder = metal(warm, replace(PLAYER, pluck_force_n=PLAYER.pluck_force_n + step), limits)
        assert harder >= at.solution.metal_mm + at.slopes.force * step - 1e-4
        surer = metal(warm, PLAYER, replace(limits, guard=limits.guard + step))
        assert surer >= at.solution.metal_mm + at.slopes.guard * step - 1e-4
    # at a corner it lies between the steps either way
    tiny = 1e-5
    softer, harder = (
        metal(warm, replace(PLAYER, pluck_force_n=PLAYER.pluck_force_n + by), limits)
        for by in (-tiny, tiny)
    )
    least, most = (at.solution.metal_mm - softer) / tiny, (harder - at.solution.metal_mm) / tiny
    assert least - 0.02 <= at.slopes.force <= most + 0.02
    assert at.slopes.force > 0.0
    assert at.slopes.guard > 0.0


def metal(planner: Planner, playing: PlayingProfile, limits: Limits) -> float:
    solution = planner.solve(playing, limits)
    assert solution.feasible
    return solution.metal_mm


def test_slope_of_action_is_what_a_hair_more_saves(warm: Planner) -> None:
    playing = replace(PLAYER, highest_action_mm={1: 1.2, 6: 1.6})
    limits = warm.limits(playing, Target())
    at = replan(warm, playing, limits)
    assert at.solution.feasible
    assert at.slopes.action.min() < -0.1
    for string in range(6):
        hair = np.zeros(6)
        hair[string] = 1e-4
        more = replace(limits, highest_action_mm=limits.highest_action_mm + hair)
        saved = metal(warm, playing, more) - at.solution.metal_mm
        assert saved >= 1e-4 * at.slopes.action[string] - 1e-7


def test_the_worst_of_each_place_is_the_worst(warm: Planner) -> None:
    moved = replan(warm, PLAYER, warm.limits(PLAYER, Target()))
    margins = moved.margins
    places = {}
    spare = moved.solution.clearance_mm - margins.swing_mm
    for row in range(spare.size):
        key = (margins.string[row], margins.fretted[row], bool(margins.bend[row]))
        places[key] = min(places.get(key, np.inf), spare[row])
    keys = [(margins.string[r], margins.fretted[r], bool(margins.bend[r])) for r in moved.worst]
    assert len(keys) == len(places)
    for key, value in zip(keys, moved.spare_mm, strict=True):
        assert value == pytest.approx(places[key], abs=1e-12)
