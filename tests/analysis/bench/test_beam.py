"""What a straight beam does of the plan by itself."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from itertools import combinations

import numpy as np
import pytest

from analysis.bench.beam import beam_setting
from analysis.instrument import Instrument
from analysis.neck.shape import Shape
from analysis.rod.rod import RELIEF_PER_TURN_MM, relief_cases

MakeShape = Callable[..., Shape]


def bowed(walnut: Instrument, make_shape: MakeShape, relief: float) -> Shape:
    """Straight tops, then bent by the rod's own shape."""
    straight = make_shape(walnut, relief_mm=0.0, flat_board=True)
    rod, _ = relief_cases(walnut, straight.x_mm)
    return replace(straight, top_mm=straight.top_mm + relief * rod.tops)


def over_hull(x: np.ndarray, wanted: np.ndarray) -> float:
    """Least total between a line that lies on or over every point, and the points."""
    best = np.inf
    for a, b in combinations(range(x.size), 2):
        slope = (wanted[b] - wanted[a]) / (x[b] - x[a])
        under = wanted[a] + slope * (x - x[a]) - wanted
        if under.min() > -1e-12:
            best = min(best, float(under.sum()))
    return best


@pytest.mark.parametrize("relief", [-0.1, 0.0, 0.08])
def test_the_rod_takes_out_its_own_bow(
    walnut: Instrument, make_shape: MakeShape, relief: float
) -> None:
    """An even cut of a bowed neck: straightened first, the beam does it all."""
    cuts = np.full((22, 6), 0.03)
    setting = beam_setting(bowed(walnut, make_shape, relief), cuts, walnut, 0.2)
    assert setting.relief_change_mm == pytest.approx(-relief, abs=1e-6)
    assert setting.turns == pytest.approx(relief / RELIEF_PER_TURN_MM, abs=1e-5)
    assert np.max(setting.left_um) < 1e-2


def test_the_rod_is_not_turned_further_than_allowed(
    walnut: Instrument, make_shape: MakeShape
) -> None:
    setting = beam_setting(bowed(walnut, make_shape, 0.5), np.full((22, 6), 0.1), walnut, 0.2)
    assert setting.relief_change_mm == pytest.approx(-0.2)


def test_a_deeper_cut_than_the_beam_makes_is_left_to_the_file(
    walnut: Instrument, make_shape: MakeShape
) -> None:
    cuts = np.full((22, 6), 0.03)
    cuts[9, 2] = 0.08
    setting = beam_setting(bowed(walnut, make_shape, 0.0), cuts, walnut, 0.2)
    assert setting.left_um[9, 2] == pytest.approx(50.0, abs=0.01)
    left = setting.left_um.copy()
    left[9, 2] = 0.0
    assert np.max(left) < 1e-2


@pytest.mark.parametrize("seed", [1, 2])
def test_no_other_setting_lets_the_beam_do_more(
    walnut: Instrument, make_shape: MakeShape, seed: int
) -> None:
    """Against the convex hull of every string, the rod tried all along its range."""
    rng = np.random.default_rng(seed)
    shape = make_shape(walnut, 1.1 + rng.normal(0.0, 0.02, (22, 6)))
    cuts = 0.5 + rng.uniform(0.0, 0.05, (22, 6))  # deep, so that every top stands over the line
    found = beam_setting(shape, cuts, walnut, 0.2)
    rod, _ = relief_cases(walnut, shape.x_mm)
    tried = []
    for relief in np.linspace(-0.2, 0.2, 41):
        wanted = shape.top_mm - cuts + relief * rod.tops
        tried.append(sum(over_hull(shape.x_mm[:, s], wanted[:, s]) for s in range(6)))
    total = 1e-3 * found.left_um.sum()
    assert total <= min(tried) + 1e-7
    assert total == pytest.approx(min(tried), abs=0.05)


def test_never_under_the_plan_and_never_over_the_top(
    walnut: Instrument, make_shape: MakeShape
) -> None:
    rng = np.random.default_rng(4)
    shape = make_shape(walnut, 1.1 + rng.normal(0.0, 0.02, (22, 6)))
    cuts = np.where(rng.uniform(size=(22, 6)) < 0.4, rng.uniform(0.0, 0.08, (22, 6)), 0.0)
    setting = beam_setting(shape, cuts, walnut, 0.2)
    assert np.all(setting.left_um >= 0.0)
    assert np.all(setting.left_um <= 1e3 * cuts + 1e-6)


def test_unseen_tops_are_left_open(walnut: Instrument, make_shape: MakeShape) -> None:
    shape = bowed(walnut, make_shape, 0.05)
    top = shape.top_mm.copy()
    top[4, 1] = np.nan
    setting = beam_setting(replace(shape, top_mm=top), np.full((22, 6), 0.03), walnut, 0.2)
    assert np.isnan(setting.left_um[4, 1])
    assert setting.relief_change_mm == pytest.approx(-0.05, abs=1e-6)
