"""A surface about another line, and the uncertainty of a chord."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest

from calibration.passes import Pad
from calibration.profile import Profile
from calibration.rail.across import about_line, across_only, line_estimate
from calibration.rail.estimate import UNSEEN_MM, estimate, independent, long_covariance, polynomials
from calibration.rail.map import RailMap
from calibration.rail.sums import RailSums
from calibration.rail.surface import RailSurface, fit_surface

Array = np.ndarray


def bow(x: Array) -> Array:
    return 0.05 * ((x - 200.0) / 150.0) ** 2


def roll(x: Array) -> Array:
    return 2e-4 * np.sin(x / 60.0)


@pytest.fixture
def surface(make_profile: Callable[..., Profile], pads: tuple[Pad, ...]) -> RailSurface:
    rng = np.random.default_rng(8)
    x = np.arange(40.0, 360.0, 0.0625)
    rows = [
        (y, [make_profile(x, bow(x) + y * roll(x) + rng.normal(0.0, 0.002, x.size))])
        for y in (-20.0, 0.0, 20.0)
    ]
    return fit_surface(rows, pads, 1.0)


def test_the_line_of_a_surface(surface: RailSurface) -> None:
    found = line_estimate(surface, 1.0)
    off = found.r_mm - bow(found.x_mm)
    assert np.std(off - np.polyval(np.polyfit(found.x_mm, off, 1), found.x_mm)) < 0.6e-3
    # the straightedge bends: its ends are in doubt by more than its rms, all in all it is as good
    assert np.sqrt(np.mean(found.u_seen_mm**2)) == pytest.approx(1.1e-3, abs=0.1e-3)
    assert any("twist" in word for word in found.unseen)


def test_about_a_better_line(surface: RailSurface) -> None:
    x = np.arange(30.25, 400.0, 0.5)
    found = about_line(surface, RailMap(x, np.cos(x / 50.0), np.full(x.size, 2e-4)))
    value, u = found.at(x, np.zeros(x.size))
    np.testing.assert_allclose(value, np.cos(x / 50.0), atol=1e-9)
    np.testing.assert_allclose(u, 2e-4)
    inside = (x > 45.0) & (x < 355.0)
    aside = (found.at(x, np.full(x.size, 15.0))[0] - value - 15.0 * roll(x))[inside]
    assert np.std(aside - np.polyval(np.polyfit(x[inside], aside, 1), x[inside])) < 0.6e-3
    # 40 mm beyond the surface its roll is worth 40 µm at the outermost row
    assert found.at(np.array([399.0]), np.array([20.0]))[1][0] == pytest.approx(0.041, abs=0.002)


def test_only_what_changes_across(surface: RailSurface) -> None:
    found = across_only(surface)
    x = surface.x_mm
    value, u = found.at(x, np.zeros(x.size))
    assert np.all(value == 0.0)
    assert np.all(u == 0.0)
    at_15 = found.at(x, np.full(x.size, 15.0))[0]
    np.testing.assert_allclose(at_15, 15.0 * surface.terms[1], atol=1e-12)


def test_the_uncertainty_of_a_chord() -> None:
    """By Monte Carlo: what errs together along the rail counts together."""
    x = np.arange(60.25, 360.0, 0.5)
    joint = independent(np.full(x.size, 5e-4)) + long_covariance(x, 2e-3)
    found = estimate("edge", x, bow(x), joint, polynomials(x, 1), ())
    places, weights = np.array([100.1, 200.0, 320.7]), np.array([-0.547, 1.0, -0.453])
    rng = np.random.default_rng(1)
    values, modes = np.linalg.eigh(joint)
    errors = rng.normal(size=(4000, x.size)) * np.sqrt(np.clip(values, 0.0, None)) @ modes.T
    depth = np.array([weights @ np.interp(places, x, error) for error in errors])
    # 2 % is two standard deviations of a spread from 4000
    assert RailSums.of(found).u_of_sum_mm(places, weights) == pytest.approx(np.std(depth), rel=0.04)


def test_a_bow_that_nobody_sees_is_in_a_chord_and_a_slope_is_not() -> None:
    x = np.arange(60.25, 360.0, 0.5)
    joint = independent(np.full(x.size, 1e-6))
    blind, line = (
        estimate("some", x, bow(x), joint, polynomials(x, degree), ()) for degree in (2, 1)
    )
    ends = np.array([60.25, 210.0, 359.75]), np.array([-0.5, 1.0, -0.5])
    # the second Legendre shape of rms 1 is 2.236 at the ends and -1.118 in the middle
    assert RailSums.of(blind).u_of_sum_mm(*ends) == pytest.approx(3.354 * UNSEEN_MM, rel=0.01)
    assert RailSums.of(line).u_of_sum_mm(*ends) < 1e-5
