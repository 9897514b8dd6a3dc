"""How many more dressings: counted by hand, and against plans that spare a fret."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest

from analysis.instrument import Instrument
from analysis.neck.shape import Shape
from analysis.plan.life import USUAL_DRESSING_MM, WORTH_SHARE, Life, life
from analysis.plan.planner import Planner, planner_for
from analysis.plan.programme import Solution
from analysis.plan.target import Target
from analysis.rod.rod import default_rod
from analysis.strings.playing import built_in_profile

MakeShape = Callable[..., Shape]
NONE = Target()
PLAYER = replace(built_in_profile("everyday", 6), name="own", pluck_force_n=0.5, bend_semitones=1.0)


def made_planner(shape: Shape, instrument: Instrument) -> Planner:
    return planner_for(shape, instrument, PLAYER, default_rod(instrument, shape.x_mm))


@pytest.fixture(scope="module")
def planner(walnut: Instrument, make_shape: MakeShape) -> Planner:
    """One fret stands high, and has the least life for it."""
    high = 1.1 + np.random.default_rng(3).normal(0.0, 0.012, (22, 1)) * np.ones(6)
    return made_planner(make_shape(walnut, high), walnut)


@pytest.fixture(scope="module")
def plan(planner: Planner) -> Solution:
    return planner.solve(PLAYER, planner.limits(PLAYER, NONE))


@pytest.fixture(scope="module")
def found(planner: Planner, plan: Solution) -> Life:
    return life(planner, PLAYER, NONE, plan.changes.remove_mm)


def test_counted_by_hand(planner: Planner) -> None:
    remove = np.zeros((22, 6))
    remove[8, 2:4] = 0.05, 0.02
    remove[4, 1] = 0.1
    remove[5, 5] = 0.02
    found = life(planner, PLAYER, NONE, remove)
    by_fret = {one.fret: one for one in found.frets}
    height = planner.shape.height_mm
    assert found.dressing_mm == pytest.approx(0.05)
    assert not found.usual
    # height after, less two standard uncertainties of 0.004 mm, less the 0.6 mm needed
    room = height[8, 2] - 0.05 - 2 * 0.004 - 0.6
    assert by_fret[9].string == 3
    assert by_fret[9].dressings == pytest.approx(room / 0.05)
    assert by_fret[5].dressings == pytest.approx((height[4, 1] - 0.1 - 0.608) / 0.1)
    assert by_fret[1].cut_mm == 0.0
    assert by_fret[1].dressing_mm == pytest.approx(0.05)
    assert by_fret[1].dressings == pytest.approx((height[0].min() - 0.608) / 0.05)
    assert found.frets[0].fret == 5
    order = [one.dressings for one in found.frets]
    assert order == sorted(order)
    lowest = min(one.room_mm for one in found.frets)
    assert found.dressings == pytest.approx(lowest / 0.05)


def test_a_usual_dressing_stands_in_where_nothing_is_cut(planner: Planner) -> None:
    found = life(planner, PLAYER, NONE, np.zeros((22, 6)))
    assert found.usual
    assert found.dressing_mm == USUAL_DRESSING_MM
    assert not found.spares


def test_an_unknown_height_is_unknown_and_last(walnut: Instrument, make_shape: MakeShape) -> None:
    shape = make_shape(walnut)
    height = shape.height_mm.copy()
    height[9] = np.nan
    height[3, 2] = np.nan
    planner = made_planner(replace(shape, height_mm=height), walnut)
    found = life(planner, PLAYER, NONE, np.zeros((22, 6)))
    assert found.frets[-1].fret == 10
    assert found.frets[-1].string == 0
    assert np.isnan(found.frets[-1].dressings)
    assert np.isfinite([one.dressings for one in found.frets[:-1]]).all()
    assert np.isfinite(found.dressings)


def test_a_fret_worn_past_its_need_has_none_left(walnut: Instrument, make_shape: MakeShape) -> None:
    high = np.full((22, 6), 1.1)
    high[4] = 0.55
    found = life(made_planner(make_shape(walnut, high), walnut), PLAYER, NONE, np.zeros((22, 6)))
    assert found.frets[0].fret == 5
    assert found.frets[0].dressings == 0.0
    assert found.dressings == 0.0


def test_what_a_bending_finger_needs_counts_where_it_bends(planner: Planner) -> None:
    bender = replace(PLAYER, least_bending_fret_mm=0.8, bend_frets=(12, 22))
    plain = {one.fret: one for one in life(planner, PLAYER, NONE, np.zeros((22, 6))).frets}
    found = {one.fret: one for one in life(planner, bender, NONE, np.zeros((22, 6))).frets}
    assert found[11].room_mm == pytest.approx(plain[11].room_mm)
    assert found[12].room_mm == pytest.approx(plain[12].room_mm - 0.2)


def test_spares_are_plans_that_take_less_off_that_fret(
    planner: Planner, plan: Solution, found: Life
) -> None:
    first = found.frets[0]
    assert first.cut_mm > 0.0
    assert found.spares
    limits = planner.limits(PLAYER, NONE)
    for spare in found.spares:
        assert spare.takes_mm < first.cut_mm
        assert spare.dressings == pytest.approx((first.cut_mm - spare.takes_mm) / first.cut_mm)
        asked = limits
        if spare.string:
            action = limits.highest_action_mm.copy()
            action[spare.string - 1] += spare.raise_mm
            asked = replace(limits, highest_action_mm=action)
        else:
            most = limits.most_cut_mm.copy()
            most[first.fret - 1] = np.minimum(most[first.fret - 1], spare.takes_mm + 1e-9)
            asked = replace(limits, most_cut_mm=most)
        done = made_planner(planner.shape, planner.setup.instrument).solve(PLAYER, asked)
        assert done.feasible
        assert done.metal_mm - plan.metal_mm == pytest.approx(spare.metal_mm, abs=3e-3)


@pytest.mark.parametrize(
    ("force_n", "keep"), [(0.51, ()), (0.5, ("rod",)), (0.5, ("rod", "nut")), (0.52, ())]
)
def test_a_fret_is_spared_as_far_as_is_cheap(
    planner: Planner, force_n: float, keep: tuple[str, ...]
) -> None:
    """By the least of its cut with which a plan takes no more than a quarter more metal."""
    asking, kept = replace(PLAYER, pluck_force_n=force_n), Target(frozenset(keep))
    limits = planner.limits(asking, kept)
    plan = planner.solve(asking, limits)
    found = life(planner, asking, kept, plan.changes.remove_mm)
    first = found.frets[0]
    cheap, saved = [], 0.0
    for share in (0.75, 0.5, 0.25, 0.0):
        most = limits.most_cut_mm.copy()
        most[first.fret - 1] = np.minimum(most[first.fret - 1], share * first.cut_mm)
        done = planner.solve(asking, replace(limits, most_cut_mm=most))
        if done.feasible and done.metal_mm <= 1.25 * plan.metal_mm:
            cheap.append(share)
            saved = 1.0 - float(done.changes.remove_mm[first.fret - 1].max()) / first.cut_mm
    within = [one for one in found.spares if one.string == 0]
    assert len(within) == (1 if cheap and saved >= WORTH_SHARE else 0)
    for one in within:
        assert one.takes_mm <= min(cheap) * first.cut_mm + 1e-6
        assert one.metal_mm <= 0.25 * plan.metal_mm + 1e-6
