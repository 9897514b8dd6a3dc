"""The rod's shape, the strung setup and the bounds of a plan."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest

from analysis.instrument import Instrument
from analysis.neck.relief import reliefs
from analysis.neck.shape import Shape
from analysis.plan.limits import LEAST_NUT_GAP_MM, SADDLE_RANGE_MM, limits_for
from analysis.plan.setup import setup_from
from analysis.plan.target import Target
from analysis.rod.rod import GAIN_DOUBT, default_rod, relief_cases, rod_cases
from analysis.strings.playing import built_in_profile

MakeShape = Callable[..., Shape]
EVERYDAY = built_in_profile("everyday", 6)


def xs(walnut: Instrument) -> np.ndarray:
    return walnut.fret_x_mm(np.arange(1.0, 23.0)[:, None], walnut.string_numbers[None, :])


def test_a_unit_of_rod_is_a_millimetre_of_relief(walnut: Instrument) -> None:
    x = xs(walnut)
    for case in relief_cases(walnut, x):
        for found in reliefs(x, case.tops, np.zeros_like(x), 16):
            assert found.relief_mm == pytest.approx(1.0, abs=0.02)
        assert np.all(np.abs(case.tops[15]) < 1e-9)


def test_a_rod_bends_like_a_beam_between_moments(walnut: Instrument) -> None:
    """Roark's table 8.1: supported, equal end moments, M x (L - x) / 2EI: even curvature."""
    x = xs(walnut)[:16, 0]
    tops = relief_cases(walnut, xs(walnut))[0].tops[:16, 0]
    second = np.polyfit(x, tops, 2)
    np.testing.assert_allclose(np.polyval(second, x), tops, atol=1e-12)
    assert np.polyval(second, 0.0) == pytest.approx(0.0, abs=1e-12)


def test_past_the_joint_it_stays_or_goes_on_straight(walnut: Instrument) -> None:
    x = xs(walnut)
    still, follows = relief_cases(walnut, x)
    assert np.all(still.tops[16:] == 0.0)
    assert np.all(still.saddle == 0.0)
    line = np.polyfit(x[15:, 0], follows.tops[15:, 0], 1)
    np.testing.assert_allclose(np.polyval(line, x[15:, 0]), follows.tops[15:, 0], atol=1e-12)
    assert np.polyval(line, 641.0) == pytest.approx(follows.saddle[0], rel=1e-9)
    assert follows.saddle[0] > 0.0


def test_every_case_keeps_the_action_the_stated_one_gives(walnut: Instrument) -> None:
    x = xs(walnut)
    share = x[11] / 641.0
    lifts = [share * c.saddle - c.tops[11] for c in default_rod(walnut, x).cases]
    for lift in lifts:
        np.testing.assert_allclose(lift, lifts[0], atol=1e-12)
    depth = [c.tops[7, 0] / rod_cases(walnut, x)[0].tops[7, 0] for c in rod_cases(walnut, x)]
    assert min(depth) == pytest.approx(1.0 - GAIN_DOUBT)
    assert max(depth) == pytest.approx(1.0 + GAIN_DOUBT)


def test_the_open_string_stands_as_measured(walnut: Instrument, make_shape: MakeShape) -> None:
    shape = make_shape(walnut)
    setup = setup_from(shape, walnut)
    for fret, gap in ((0, walnut.nut_gap_mm), (11, walnut.action_mm)):
        share = shape.x_mm[fret] / 641.0
        line = (1.0 - share) * setup.nut_mm + share * setup.saddle_mm
        np.testing.assert_allclose(line - shape.top_mm[fret], gap, atol=1e-12)


def test_nodes_are_strings_and_the_places_between(
    walnut: Instrument, make_shape: MakeShape
) -> None:
    shape = make_shape(walnut)
    setup = setup_from(shape, walnut)
    assert setup.node_z_mm.shape == (22, 11)
    np.testing.assert_array_equal(setup.top_mm, shape.top_mm)
    np.testing.assert_array_equal(setup.node_z_mm[:, 1::2], shape.between_mm)
    np.testing.assert_array_equal(setup.x_mm, shape.x_mm)
    np.testing.assert_allclose(setup.node_y_mm[:, ::2], shape.y_mm, atol=1e-12)
    assert setup.curvature[0] == pytest.approx(1.0 / 241.0, rel=0.05)
    assert setup.curvature[-1] == pytest.approx(1.0 / 355.0, rel=1e-9)


def test_an_unseen_top_at_the_measured_frets_is_bridged(
    walnut: Instrument, make_shape: MakeShape
) -> None:
    shape = make_shape(walnut)
    top = shape.top_mm.copy()
    top[11, 2] = np.nan
    whole, holed = setup_from(shape, walnut), setup_from(replace(shape, top_mm=top), walnut)
    np.testing.assert_allclose(holed.saddle_mm, whole.saddle_mm, atol=0.02)


def test_room_to_cut_leaves_what_the_player_needs(
    walnut: Instrument, make_shape: MakeShape
) -> None:
    high = np.full((22, 6), 1.1)
    high[3] = 0.605
    high[4] = 0.4
    shape = make_shape(walnut, high)
    height = shape.height_mm.copy()
    height[9, 2] = np.nan
    shape = replace(shape, height_mm=height)
    limits = limits_for(
        setup_from(shape, walnut), shape, EVERYDAY, Target(), default_rod(walnut, shape.x_mm)
    )
    assert limits.most_cut_mm[0, 0] == pytest.approx(1.1 - 2.0 * 0.004 - 0.6)
    assert np.all(limits.most_cut_mm[3:5] == 0.0)
    assert limits.most_cut_mm[9, 2] == 0.0


@pytest.mark.parametrize("kept", [{"rod"}, {"nut"}, {"saddles"}, {"rod", "nut", "saddles"}, set()])
def test_what_is_kept_has_no_room(
    walnut: Instrument, make_shape: MakeShape, kept: set[str]
) -> None:
    shape = make_shape(walnut)
    limits = limits_for(
        setup_from(shape, walnut),
        shape,
        EVERYDAY,
        Target(frozenset(kept)),
        default_rod(walnut, shape.x_mm),
    )
    assert (limits.relief_mm == (0.0, 0.0)) == ("rod" in kept)
    for name, (low, high) in (("saddles", limits.saddle_mm), ("nut", limits.nut_mm)):
        assert bool(np.all(low == 0.0) and np.all(high == 0.0)) == (name in kept)
        assert np.all(low <= 0.0)
        assert np.all(high >= 0.0)
    if "saddles" not in kept:
        assert (limits.saddle_mm[0][0], limits.saddle_mm[1][0]) == SADDLE_RANGE_MM


def test_a_nut_slot_never_goes_under_its_least_gap(
    walnut: Instrument, make_shape: MakeShape
) -> None:
    low = replace(walnut, nut_gap_mm=(0.2, 0.1, 0.15, 0.46, 0.48, 0.5))
    shape = make_shape(low)
    limits = limits_for(
        setup_from(shape, low), shape, EVERYDAY, Target(), default_rod(walnut, shape.x_mm)
    )
    assert limits.nut_mm[0][:3] == pytest.approx([LEAST_NUT_GAP_MM - 0.2, 0.0, 0.0])
