"""The trace over a crown: continuous, tangent, and with the derivatives it says."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from analysis.crowns.trace import Eye, Trace, trace

RADII = st.floats(0.8, 2.0)
BALLS = st.floats(0.3, 1.5)
FLATS = st.floats(0.0, 0.9)


def over(x: np.ndarray, radius: float, flat: float, ball: float, spot: float = 0.0) -> Trace:
    eye = Eye(ball, spot)
    return trace(x, eye.curvature(np.array([radius])), flat, eye)


def depth(x: np.ndarray, radius: float, flat: float, ball: float, spot: float = 0.0) -> np.ndarray:
    return over(x, radius, flat, ball, spot).z_mm


@settings(deadline=None, max_examples=60)
@given(RADII, FLATS, BALLS)
def test_joints_are_continuous_and_tangent(radius: float, flat: float, ball: float) -> None:
    half = flat / 2.0
    for joint in (half, half * (1.0 + ball / radius)):
        sides = joint + np.array([-1e-7, 1e-7])
        found = over(sides, radius, flat, ball)
        assert abs(np.diff(found.z_mm)[0]) < 1e-6
        assert abs(np.diff(found.by_x)[0]) < 1e-5


TIPS = st.one_of(st.tuples(BALLS, st.just(0.0)), st.tuples(st.just(0.0), st.floats(0.02, 0.3)))


@settings(deadline=None, max_examples=100)
@given(RADII, FLATS, TIPS)
def test_derivatives_against_differences(
    radius: float, flat: float, tip: tuple[float, float]
) -> None:
    ball, spot = tip
    half = flat / 2.0
    joints = np.array([0.0, half, half * (1.0 + ball / radius)])
    joints = np.concatenate([joints - spot / 2, joints + spot / 2])
    reach = 0.8 * (radius + ball) - spot
    x = np.linspace(-reach, reach, 201)
    x = x[np.abs(np.abs(x)[:, None] - np.abs(joints)).min(axis=1) > 1e-4]
    eye, d = Eye(ball, spot), 1e-6
    bend = eye.curvature(np.array([radius]))
    found = trace(x, bend, flat, eye)

    def slope(ahead: Trace, behind: Trace, step: float) -> np.ndarray:
        return (ahead.z_mm - behind.z_mm) / step

    by_x = slope(trace(x + d, bend, flat, eye), trace(x - d, bend, flat, eye), 2 * d)
    np.testing.assert_allclose(found.by_x, by_x, atol=1e-7, rtol=1e-6)
    by_bend = slope(trace(x, bend + d, flat, eye), trace(x, bend - d, flat, eye), 2 * d)
    np.testing.assert_allclose(found.by_curvature, by_bend, atol=1e-6, rtol=1e-6)
    by_flat = slope(trace(x, bend, flat + d, eye), trace(x, bend, flat, eye), d)
    np.testing.assert_allclose(found.by_flat, by_flat, atol=3e-5, rtol=1e-4)


@settings(deadline=None, max_examples=40)
@given(RADII, FLATS, st.floats(0.02, 0.3))
def test_a_spot_sees_the_mean_under_it(radius: float, flat: float, spot: float) -> None:
    inside = spot * ((np.arange(2000) + 0.5) / 2000 - 0.5)
    reach = 0.9 * radius - spot
    x = np.linspace(-reach, reach, 41)
    mean = depth(x[:, None] + inside, radius, flat, 0.0).mean(axis=1)
    np.testing.assert_allclose(depth(x, radius, flat, 0.0, spot), mean, atol=2e-7)


def test_a_spot_takes_the_top_off_a_round_crown() -> None:
    """spot^2 / (24 radius), the leading order for a spot bright all over alike."""
    for spot in (0.05, 0.1, 0.2):
        found = -depth(np.zeros(1), 1.2, 0.0, 0.0, spot)[0]
        assert found == pytest.approx(spot**2 / (24.0 * 1.2), rel=2e-3)


@settings(deadline=None, max_examples=60)
@given(RADII, FLATS, BALLS)
def test_even_at_most_zero_and_falling(radius: float, flat: float, ball: float) -> None:
    x = np.linspace(0.0, 0.9 * (radius + ball), 300)
    z = depth(x, radius, flat, ball)
    np.testing.assert_array_equal(z, depth(-x, radius, flat, ball))
    assert z[0] == pytest.approx(0.0, abs=1e-12)
    assert np.all(np.diff(z) <= 1e-12)


def test_wider_flats_lie_higher_beside_the_top() -> None:
    x = np.linspace(-1.0, 1.0, 101)
    assert np.all(depth(x, 1.2, 0.4, 1.0) >= depth(x, 1.2, 0.1, 1.0) - 1e-12)


def test_a_point_sees_the_crown_itself() -> None:
    x = np.linspace(-0.9, 0.9, 181)
    sunk = 1.2 - np.sqrt(1.2**2 - 0.2**2)
    true = np.minimum(0.0, np.sqrt(1.2**2 - x**2) - 1.2 + sunk)
    np.testing.assert_allclose(depth(x, 1.2, 0.4, 0.0), true, atol=1e-12)


def test_many_crowns_at_once() -> None:
    x = np.linspace(-1.0, 1.0, 41)
    radii = np.array([[1.0], [1.5]])
    eye = Eye(1.0)
    both = trace(np.vstack([x, x]), eye.curvature(radii), np.array([[0.3], [0.5]]), eye)
    for i, (radius, flat) in enumerate(((1.0, 0.3), (1.5, 0.5))):
        np.testing.assert_allclose(both.z_mm[i], depth(x, radius, flat, 1.0), atol=1e-15)


def test_far_off_it_stays_a_number() -> None:
    found = over(np.array([-50.0, 50.0]), 1.2, 0.3, 1.0)
    assert np.isfinite(found.z_mm).all()
    assert np.isfinite(found.by_x).all()
