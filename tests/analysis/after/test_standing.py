"""How a filed neck stands: what is left by the margins, and whether it matters."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest

from analysis.after.heights import string_rise_mm
from analysis.after.standing import Standing, over_filed_tops, standing, with_saddles_set
from analysis.after.verify import TOLERANCE_UM, what_is_left, worth_a_pass
from analysis.instrument import Instrument
from analysis.neck.shape import Shape
from analysis.plan.changes import Changes
from analysis.plan.plan import Plan
from analysis.plan.target import Target
from analysis.strings.playing import built_in_profile

from ...planned import make_plan

MakeShape = Callable[..., Shape]
PLAYER = built_in_profile("gentle", 6)


@pytest.fixture(scope="module")
def worn(walnut: Instrument, make_shape: MakeShape) -> Shape:
    high = 1.1 + np.random.default_rng(3).normal(0.0, 0.012, (22, 1)) * np.ones(6)
    high[12] += 0.1
    return make_shape(walnut, high)


@pytest.fixture(scope="module")
def plan(worn: Shape, walnut: Instrument) -> Plan:
    found = make_plan(worn, walnut, PLAYER, Target(frozenset({"rod"})))
    assert found.feasible
    assert found.remove_mm.max() > 0.02
    return found


def screws_of(plan: Plan) -> Changes:
    still = np.zeros_like(plan.remove_mm)
    return Changes(still, plan.saddle_mm, plan.nut_mm, plan.relief_change_mm)


def filed(worn: Shape, removed_mm: np.ndarray) -> Shape:
    middle = 0.5 * (removed_mm[:, 1:] + removed_mm[:, :-1])
    return replace(worn, top_mm=worn.top_mm - removed_mm, between_mm=worn.between_mm - middle)


def stand(worn: Shape, walnut: Instrument, plan: Plan, removed_mm: np.ndarray) -> Standing:
    now = filed(worn, removed_mm)
    screws = with_saddles_set(screws_of(plan), walnut, worn, now, plan.remove_mm)
    return standing(now, over_filed_tops(walnut, worn, now), PLAYER, plan.rod, screws)


def test_as_planned_is_done(worn: Shape, walnut: Instrument, plan: Plan) -> None:
    found = stand(worn, walnut, plan, plan.remove_mm)
    assert found.done
    assert found.can
    # midway between strings a filed top is taken as the mean of the cuts beside it, a plan takes
    # what lies straight between them: some micrometres apart under a bend
    assert 1e3 * found.left_mm.sum() < TOLERANCE_UM
    assert len(found.clearances) == len(plan.after)
    assert not worth_a_pass(found, what_is_left(found, None))


def test_nothing_cut_leaves_the_plan(worn: Shape, walnut: Instrument, plan: Plan) -> None:
    found = stand(worn, walnut, plan, np.zeros_like(plan.remove_mm))
    assert not found.done
    assert found.left_mm.sum() == pytest.approx(plan.remove_mm.sum(), abs=2e-3)
    left = what_is_left(found, None)
    assert worth_a_pass(found, left)
    assert all(one.aim_um == one.left_um for one in left)


def test_88_per_cent_leaves_the_rest(worn: Shape, walnut: Instrument, plan: Plan) -> None:
    found = stand(worn, walnut, plan, 0.88 * plan.remove_mm)
    assert found.left_mm.sum() == pytest.approx(0.12 * plan.remove_mm.sum(), abs=3e-3)
    most = max(one.left_um for one in what_is_left(found, None))
    assert worth_a_pass(found, what_is_left(found, None)) is (most > TOLERANCE_UM)


def test_left_where_it_was_planned(worn: Shape, walnut: Instrument, plan: Plan) -> None:
    """One cut forgotten: it is what is left, and nothing is elsewhere."""
    fret, string = np.unravel_index(int(np.argmax(plan.remove_mm)), plan.remove_mm.shape)
    removed = plan.remove_mm.copy()
    removed[fret] = 0.0
    found = stand(worn, walnut, plan, removed)
    assert found.left_mm[fret, string] == pytest.approx(plan.remove_mm[fret, string], abs=2e-3)
    assert np.delete(found.left_mm, fret, axis=0).sum() < 2e-3


def test_a_fret_cut_far_too_low_is_no_metal_s_to_cure(
    worn: Shape, walnut: Instrument, plan: Plan
) -> None:
    removed = plan.remove_mm.copy()
    removed[5] += 0.6
    found = stand(worn, walnut, plan, removed)
    assert not found.can
    assert not found.done
    assert what_is_left(found, None) == ()


def test_near_is_between_clear_and_short(worn: Shape, walnut: Instrument, plan: Plan) -> None:
    found = stand(worn, walnut, plan, 0.99 * plan.remove_mm)
    sure = {id(c): (c.clearance_mm - c.swing_mm) / c.u_mm for c in found.clearances}
    assert found.near
    assert all(1.645 <= sure[id(c)] < 2.0 for c in found.near)
    assert all(sure[id(c)] < 1.645 for c in found.short)


def test_saddles_end_at_the_planned_height(worn: Shape, walnut: Instrument, plan: Plan) -> None:
    """20 um less came off fret 12: the string stands where the plan set it, over higher tops."""
    planned = plan.remove_mm.copy()
    planned[11] += 0.02
    now = filed(worn, planned - 0.02 * np.eye(22)[:, [11]])
    screws = with_saddles_set(screws_of(plan), walnut, worn, now, planned)
    case = plan.rod.cases[0]
    action = walnut.action_mm + string_rise_mm(
        walnut, replace(screws_of(plan), remove_mm=planned), case, 12
    )
    done = replace(screws, remove_mm=worn.top_mm - now.top_mm)
    assert walnut.action_mm + string_rise_mm(walnut, done, case, 12) == pytest.approx(action)
    assert np.all(screws.saddle_mm > plan.saddle_mm)


def test_strings_stand_higher_over_filed_frets(worn: Shape, walnut: Instrument) -> None:
    removed = np.zeros((22, 6))
    removed[0], removed[11] = 0.01, 0.03
    higher = over_filed_tops(walnut, worn, filed(worn, removed))
    assert np.subtract(higher.nut_gap_mm, walnut.nut_gap_mm) == pytest.approx(0.01)
    assert np.subtract(higher.action_mm, walnut.action_mm) == pytest.approx(0.03)
