"""What gauges show after the plan, worked out again from tops and strings."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest

from analysis.bench.expect import Expected, Reading, expected
from analysis.instrument import Instrument
from analysis.neck.shape import Shape
from analysis.plan.plan import Plan
from analysis.plan.target import Target
from analysis.rod.rod import relief_cases
from analysis.strings.playing import built_in_profile

from ...planned import make_plan

MakeShape = Callable[..., Shape]


@pytest.fixture
def shapes(walnut: Instrument, make_shape: MakeShape) -> tuple[Shape, Shape]:
    high = np.full((22, 6), 1.1)
    high[8, 2] += 0.04
    strung = make_shape(walnut, high, relief_mm=0.2)
    return strung, replace(make_shape(walnut, high, relief_mm=0.02), state="unstrung")


@pytest.fixture
def plan(walnut: Instrument, shapes: tuple[Shape, Shape]) -> Plan:
    made = make_plan(shapes[0], walnut, built_in_profile("everyday", 6), Target())
    cuts = np.zeros((22, 6))
    cuts[8, 2], cuts[0] = 0.035, 0.01
    return replace(
        made, feasible=True, remove_mm=cuts, relief_change_mm=0.06, turns=-0.15,
        saddle_mm=np.linspace(0.1, -0.1, 6), nut_mm=np.full(6, 0.02),
    )  # fmt: skip


def readings(found: Expected) -> dict[str, Reading]:
    return {one.what: one for one in (*found.unstrung, *found.strung)}


def test_the_gauges_show_what_tops_and_strings_make(
    walnut: Instrument, shapes: tuple[Shape, Shape], plan: Plan
) -> None:
    """Tops less the cut, bent by the rod; a straight string from slot to saddle over them."""
    strung, unstrung = shapes
    found = readings(expected(strung, unstrung, walnut, plan, 3.0))
    x, rod = strung.x_mm, relief_cases(walnut, strung.x_mm)[0]
    top = strung.top_mm - plan.remove_mm + 0.06 * rod.tops
    saddle_x = walnut.saddle_x_mm(walnut.string_numbers)
    before = [strung.top_mm[f] + h for f, h in ((0, walnut.nut_gap_mm), (11, walnut.action_mm))]
    slope = (before[1] - before[0]) / (x[11] - x[0])
    nut = before[0] - slope * x[0] + plan.nut_mm
    saddle = before[0] + slope * (saddle_x - x[0]) + plan.saddle_mm + 0.06 * rod.saddle
    for fret, name in ((12, "string over fret 12"), (1, "string over fret 1")):
        string = nut + (saddle - nut) * x[fret - 1] / saddle_x
        np.testing.assert_allclose(found[name].value_mm, string - top[fret - 1], atol=1e-9)
    chord = top[0] + (x - x[0]) / (x[15] - x[0]) * (top[15] - top[0])
    deepest = np.max((chord - top)[1:15], axis=0)
    np.testing.assert_allclose(found["relief"].value_mm, deepest, atol=1e-9)
    held = found["feeler, string held at frets 1 and 16"]
    at = np.array(held.at_fret) - 1
    np.testing.assert_allclose(held.value_mm, (chord - top)[at, range(6)], atol=1e-9)
    assert set(held.at_fret) <= {6, 7, 8}


def test_without_strings_it_is_the_unstrung_neck_that_is_bent(
    walnut: Instrument, shapes: tuple[Shape, Shape], plan: Plan
) -> None:
    strung, unstrung = shapes
    bare = readings(expected(strung, unstrung, walnut, plan, 3.0))["relief, unstrung"]
    on = readings(expected(strung, unstrung, walnut, plan, 3.0))["relief"]
    x = strung.x_mm
    # the shapes' relief is counted from the nut
    pulled = 0.18 * (1.0 - x[0] / x[15]) ** 2
    np.testing.assert_allclose(on.value_mm - bare.value_mm, pulled, atol=0.003)


def test_what_is_not_known_of_the_rod_is_in_u_and_only_where_it_is_turned(
    walnut: Instrument, shapes: tuple[Shape, Shape], plan: Plan
) -> None:
    """The default rod is a quarter stronger or weaker: 0.25 of 0.06 mm over the root of 3."""
    turned = readings(expected(*shapes, walnut, plan, 0.0))
    still = readings(expected(*shapes, walnut, replace(plan, relief_change_mm=0.0), 0.0))
    rod = np.sqrt(turned["relief"].u_mm ** 2 - still["relief"].u_mm ** 2)
    np.testing.assert_allclose(rod, 0.015 / np.sqrt(3.0), rtol=0.15)
    # the saddles are set by the action, whatever the rod did
    np.testing.assert_allclose(turned["string over fret 12"].u_mm, 0.02)


def test_the_nuts_gap_is_doubted_by_what_each_rod_and_the_saddles_set_after_it_make(
    walnut: Instrument, shapes: tuple[Shape, Shape], plan: Plan
) -> None:
    gap = readings(expected(*shapes, walnut, plan, 0.0))["string over fret 1"]
    share = shapes[0].x_mm[0] / walnut.saddle_x_mm(walnut.string_numbers)
    rise = [0.06 * (share * c.saddle - c.tops[0]) for c in plan.rod.cases]
    off = np.max(np.abs(np.array(rise) - rise[0]), axis=0)
    np.testing.assert_allclose(gap.u_mm, np.sqrt(0.02**2 + off**2 / 3.0), rtol=1e-9)


def test_a_worse_hand_is_in_u_where_it_cuts(
    walnut: Instrument, shapes: tuple[Shape, Shape], plan: Plan
) -> None:
    fine = readings(expected(*shapes, walnut, plan, 0.0))["string over fret 1"]
    rough = readings(expected(*shapes, walnut, plan, 30.0))["string over fret 1"]
    np.testing.assert_allclose(rough.u_mm**2 - fine.u_mm**2, 0.03**2, rtol=1e-6)


def test_listen_first_where_least_is_to_spare(
    walnut: Instrument, shapes: tuple[Shape, Shape], plan: Plan
) -> None:
    found = expected(*shapes, walnut, plan, 3.0).listen
    spare = [(c.clearance_mm - c.swing_mm) / c.u_mm for c in plan.after]
    assert [(c.clearance_mm - c.swing_mm) / c.u_mm for c in found] == sorted(spare)[:5]
