"""The plan as a whole, and its cures where there is none."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest

from analysis.instrument import Instrument
from analysis.neck.shape import Shape
from analysis.plan.plan import Plan
from analysis.plan.target import Target
from analysis.rod.rod import RELIEF_PER_TURN_MM
from analysis.strings.playing import PlayingProfile, built_in_profile

from ...planned import make_plan

MakeShape = Callable[..., Shape]
NONE = Target()
PLAYER = replace(built_in_profile("everyday", 6), bend_semitones=1.0)


@pytest.fixture(scope="module")
def uneven(walnut: Instrument, make_shape: MakeShape) -> Shape:
    high = 1.1 + np.random.default_rng(3).normal(0.0, 0.012, (22, 1)) * np.ones(6)
    return make_shape(walnut, high)


@pytest.fixture(scope="module")
def plan(uneven: Shape, walnut: Instrument) -> Plan:
    return make_plan(uneven, walnut, PLAYER, NONE)


def test_feasible_and_every_margin_is_clear_after(plan: Plan) -> None:
    assert plan.feasible
    assert {c.verdict for c in plan.after} == {"clear"}
    assert plan.short == ()
    assert plan.refret == ()
    assert plan.cures == ()


def test_worst_margin_of_every_string_and_position(plan: Plan) -> None:
    keys = [(c.bend, c.string, c.fretted) for c in plan.after]
    straight = {(False, s, n) for s in range(1, 7) for n in range(22)}
    bent = {(True, s, n) for s in range(1, 7) for n in range(1, 22)}
    assert len(keys) == len(set(keys))
    assert set(keys) == straight | bent
    assert all(c.worst_at > c.fretted for c in plan.after)


def test_totals_and_what_is_left(plan: Plan, uneven: Shape) -> None:
    assert plan.planned_mm == pytest.approx(plan.remove_mm.sum())
    np.testing.assert_array_equal(plan.height_after_mm, uneven.height_mm - plan.remove_mm)
    assert np.all(plan.height_after_mm >= PLAYER.least_fret_mm)
    assert plan.turns == pytest.approx(-plan.relief_change_mm / RELIEF_PER_TURN_MM)
    assert np.all(plan.u_remove_mm > 0.0)


@pytest.mark.parametrize("bump_mm", [0.10, 0.15])
def test_less_metal_than_levelling_on_a_neck_with_one_high_fret(
    walnut: Instrument, make_shape: MakeShape, bump_mm: float
) -> None:
    high = np.full((22, 6), 1.1)
    high[9] -= bump_mm  # one worn fret makes levelling take all the others down
    plan = make_plan(make_shape(walnut, high), walnut, PLAYER, NONE)
    assert plan.feasible
    assert plan.planned_mm < plan.level_mm


@pytest.mark.parametrize("kept", [{"rod"}, {"nut"}, {"rod", "nut"}])
def test_what_is_kept_is_not_touched(uneven: Shape, walnut: Instrument, kept: set[str]) -> None:
    found = make_plan(uneven, walnut, PLAYER, Target(frozenset(kept)))
    assert found.target.keep == frozenset(kept)
    if "rod" in kept:
        assert found.turns == 0.0
    if "nut" in kept:
        assert np.all(found.nut_mm == 0.0)


def test_verdict_now_is_by_guard_band(plan: Plan) -> None:
    for c in plan.now:
        over = c.clearance_mm - c.swing_mm
        if c.verdict == "clear":
            assert over >= PLAYER.guard * c.u_mm - 1e-6
        elif c.verdict == "buzzes":
            assert over < -PLAYER.guard * c.u_mm
        else:
            assert abs(over) <= PLAYER.guard * c.u_mm + 1e-6
    assert {c.verdict for c in plan.now} >= {"clear", "buzzes"}


def demanding() -> PlayingProfile:
    return replace(PLAYER, pluck_force_n=1.5, highest_action_mm={1: 1.2, 6: 1.5})


def test_where_no_plan_will_do_nothing_is_changed(uneven: Shape, walnut: Instrument) -> None:
    found = make_plan(uneven, walnut, demanding(), NONE)
    assert not found.feasible
    assert np.all(found.remove_mm == 0.0)
    assert found.turns == 0.0
    assert np.all(found.saddle_mm == 0.0)
    assert found.short or np.any(found.action_short_mm > 0.0)
    np.testing.assert_array_equal(found.height_after_mm, uneven.height_mm)


def test_a_fret_worn_too_low_is_to_be_replaced(walnut: Instrument, make_shape: MakeShape) -> None:
    high = np.full((22, 6), 1.1)
    high[2] = 0.5
    found = make_plan(make_shape(walnut, high), walnut, PLAYER, NONE)
    (refret,) = [r for r in found.refret if r.fret == 3]
    assert "0.50 mm high" in refret.why
    assert "needs 0.60 mm" in refret.why


@pytest.mark.parametrize("fret", [1, 8, 12, 22])
def test_one_unseen_top_changes_little(
    uneven: Shape, walnut: Instrument, plan: Plan, fret: int
) -> None:
    """No margin hangs on it, it is not cut, and the way to compare with stays what it was."""
    top, u, height = (a.copy() for a in (uneven.top_mm, uneven.u_top_mm, uneven.height_mm))
    top[fret - 1, 2] = u[fret - 1, 2] = height[fret - 1, 2] = np.nan
    holed = replace(uneven, top_mm=top, u_top_mm=u, height_mm=height)
    found = make_plan(holed, walnut, PLAYER, NONE)
    assert found.remove_mm[fret - 1, 2] == 0.0
    assert found.level_mm <= plan.level_mm + 1e-6
    assert np.all(found.action_short_mm < 0.1)


def test_too_many_unseen_tops_are_refused(uneven: Shape, walnut: Instrument) -> None:
    top = uneven.top_mm.copy()
    top[:3] = np.nan
    with pytest.raises(ValueError, match="18 of 132 fret tops"):
        make_plan(replace(uneven, top_mm=top), walnut, PLAYER, NONE)


def test_a_harder_player_never_costs_less(uneven: Shape, walnut: Instrument, plan: Plan) -> None:
    harder = make_plan(uneven, walnut, replace(PLAYER, pluck_force_n=0.65), NONE)
    assert not harder.feasible or harder.planned_mm >= plan.planned_mm - 1e-6
