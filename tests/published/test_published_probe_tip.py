"""Probe tip: dilation by a ball (idea of ISO 16610-40 and -41), exact answers in CHECKS 5.3."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest

from analysis.board.arc import ball_on_slope_mm
from analysis.crowns.trace import Eye, trace
from calibration.probe.erosion import erode

BALL = Eye(0.5, 0.0)
CURVATURE = BALL.curvature(np.array([1.5]))
Ride = Callable[[np.ndarray, float, float], np.ndarray]


def test_round_crown_looks_wider_by_the_ball() -> None:
    """R = 1.5, ball 0.5: an arc of radius 2.0 with the same top."""
    x = np.linspace(-1.0, 1.0, 2001)
    found = trace(x, CURVATURE, 0.0, BALL).z_mm
    np.testing.assert_allclose(found, np.sqrt(4.0 - x**2) - 2.0, atol=1e-15)


@pytest.mark.parametrize("flat", [0.0, 0.2, 0.6])
def test_trace_is_the_discrete_dilation(ride: Ride, flat: float) -> None:
    """Agrees within 4e-7 at a 0.001 grid."""
    step = 0.001
    x = np.arange(-1400, 1401) * step
    top = np.sqrt(1.5**2 - (flat / 2.0) ** 2)
    surface = np.minimum(np.sqrt(1.5**2 - x**2) - top, 0.0)
    middle = np.abs(x) < 0.7
    found = trace(x[middle], CURVATURE, flat, BALL).z_mm
    np.testing.assert_allclose(found, ride(surface, step, 0.5)[middle], atol=4e-7)


def test_ball_in_a_groove(ride: Ride) -> None:
    """Flanks at 30 degrees, ball 0.5: it stays 0.077350269 above the bottom."""
    step = 0.001
    x = np.arange(-2000, 2001) * step
    groove = np.abs(x) * np.tan(np.radians(30.0))
    ridden = ride(groove, step, 0.5)
    assert ridden[2000] == pytest.approx(0.077350269, abs=4e-7)
    found = erode(x, ridden, 0.5)
    # the ball touches the flanks at 0.5 sin 30 to each side, and nothing between
    np.testing.assert_allclose(np.abs(x[found.bridged]).max(), 0.25, atol=2.1 * step)
    touched = (np.abs(x) > 0.251) & (np.abs(x) < 1.5)
    np.testing.assert_allclose(found.z_mm[touched], groove[touched], atol=1e-6)
    assert not found.bridged[touched].any()


def test_ball_on_a_slope() -> None:
    """On a flank of 30 degrees a ball rides rho (1 / cos 30 - 1) high: 0.077350269."""
    slope = np.array(np.tan(np.radians(30.0)))
    assert ball_on_slope_mm(slope, 0.5) == pytest.approx(0.077350269, abs=5e-10)
