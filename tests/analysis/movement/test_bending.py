"""What the movement is made of: beams, twist and the arch across."""

from __future__ import annotations

import numpy as np
import pytest

from analysis.movement.bending import Basis, Part

X = np.linspace(36.0, 460.0, 60)
BASIS = Basis.over(np.array([36.0, 460.0]), np.array([-20.0, 20.0]), 387.0)


@pytest.mark.parametrize("part", [BASIS.bends, BASIS.turns])
@pytest.mark.parametrize("derivative", [1, 2])
def test_rows_are_derived(part: Part, derivative: int) -> None:
    """Against central differences, away from the places where something begins."""
    begins = np.concatenate([part.loads_mm, part.joint_mm])
    x = X[np.min(np.abs(X[:, None] - begins), axis=1) > 0.5]
    h = 0.1
    below = part.rows(x - h, derivative - 1)
    found = (part.rows(x + h, derivative - 1) - below) / (2.0 * h)
    np.testing.assert_allclose(part.rows(x, derivative), found, atol=1e-7, rtol=1e-4)


def test_a_bend_has_no_step_and_no_corner_but_may_jump_in_curvature() -> None:
    """Deflection and slope are continuous everywhere; f'' jumps about the joint, nowhere else;
    a turn jumps in slope there."""
    for part, smooth in ((BASIS.bends, 2), (BASIS.turns, 1)):
        for place in (part.joint_mm[4], part.loads_mm[30]):
            sides = np.array([place - 1e-6, place + 1e-6])
            for derivative in range(smooth):
                low, high = part.rows(sides, derivative)
                np.testing.assert_allclose(low, high, atol=1e-6)
        low, high = part.rows(np.array([part.joint_mm[4] - 1e-6, part.joint_mm[4] + 1e-6]), smooth)
        assert np.max(np.abs(high - low)) > 1e-5


def test_the_free_part_is_what_no_load_does() -> None:
    """A cubic along the neck and an even twist cost nothing: they are in the free columns."""
    free, turned = BASIS.groups[0], sum(BASIS.groups[:3])
    rows = BASIS.rows(X, np.full(X.size, 13.0))
    own = np.hstack([rows[:, :free], rows[:, turned : turned + 2]])
    for wanted in (X**3 * 1e-8, 13.0 * (0.001 + 1e-5 * X)):
        fit, *_ = np.linalg.lstsq(own, wanted, rcond=None)
        np.testing.assert_allclose(own @ fit, wanted, atol=1e-9)


def test_the_arch_follows_the_bend() -> None:
    """-y^2/2 f'': a bend of curvature 1.2e-5 / mm and a ratio of 0.4 are 1.5 um at 25 mm."""
    coefficients = np.zeros(sum(BASIS.groups))
    coefficients[2] = 0.5 * 1.2e-5 * 100.0**2
    bent = BASIS.bent(coefficients)
    arch = bent.rows(X, np.full(X.size, 25.0))[:, -1]
    np.testing.assert_allclose(0.4 * arch, -0.4 * 0.5 * 25.0**2 * 1.2e-5)
    assert not BASIS.rows(X, np.full(X.size, 25.0))[:, -1].any()
