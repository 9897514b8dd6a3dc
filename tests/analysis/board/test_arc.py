"""Cone, twist and roll across the board."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from analysis.board.arc import FLAT_MM, Arc, ball_on_slope_mm, fit_arc, sagitta_mm
from analysis.board.climb import climb_of

X = np.linspace(20.0, 450.0, 22)[:, None] * np.ones(11)
Y = np.linspace(-1.0, 1.0, 11) * (18.0 + X / 50.0)


JOINT = 387.0
#: Radii of a file that has nothing to do with the board: it says nothing of the tip.
OTHER_MM = np.array([1e3, 2e3])
BEFORE = climb_of(OTHER_MM, np.full((2, 2), np.nan), OTHER_MM, 1.0)
LEFT = 1.0 - BEFORE.share


def arc_of(z: np.ndarray) -> Arc:
    """Read with a ball of 1 mm."""
    return fit_arc(X, Y, z, 1.0, JOINT, OTHER_MM)


def board(nut: float, last: float, roll_mrad: float, twist: float, ball: float) -> np.ndarray:
    """A ball over a cone with roll and twist and a bow nobody knows."""
    radius = nut + (last - nut) * X / 450.0 + ball
    bow = 0.3 * np.sin(X / 60.0)
    arc = radius - np.sqrt(radius**2 - Y**2)
    return bow + 1e-3 * (roll_mrad + twist * X) * Y - arc


@settings(deadline=None, max_examples=30)
@given(st.floats(150.0, 500.0), st.floats(150.0, 500.0), st.floats(-10, 10), st.floats(-0.02, 0.02))
def test_cone_twist_and_roll_are_recovered(
    nut: float, last: float, roll: float, twist: float
) -> None:
    found = arc_of(board(nut, last, roll, twist, 1.0))
    # not all of the ball is taken off: whether it climbs across is not known
    assert found.nut_radius_mm == pytest.approx(nut + LEFT, rel=1e-4)
    assert found.last_radius_mm == pytest.approx(last + LEFT, rel=1e-4)
    assert found.twist_mrad(30.0, 400.0)[0] == pytest.approx(370.0 * twist, abs=1e-3)
    slope = 1e-3 * (roll + twist * X) - Y / (nut + LEFT + (last - nut) * X / 450.0)
    np.testing.assert_allclose(found.slope(X, Y), slope, atol=1e-5)


def test_most_of_the_ball_is_taken_off_the_radius_and_u_covers_the_rest() -> None:
    z = board(241.0, 355.0, 0.0, 0.0, 3.0)
    assert fit_arc(X, Y, z, 3.0, JOINT, OTHER_MM).nut_radius_mm == pytest.approx(
        241.0 + 3.0 * LEFT, rel=1e-4
    )
    assert fit_arc(X, Y, z, 0.0, JOINT, OTHER_MM).nut_radius_mm == pytest.approx(244.0, rel=1e-4)
    assert fit_arc(X, Y, z, 3.0, JOINT, OTHER_MM).u_radius_mm(0.0) == pytest.approx(
        3.0 * BEFORE.u_share, rel=1e-3
    )


def test_a_board_that_is_as_its_file_says_tells_how_the_tip_climbs() -> None:
    made = np.array([241.0, 355.0])
    for climbs in (0.0, 1.0):
        found = fit_arc(X, Y, board(241.0, 355.0, 1.0, 0.005, climbs), 1.0, JOINT, made)
        assert found.climb.share == pytest.approx(climbs, abs=0.1)
        assert found.nut_radius_mm == pytest.approx(241.0, abs=0.11)
        assert found.u_tip_mm < 0.25


def test_radius_uncertainty_covers() -> None:
    rng = np.random.default_rng(2)
    off = []
    for _ in range(100):
        z = board(241.0, 355.0, 1.0, 0.005, 0.0) + rng.normal(0.0, 0.003, X.shape)
        found = fit_arc(X, Y, z, 0.0, JOINT, OTHER_MM)
        off.append((found.nut_radius_mm - 241.0) / found.u_radius_mm(0.0))
        off.append((float(found.radius_mm(np.array(450.0))) - 355.0) / found.u_radius_mm(450.0))
    assert 0.85 < np.std(off) < 1.2
    assert abs(np.mean(off)) < 0.3


def test_a_turn_that_is_no_smooth_curve_does_not_leak_into_the_cone() -> None:
    z = board(241.0, 355.0, 1.0, 0.005, 1.0)
    rough = np.random.default_rng(1).normal(0.0, 1e-3, (X.shape[0], 1))
    assert arc_of(z + rough * Y).last_radius_mm == pytest.approx(355.0 + LEFT, rel=1e-4)


def test_twist_uncertainty_covers() -> None:
    rng = np.random.default_rng(1)
    off = []
    for _ in range(100):
        z = board(241.0, 355.0, 1.0, 0.005, 1.0) + rng.normal(0.0, 0.003, X.shape)
        twist, u = arc_of(z).twist_mrad(36.0, 390.0)
        off.append((twist - 0.005 * 354.0) / u)
    assert 0.7 < np.std(off) < 1.25
    assert abs(np.mean(off)) < 0.35


def test_missing_gaps_are_left_out() -> None:
    z = board(241.0, 355.0, 1.0, 0.004, 1.0)
    z[::3, ::2] = np.nan
    found = arc_of(z)
    assert found.last_radius_mm == pytest.approx(355.0 + LEFT, rel=1e-3)


def test_a_bow_under_fanned_frets_is_no_twist() -> None:
    """Lanes cross a gap up to 9 mm apart along the neck; the bow slopes by 2 mrad there."""
    fanned = X + np.linspace(1.0, -1.0, 11) * (X - 215.0) / 50.0
    bow = 0.3 * ((fanned - 200.0) / 200.0) ** 2
    radius = 241.0 + 114.0 * fanned / 450.0
    arc = radius - np.sqrt(radius**2 - Y**2)
    z = bow + 1e-3 * (1.0 + 0.004 * fanned) * Y - arc
    found = fit_arc(fanned, Y, z, 0.0, JOINT, OTHER_MM)
    assert found.twist_mrad(30.0, 400.0)[0] == pytest.approx(370.0 * 0.004, abs=0.02)
    assert found.nut_radius_mm == pytest.approx(241.0, rel=2e-3)


def test_two_lanes_show_no_arc_but_a_twist() -> None:
    lanes = [0, 10]
    z = board(1e7, 1e7, 1.0, 0.004, 0.0)[:, lanes]
    found = fit_arc(X[:, lanes], Y[:, lanes], z, 1.0, JOINT, OTHER_MM)
    assert found.nut_radius_mm > 0.9 * FLAT_MM
    assert found.twist_mrad(0.0, 400.0)[0] == pytest.approx(1.6, abs=0.01)


def test_a_flat_board_is_flat() -> None:
    found = arc_of(board(1e7, 1e7, 0.0, 0.0, 0.0))
    assert min(found.nut_radius_mm, found.last_radius_mm) > 1e4


def test_radius_stays_round_past_the_ends() -> None:
    found = arc_of(board(241.0, 355.0, 0.0, 0.0, 1.0))
    assert np.all(found.radius_mm(np.array([-5000.0, 0.0, 5000.0])) >= 20.0)


@settings(deadline=None, max_examples=50)
@given(st.floats(50.0, 1e6), st.floats(0.0, 40.0))
def test_sagitta_is_on_the_circle(radius: float, y: float) -> None:
    s = float(sagitta_mm(np.array(radius), np.array(y)))
    assert (radius - s) ** 2 + y**2 == pytest.approx(radius**2, rel=1e-12)


def test_ball_correction_at_the_outer_strings(make_neck: Callable[..., Any], walnut: Any) -> None:
    """Read through the ball, the outer string's top is 5 um high; the correction is that."""
    neck = make_neck(walnut)
    x = walnut.fret_x_mm(np.array([16.0]), 1.0)
    y = walnut.string_y_mm(1.0, x)
    read = np.max(neck.ridden_mm(x + np.linspace(-0.1, 0.1, 201), 1.0, 1.0))
    high = read - neck.top_mm(1.0)[15]
    assert high > 2e-3
    assert ball_on_slope_mm(-y * neck.curvature(x), 1.0)[0] == pytest.approx(high, abs=2e-4)
