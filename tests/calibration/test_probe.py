"""Taking the ball off its trace. Exact examples: tests/published."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from calibration.probe.erosion import erode

Ride = Callable[[np.ndarray, float, float], np.ndarray]
STEP = 0.02
X = np.arange(0.0, 20.0, STEP)
INSIDE = (X > 1.5) & (X < 18.5)


@settings(deadline=None, max_examples=40)
@given(st.lists(st.floats(-0.2, 0.2), min_size=12, max_size=12), st.floats(0.3, 1.4))
def test_what_comes_back_is_the_closing(ride: Ride, knots: list[float], ball: float) -> None:
    """Never under the surface, never over the trace, and it makes the same trace again."""
    surface = np.interp(X, np.linspace(0.0, 20.0, 12), knots)
    traced = ride(surface, STEP, ball)
    found = erode(X, traced, ball)
    assert np.all(found.z_mm >= surface - 1e-9)
    assert np.all(found.z_mm <= traced + 1e-12)
    np.testing.assert_allclose(ride(found.z_mm, STEP, ball)[INSIDE], traced[INSIDE], atol=1e-9)


def test_a_wide_shape_comes_back_whole(ride: Ride) -> None:
    surface = 0.3 * np.sin(X)  # tightest hollow: radius 3.3
    found = erode(X, ride(surface, STEP, 1.0), 1.0)
    np.testing.assert_allclose(found.z_mm[INSIDE], surface[INSIDE], atol=1e-4)
    assert not found.bridged[INSIDE].any()


def test_widths_come_back(ride: Ride) -> None:
    """A plateau 2 mm wide looks wider by the ball and is 2 mm again."""
    surface = np.where(np.abs(X - 10.0) <= 1.0, 0.1, 0.0)
    traced = ride(surface, STEP, 1.0)
    found = erode(X, traced, 1.0)

    def width(z: np.ndarray) -> float:
        return STEP * np.count_nonzero(z > 0.09)

    assert width(traced) > 2.2
    assert width(found.z_mm) == pytest.approx(2.0, abs=0.1)


@pytest.mark.parametrize("half", [0.2, 0.4])
def test_a_dent_narrower_than_the_ball_is_bridged(ride: Ride, half: float) -> None:
    surface = np.where(np.abs(X - 10.0) < half, -0.5, 0.0)
    found = erode(X, ride(surface, STEP, 1.0), 1.0)
    bridged = X[found.bridged & INSIDE]
    assert bridged.min() == pytest.approx(10.0 - half, abs=2.1 * STEP)
    assert bridged.max() == pytest.approx(10.0 + half, abs=2.1 * STEP)
    # the arc of the ball hangs into it, and no deeper
    sag = 1.0 - np.sqrt(1.0 - half**2)
    assert found.z_mm[found.bridged].min() == pytest.approx(-sag, abs=2e-3)


def test_noise_is_no_bridge() -> None:
    z = np.random.default_rng(1).normal(0.0, 0.001, 10_000)
    found = erode(0.0625 * np.arange(10_000), z, 1.0)
    assert np.mean(found.bridged) < 0.1


def test_missing_readings_stay_missing_and_bind_nothing(ride: Ride) -> None:
    traced = ride(0.3 * np.sin(X), STEP, 1.0)
    holed = np.where((X > 9.0) & (X < 9.1), np.nan, traced)
    found = erode(X, holed, 1.0)
    assert np.isnan(found.z_mm[np.isnan(holed)]).all()
    assert np.isfinite(found.z_mm[~np.isnan(holed)]).all()
    assert not found.bridged[np.isnan(holed)].any()
    whole = erode(X, traced, 1.0).z_mm
    seen = np.isfinite(holed)
    assert np.all(found.z_mm[seen] >= whole[seen] - 1e-12)


def test_uneven_steps_and_balls_of_no_size_are_refused() -> None:
    with pytest.raises(ValueError, match="uneven"):
        erode(np.array([0.0, 1.0, 3.0]), np.zeros(3), 1.0)
    with pytest.raises(ValueError, match="uneven"):
        erode(np.array([1.0, 0.0, -1.0]), np.zeros(3), 1.0)
    with pytest.raises(ValueError, match="ball_mm: found 0"):
        erode(np.arange(3.0), np.zeros(3), 0.0)
