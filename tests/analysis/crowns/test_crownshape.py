"""The trace over a crown: continuous, tangent, and with the derivatives it says."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from analysis.crowns.trace import trace

RADII = st.floats(0.8, 2.0)
BALLS = st.floats(0.3, 1.5)
FLATS = st.floats(0.0, 0.9)


def depth(x: np.ndarray, radius: float, flat: float, ball: float) -> np.ndarray:
    return trace(x, np.array([radius]), flat, ball).z_mm


@settings(deadline=None, max_examples=60)
@given(RADII, FLATS, BALLS)
def test_joints_are_continuous_and_tangent(radius: float, flat: float, ball: float) -> None:
    half = flat / 2.0
    for joint in (half, half * (1.0 + ball / radius)):
        sides = joint + np.array([-1e-7, 1e-7])
        found = trace(sides, np.array([radius]), flat, ball)
        assert abs(np.diff(found.z_mm)[0]) < 1e-6
        assert abs(np.diff(found.dz_dx)[0]) < 1e-5


@settings(deadline=None, max_examples=60)
@given(RADII, FLATS, BALLS)
def test_derivatives_against_differences(radius: float, flat: float, ball: float) -> None:
    half = flat / 2.0
    joints = np.array([0.0, half, half * (1.0 + ball / radius)])
    x = np.linspace(-0.8 * (radius + ball), 0.8 * (radius + ball), 201)
    x = x[np.abs(np.abs(x)[:, None] - joints).min(axis=1) > 1e-4]
    found = trace(x, np.array([radius]), flat, ball)
    d = 1e-6
    slope = (depth(x + d, radius, flat, ball) - depth(x - d, radius, flat, ball)) / (2 * d)
    np.testing.assert_allclose(found.dz_dx, slope, atol=1e-7, rtol=1e-6)
    # radius moves the outer joint, too: only away from it
    by_radius = (depth(x, radius + d, flat, ball) - depth(x, radius - d, flat, ball)) / (2 * d)
    np.testing.assert_allclose(found.dz_dr, by_radius, atol=1e-6, rtol=1e-6)


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
    both = trace(np.vstack([x, x]), radii, 0.3, 1.0)
    for i, radius in enumerate((1.0, 1.5)):
        np.testing.assert_allclose(both.z_mm[i], depth(x, radius, 0.3, 1.0), atol=1e-15)


def test_far_off_it_stays_a_number() -> None:
    found = trace(np.array([-50.0, 50.0]), np.array([1.2]), 0.3, 1.0)
    assert np.isfinite(found.z_mm).all()
    assert np.isfinite(found.dz_dx).all()
