"""Cone geometry, CHECKS 10: r(x) = 254 + 152.4 x / 500 mm over a straight crown line, sections
perpendicular to it circles; drops in 40-digit decimal arithmetic. Tolerance 1e-9.
"""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from scipy.optimize import minimize_scalar

from analysis.board.arc import fit_arc, sagitta_mm
from analysis.form.across import board_form, fret_radius_mm

X, R, DROP = np.loadtxt(
    Path(__file__).parent / "data" / "conical_surface.csv", delimiter=",", skiprows=2
).T
LANES = np.linspace(-24.0, 24.0, 9)
CONE = fit_arc(
    np.tile(X[:, None], 9),
    np.tile(LANES, (X.size, 1)),
    -(LANES**2) / (R[:, None] + np.sqrt(R[:, None] ** 2 - LANES**2)),
    0.0,
    387.0,
    R[[0, -1]],
)


def drop_mm(x: np.ndarray, y: np.ndarray) -> np.ndarray:
    """Of the cone found, under its crown line."""
    return sagitta_mm(CONE.radius_mm(x), y)


def test_the_fitted_cone_is_the_tables() -> None:
    np.testing.assert_allclose(CONE.radius_mm(X), R, rtol=1e-9)
    # the table prints 12 decimals
    np.testing.assert_allclose(drop_mm(X, np.full_like(X, 20.0)), DROP, atol=1e-9)
    assert board_form(CONE, (0.0, 500.0), 24.0) == "cone"
    assert CONE.twist_mrad(0.0, 500.0)[0] == pytest.approx(0.0, abs=1e-6)


def test_lines_through_the_apex_are_straight() -> None:
    """The apex lies on the crown line at x = -833.333333 mm; y grows with r."""
    apex = -254.0 * 500.0 / 152.4
    assert apex == pytest.approx(-833.333333, abs=1e-6)
    x = np.linspace(0.0, 500.0, 101)
    z = -drop_mm(x, 20.0 * (x - apex) / -apex)
    chord = z[0] + (z[-1] - z[0]) * x / 500.0
    np.testing.assert_allclose(z, chord, atol=1e-9)


def test_a_line_of_constant_y_leaves_its_chord() -> None:
    """By at most 0.034747597 mm, at x = 220.6 mm, at y = 20 (the value is the one at 220.6)."""
    ends = drop_mm(np.array([0.0, 500.0]), np.full(2, 20.0))

    def over_chord(x: float) -> float:
        return float(
            ends[0] + (ends[1] - ends[0]) * x / 500.0 - drop_mm(np.array(x), np.array(20.0))
        )

    most = minimize_scalar(lambda x: -over_chord(x), bounds=(0.0, 500.0), method="bounded")
    assert over_chord(220.6) == pytest.approx(0.034747597, abs=1e-9)
    assert most.x == pytest.approx(220.6, abs=0.05)
    assert -most.fun == pytest.approx(0.034747597, abs=2e-9)


@pytest.mark.parametrize(("radius", "drop"), list(zip(R, DROP, strict=True)))
def test_circle_through_tops_that_drop_as_the_table_says(radius: float, drop: float) -> None:
    """Three tops, at y = -20, 0 and 20: the circle through them is the table's."""
    y = np.array([-20.0, 0.0, 20.0])
    z = np.array([-drop, 0.0, -drop])
    u = np.full(3, 1e-3)
    found, _, lanes = fret_radius_mm(y, z, u, 0.0 * u, np.zeros(3, dtype=bool))
    assert lanes == 3
    assert found == pytest.approx(radius, rel=1e-9)
