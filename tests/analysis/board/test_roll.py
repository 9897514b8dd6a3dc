"""The smooth roll along the neck: a line and a hinge exactly, a curve with an honest u."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from analysis.board.roll import smooth_roll

X = np.concatenate([[18.0], 641.0 * (1.0 - 2.0 ** (-np.arange(1.5, 22.0) / 12.0))])
JOINT = 387.0
ONE = np.ones_like(X)


@settings(deadline=None, max_examples=40)
@given(st.floats(-5e-3, 5e-3), st.floats(-1e-5, 1e-5), st.floats(-2e-5, 2e-5))
def test_a_line_with_a_hinge_at_the_joint_is_found_exactly(
    offset: float, slope: float, turn: float
) -> None:
    def true(x: np.ndarray) -> np.ndarray:
        return offset + slope * x + turn * np.clip(x - JOINT, 0.0, None)

    found = smooth_roll(X, true(X), ONE, JOINT)
    np.testing.assert_allclose(found.at(X), true(X), atol=2e-7)
    assert found.between(0.0, JOINT)[0] == pytest.approx(slope * JOINT, abs=2e-7)
    assert found.between(0.0, JOINT)[1] < 1e-6


def _twisted(rng: np.random.Generator) -> tuple[float, float, float]:
    """A neck that turns more where it is thin and is held by the body: found less true, u, and
    what four powers of x make of it."""
    share = np.clip(X / JOINT, 0.0, 1.0)
    amount = rng.uniform(-2e-3, 2e-3)
    true = amount * ((1.0 + 0.28 * share) ** -3 - 1.0)
    at_joint = amount * (1.28**-3 - 1.0)
    roll = true + rng.normal(0.0, 2.5e-5, X.size)
    twist, u = smooth_roll(X, roll, ONE, JOINT).between(0.0, JOINT)
    powers = np.polyfit(X, roll, 3)
    return twist - at_joint, u, float(np.diff(np.polyval(powers, [0.0, JOINT]))[0]) - at_joint


def test_uncertainty_covers_and_beats_four_powers() -> None:
    rng = np.random.default_rng(3)
    off, u, powers = np.array([_twisted(rng) for _ in range(200)]).T
    assert 0.92 <= np.mean(np.abs(off) <= 2.0 * u) <= 1.0
    assert np.sqrt(np.mean(off**2)) < 0.85 * np.sqrt(np.mean(powers**2))
    # honest is not merely wide
    assert np.median(u) < 2.5 * np.std(off)


def test_a_curve_is_followed_where_there_is_one() -> None:
    true = 1e-3 * np.sin(X / 110.0)
    found = smooth_roll(X, true + np.random.default_rng(1).normal(0.0, 1e-5, X.size), ONE, JOINT)
    assert np.max(np.abs(found.at(X) - true)) < 4e-5


def test_weights_count() -> None:
    rng = np.random.default_rng(2)
    u = np.where(np.arange(X.size) % 2 == 0, 1.0, 30.0)
    off = []
    for _ in range(40):
        roll = 2e-6 * X + 1e-5 * u * rng.normal(size=X.size)
        off.append(smooth_roll(X, roll, u, JOINT).between(0.0, JOINT)[0] - 2e-6 * JOINT)
    assert np.std(off) < 4e-5


def test_few_gaps() -> None:
    """One tells no change, two or three a line, none past the joint no hinge."""
    assert smooth_roll(X[:1], ONE[:1] * 1e-3, ONE[:1], JOINT).between(0.0, JOINT)[1] > 1.0
    for count in (2, 3, 6):
        found = smooth_roll(X[:count], 1e-5 * X[:count], ONE[:count], JOINT)
        assert found.between(20.0, 50.0)[0] == pytest.approx(3e-4, rel=1e-3)
        assert np.isfinite(found.covariance).all()
