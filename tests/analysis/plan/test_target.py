"""What is asked of a plan: kept, set by hand, held back, and a shape no top may stand above."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays
from scipy.optimize import linprog

from analysis.instrument import Instrument
from analysis.neck.shape import Shape
from analysis.plan.cures import cures
from analysis.plan.limits import CUT_SLOPE, limits_for
from analysis.plan.planner import Planner, planner_for
from analysis.plan.setup import setup_from
from analysis.plan.target import HELD, SHAPE, AskedShape, Held, Target, followed, within_reach
from analysis.rod.rod import default_rod
from analysis.strings.playing import built_in_profile

from ...planned import make_plan

MakeShape = Callable[..., Shape]
PLAYER = replace(built_in_profile("everyday", 6), bend_semitones=1.0)
ROW = st.floats(0.0, 0.3)


@pytest.fixture(scope="module")
def uneven(walnut: Instrument, make_shape: MakeShape) -> Shape:
    high = 1.1 + np.random.default_rng(3).normal(0.0, 0.02, (22, 1)) * np.ones(6)
    return make_shape(walnut, high)


@pytest.fixture(scope="module")
def planner(uneven: Shape, walnut: Instrument) -> Planner:
    return planner_for(uneven, walnut, PLAYER, default_rod(walnut, uneven.x_mm))


def test_held_places_are_frets_strings_and_places() -> None:
    held = Held(frozenset({2}), frozenset({3}), frozenset({(4, 1)})).where(4, 3)
    assert held.tolist() == [
        [False, False, True], [True, True, True], [False, False, True], [True, False, True],
    ]  # fmt: skip
    assert not Held()
    assert Held(places=frozenset({(1, 1)}))


def test_the_shape_runs_from_anchor_to_anchor_and_is_hollow_between() -> None:
    x = np.array([0.0, 10.0, 20.0, 30.0, 50.0])[:, None]
    top = np.array([0.0, 1.0, 5.0, 1.0, 2.0])[:, None]
    shape = AskedShape((2, 5), (0.1, -0.3), 0.2)
    # from 1.1 at x 10 to 1.7 at x 50; a quarter of the way 0.15 lower, half way 0.2
    expected = [np.nan, 1.1, 1.25 - 0.15, 1.4 - 0.2, 1.7]
    np.testing.assert_allclose(shape.height_mm(x, top)[:, 0], expected)


@given(
    arrays(float, 5, elements=ROW), arrays(float, 5, elements=ROW), arrays(float, 4, elements=ROW)
)
def test_what_is_within_reach_can_be_cut_and_no_more_of_it_can(
    least: np.ndarray, most: np.ndarray, step: np.ndarray
) -> None:
    reach = within_reach(least[None], most[None], step[None])[0]
    assert np.all(reach <= least)
    assert _can_be_cut(reach, most, step)
    lowest = followed(reach[None], step[None])[0]
    assert np.all(lowest >= reach)
    assert _can_be_cut(lowest, lowest, step)
    for s in np.flatnonzero(reach < least - 1e-6):
        more = np.zeros(5)
        more[s] = reach[s] + 1e-5
        assert not _can_be_cut(more, most, step)


def _can_be_cut(least: np.ndarray, most: np.ndarray, step: np.ndarray) -> bool:
    """By a solver of its own: cuts between both that change no faster than the steps."""
    if np.any(least > most + 1e-9):
        return False
    change = np.diff(np.eye(5), axis=0)
    found = linprog(
        np.zeros(5),
        np.vstack([change, -change]),
        np.concatenate([step, step]) + 1e-9,
        bounds=list(zip(least - 1e-9, most + 1e-9, strict=True)),
    )
    return bool(found.status == 0)


def test_nothing_is_cut_where_it_is_held_back(uneven: Shape, walnut: Instrument) -> None:
    asked = Target(frozenset({"rod", "nut"}))
    free = make_plan(uneven, walnut, PLAYER, asked)
    some = np.where(free.remove_mm > 1e-3, free.remove_mm, np.inf)
    fret, string = np.unravel_index(int(np.argmin(some)), some.shape)
    held = Held(places=frozenset({(int(fret) + 1, int(string) + 1)}))
    found = make_plan(uneven, walnut, PLAYER, replace(asked, held=held))
    assert found.feasible
    assert free.remove_mm[fret, string] > 0.0
    assert found.remove_mm[fret, string] == 0.0


def test_screws_set_by_hand_stay_so(uneven: Shape, walnut: Instrument) -> None:
    asked = Target(turns=-0.125, saddle_mm={2: 0.3}, nut_mm={6: 0.05})
    found = make_plan(uneven, walnut, PLAYER, asked)
    assert found.feasible
    assert found.turns == pytest.approx(-0.125)
    assert found.saddle_mm[1] == pytest.approx(0.3)
    assert found.nut_mm[5] == pytest.approx(0.05)


def test_no_top_is_left_above_the_asked_for_shape(planner: Planner) -> None:
    shape = AskedShape((2, 15), (-0.02, 0.01), 0.05)
    limits = planner.limits(PLAYER, Target(shape=shape))
    done = planner.solve(PLAYER, limits).changes
    setup = planner.setup
    above = setup.top_mm - done.remove_mm - shape.height_mm(setup.x_mm, setup.top_mm)
    assert np.nanmax(above) <= 1e-6
    assert np.nanmax(setup.top_mm - shape.height_mm(setup.x_mm, setup.top_mm)) > 0.02
    assert limits.shape_short_mm.max() == 0.0
    # anchors lowered so: their own tops come down with them
    assert np.all(done.remove_mm[1] >= 0.02 - 1e-9)


def test_a_shape_out_of_reach_is_met_as_far_as_it_goes(planner: Planner) -> None:
    held = Held(frets=frozenset({8}), places=frozenset({(11, 3)}))
    asked = Target(held=held, shape=AskedShape((2, 15), (-0.2, -0.2)))
    limits = planner.limits(PLAYER, asked)
    setup = planner.setup
    asked_mm = setup.top_mm - asked.shape.height_mm(setup.x_mm, setup.top_mm)  # type: ignore[union-attr]
    np.testing.assert_allclose(limits.shape_short_mm[7], asked_mm[7])
    # the string beside a held one: no file falls off faster than it can follow
    spacing = np.abs(setup.node_y_mm[10, 4] - setup.node_y_mm[10, 2])
    assert limits.least_cut_mm[10, 1] == pytest.approx(CUT_SLOPE * spacing)
    done = planner.solve(PLAYER, limits).changes.remove_mm
    assert np.all(done >= limits.least_cut_mm - 1e-7)
    assert np.all(done <= limits.most_cut_mm + 1e-7)


def test_a_cure_may_be_to_give_up_what_was_asked(walnut: Instrument, make_shape: MakeShape) -> None:
    high = np.full((22, 6), 1.1)
    high[9] += 0.4
    shape = make_shape(walnut, high)
    rod = default_rod(walnut, shape.x_mm)
    asked = Target(keep=frozenset({"rod", "nut"}), held=Held(frets=frozenset({10})))
    planner = planner_for(shape, walnut, PLAYER, rod)
    assert not planner.solve(PLAYER, planner.limits(PLAYER, asked)).feasible
    freed = [cure.free for cure in cures(planner, PLAYER, asked) if cure.free]
    assert freed == [(HELD,)]


def test_fixed_names_all_that_is_not_free_and_freeing_gives_it_up() -> None:
    asked = Target(
        frozenset({"nut"}), 0.1, {1: 0.1}, {}, Held(frozenset({3})), AskedShape((1, 9), (0.0, 0.0))
    )
    assert asked.fixed == {"rod", "nut", "saddles", HELD, SHAPE}
    assert asked.free(asked.fixed) == Target()
    assert asked.keeping("rod").turns is None
    assert asked.keeping("rod").keep == {"nut", "rod"}


def test_limits_of_a_kept_and_a_set_screw(uneven: Shape, walnut: Instrument) -> None:
    setup, rod = setup_from(uneven, walnut), default_rod(walnut, uneven.x_mm)
    kept = limits_for(setup, uneven, PLAYER, Target(frozenset({"saddles"})), rod)
    assert kept.saddles_left
    assert np.all(kept.saddle_mm[0] == 0.0)
    assert np.all(kept.saddle_mm[1] == 0.0)
    hand = limits_for(setup, uneven, PLAYER, Target(saddle_mm={3: -0.2}), rod)
    assert hand.saddles_left
    assert hand.saddle_mm[0][2] == hand.saddle_mm[1][2] == -0.2
    assert hand.saddle_mm[0][1] < 0.0 < hand.saddle_mm[1][1]
