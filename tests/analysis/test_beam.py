"""What a straight beam does of the plan by itself."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest

from analysis.beam import beam_setting
from analysis.instrument import Instrument
from analysis.rod import RELIEF_PER_TURN_MM, relief_cases
from analysis.shape import Shape

MakeShape = Callable[..., Shape]


def bowed(walnut: Instrument, make_shape: MakeShape, relief: float) -> Shape:
    """Straight tops, then bent by the rod's own shape."""
    straight = make_shape(walnut, relief_mm=0.0, flat_board=True)
    rod, _ = relief_cases(walnut, straight.x_mm)
    return replace(straight, top_mm=straight.top_mm + relief * rod.tops)


@pytest.mark.parametrize("relief", [-0.1, 0.0, 0.08])
def test_the_rod_takes_out_its_own_bow(
    walnut: Instrument, make_shape: MakeShape, relief: float
) -> None:
    setting = beam_setting(bowed(walnut, make_shape, relief), np.zeros((22, 6)), walnut, 0.2)
    assert setting.relief_change_mm == pytest.approx(-relief, abs=1e-9)
    assert setting.turns == pytest.approx(relief / RELIEF_PER_TURN_MM)
    assert np.max(np.abs(setting.left_um)) < 1e-6


def test_the_rod_is_not_turned_further_than_allowed(
    walnut: Instrument, make_shape: MakeShape
) -> None:
    setting = beam_setting(bowed(walnut, make_shape, 0.5), np.zeros((22, 6)), walnut, 0.2)
    assert setting.relief_change_mm == -0.2


def test_a_deeper_cut_than_the_beam_makes_is_left_to_the_file(
    walnut: Instrument, make_shape: MakeShape
) -> None:
    cuts = np.full((22, 6), 0.03)
    cuts[9, 2] = 0.08
    setting = beam_setting(bowed(walnut, make_shape, 0.0), cuts, walnut, 0.2)
    assert setting.left_um[9, 2] == pytest.approx(50.0, rel=0.15)
    assert np.max(np.abs(np.delete(setting.left_um, 2, axis=1))) < 2.0


def test_no_other_setting_leaves_less(walnut: Instrument, make_shape: MakeShape) -> None:
    rng = np.random.default_rng(1)
    shape = make_shape(walnut, 1.1 + rng.normal(0.0, 0.02, (22, 6)))
    cuts = rng.uniform(0.0, 0.05, (22, 6))
    best = beam_setting(shape, cuts, walnut, 0.2)
    rod, _ = relief_cases(walnut, shape.x_mm)
    for step in (-0.01, 0.01):
        there = shape.top_mm + (best.relief_change_mm + step) * rod.tops
        other = beam_setting(replace(shape, top_mm=there), cuts, walnut, 0.0)
        assert np.sum(other.left_um**2) > np.sum(best.left_um**2)


def test_unseen_tops_are_left_open(walnut: Instrument, make_shape: MakeShape) -> None:
    shape = bowed(walnut, make_shape, 0.05)
    top = shape.top_mm.copy()
    top[4, 1] = np.nan
    setting = beam_setting(replace(shape, top_mm=top), np.zeros((22, 6)), walnut, 0.2)
    assert np.isnan(setting.left_um[4, 1])
    assert setting.relief_change_mm == pytest.approx(-0.05, abs=1e-9)
