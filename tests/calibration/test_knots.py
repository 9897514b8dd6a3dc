"""The spline written out for even knots, against a general one."""

from __future__ import annotations

import numpy as np
from scipy.interpolate import BSpline, make_lsq_spline

from calibration.lag.knots import KnotLine


def test_values_and_slopes_are_those_of_a_general_spline() -> None:
    rng = np.random.default_rng(1)
    place = rng.uniform(10.0, 30.0, 2000)
    line = KnotLine.over(place, 0.3)
    settled = line.settle(place, np.ones(place.size))
    count = line.knots.size - 4
    amounts = rng.normal(size=count)
    general = BSpline(line.knots, amounts, 3)
    around = amounts[settled.spline]
    np.testing.assert_allclose((settled.values * around).sum(axis=0), general(place), atol=1e-12)
    slope = general.derivative()(place)
    np.testing.assert_allclose((settled.slopes * around).sum(axis=0), slope, atol=1e-11)


def test_a_fit_is_the_weighted_least_squares_one() -> None:
    rng = np.random.default_rng(2)
    place = np.sort(rng.uniform(0.0, 20.0, 3000))
    weight = rng.uniform(0.5, 2.0, place.size)
    height = np.sin(place) + rng.normal(0.0, 0.1, place.size)
    line = KnotLine(np.arange(-3.0, 24.0), 1.0)
    settled = line.settle(place, weight)
    wanted = make_lsq_spline(place, height, line.knots, 3, w=np.sqrt(weight))
    level, slope = settled.curve(height)
    np.testing.assert_allclose(level, wanted(place), atol=1e-6)
    np.testing.assert_allclose(slope, wanted.derivative()(place), atol=1e-6)
    columns = np.column_stack([height, np.ones_like(height)])
    left = settled.rid(columns)
    np.testing.assert_allclose(left[:, 0], height - wanted(place), atol=1e-6)
    # a spline takes up what is even altogether
    np.testing.assert_allclose(left[:, 1], 0.0, atol=1e-6)


def test_places_beyond_the_knots_count_as_on_their_ends() -> None:
    line = KnotLine(np.arange(-3.0, 14.0), 1.0)
    settled = line.settle(np.array([-5.0, 0.0, 10.0, 50.0]), np.ones(4))
    np.testing.assert_allclose(settled.values.sum(axis=0), 1.0)
    np.testing.assert_array_equal(settled.spline[:, 0], settled.spline[:, 1])
    np.testing.assert_array_equal(settled.spline[-1, 2:], line.knots.size - 5)
