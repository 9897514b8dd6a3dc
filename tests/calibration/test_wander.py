"""A line that bends as far as its points ask for."""

from __future__ import annotations

import numpy as np
import pytest

from calibration.clocks.wander import fit_wander

T = np.linspace(0.0, 600.0, 60)
ONE = np.ones_like(T)


def test_points_on_a_line_give_the_line() -> None:
    found = fit_wander(T, 2.0 + 1e-5 * T, ONE, 1e-4)
    at = np.array([0.0, 123.0, 900.0])
    np.testing.assert_allclose(found.at(at), 2.0 + 1e-5 * at, atol=1e-9)
    assert found.scatter < 1e-9


def test_scatter_about_a_line_is_not_taken_for_bending() -> None:
    straight = 0
    for seed in range(60):
        rng = np.random.default_rng(seed)
        found = fit_wander(T, 3e-5 * T + rng.normal(0.0, 1e-5, T.size), ONE, 1e-4)
        straight += found.bending == 0.0
    assert straight > 50


def test_the_line_is_that_of_weighted_least_squares() -> None:
    rng = np.random.default_rng(4)
    weight = rng.uniform(0.5, 2.0, T.size)
    y = 1.0 + 1e-3 * T + rng.normal(0.0, 1.0, T.size) / weight
    found = fit_wander(T, y, weight, 1e-4)
    assert found.bending == 0.0
    line, covariance = np.polyfit(T, y, 1, w=weight, cov=True)
    np.testing.assert_allclose(found.at(T), np.polyval(line, T), atol=1e-9)
    powers = np.column_stack([T, ONE])
    own = np.sqrt(np.einsum("ij,jk,ik->i", powers, covariance, powers))
    np.testing.assert_allclose(found.u_at(T), own, rtol=1e-6)


def test_a_bend_is_followed_with_an_uncertainty_that_says_how_well() -> None:
    bend = 5e-4 * np.sin(T / 200.0)
    inside = []
    for seed in range(40):
        rng = np.random.default_rng(seed)
        found = fit_wander(T, bend + rng.normal(0.0, 1e-5, T.size), ONE, 1e-4)
        assert found.bending > 0.0
        at = np.linspace(5.0, 595.0, 40)
        off = found.at(at) - 5e-4 * np.sin(at / 200.0)
        assert np.max(np.abs(off)) < 4e-5
        inside.append(np.mean(np.abs(off) < 2.0 * found.u_at(at)))
    assert np.mean(inside) > 0.9


def test_a_bend_beyond_what_a_clock_can_do_is_scatter() -> None:
    """A hundredth of a second in the middle of ten minutes: a busy host, not a crystal."""
    rng = np.random.default_rng(9)
    busy = np.where(np.abs(T - 300.0) < 40.0, 1e-2, 0.0) + rng.normal(0.0, 1e-5, T.size)
    found = fit_wander(T, busy, ONE, 1e-6)
    assert np.ptp(found.at(T)) < 1e-3
    assert found.scatter > 2e-3


def test_too_few_points() -> None:
    with pytest.raises(ValueError, match="3 points"):
        fit_wander(T[:3], T[:3], ONE[:3], 1e-4)
