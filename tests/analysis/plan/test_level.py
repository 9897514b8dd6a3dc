"""The usual way: a straight line under every top."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from itertools import combinations

import numpy as np
import pytest

from analysis.instrument import Instrument
from analysis.neck.shape import Shape
from analysis.plan.level import level_mm
from analysis.plan.setup import Setup, setup_from
from analysis.rod.rod import RodCase, relief_cases

MakeShape = Callable[..., Shape]


def hull_level(x: np.ndarray, top: np.ndarray) -> float:
    """Least total under all lines through two tops that lie under every other."""
    best = np.inf
    for a, b in combinations(range(x.size), 2):
        slope = (top[b] - top[a]) / (x[b] - x[a])
        over = top - (top[a] + slope * (x - x[a]))
        if over.min() > -1e-12:
            best = min(best, float(over.sum()))
    return best


@pytest.fixture(scope="module")
def uneven(walnut: Instrument, make_shape: MakeShape) -> Callable[[int], tuple[Setup, RodCase]]:
    def make(seed: int) -> tuple[Setup, RodCase]:
        high = 1.1 + np.random.default_rng(seed).normal(0.0, 0.03, (22, 6))
        setup = setup_from(make_shape(walnut, high), walnut)
        return setup, relief_cases(walnut, setup.x_mm)[0]

    return make


@pytest.mark.parametrize("seed", [1, 2, 3, 4])
def test_string_by_string_against_the_convex_hull(
    uneven: Callable[[int], tuple[Setup, RodCase]], seed: int
) -> None:
    setup, rod = uneven(seed)
    off = level_mm(setup, rod, 0.0)
    for s in range(6):
        by_hull = hull_level(setup.x_mm[:, s], setup.top_mm[:, s])
        assert off[:, s].sum() == pytest.approx(by_hull, abs=1e-7)


def test_rod_is_set_where_the_total_is_smallest(
    uneven: Callable[[int], tuple[Setup, RodCase]],
) -> None:
    setup, rod = uneven(5)
    found = level_mm(setup, rod, 0.2).sum()
    tried = []
    for relief in np.linspace(-0.2, 0.2, 81):
        lifted = setup.top_mm + relief * rod.tops
        tried.append(sum(hull_level(setup.x_mm[:, s], lifted[:, s]) for s in range(6)))
    assert found <= min(tried) + 1e-9
    assert found == pytest.approx(min(tried), abs=0.02)


def test_a_straight_neck_needs_none(walnut: Instrument, make_shape: MakeShape) -> None:
    setup = setup_from(make_shape(walnut, relief_mm=0.0, flat_board=True), walnut)
    assert level_mm(setup, relief_cases(walnut, setup.x_mm)[0], 0.2).sum() < 1e-9


def test_what_is_left_is_straight(uneven: Callable[[int], tuple[Setup, RodCase]]) -> None:
    setup, rod = uneven(6)
    left = setup.top_mm - level_mm(setup, rod, 0.0)
    for s in range(6):
        line = np.polyfit(setup.x_mm[:, s], left[:, s], 1)
        np.testing.assert_allclose(np.polyval(line, setup.x_mm[:, s]), left[:, s], atol=1e-9)


def test_unseen_tops_take_no_part(uneven: Callable[[int], tuple[Setup, RodCase]]) -> None:
    setup, rod = uneven(7)
    z = setup.node_z_mm.copy()
    z[7, 4] = np.nan
    off = level_mm(replace(setup, node_z_mm=z), rod, 0.0)
    assert off[7, 2] == 0.0
    seen = np.delete(np.arange(22), 7)
    by_hull = hull_level(setup.x_mm[seen, 2], setup.top_mm[seen, 2])
    assert off[:, 2].sum() == pytest.approx(by_hull, abs=1e-7)
