"""Straightness against both reference lines of ISO 12780-1:2011: exact answers of CHECKS 5.1
(own constructions; profile A's zone is Chebyshev's T3). Tolerance 1e-9.
"""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from scipy.optimize import linprog

from calibration.rail.straightness import straightness

DATA = Path(__file__).parent / "data" / "straightness_examples.csv"
ROWS = [line.split(",") for line in DATA.read_text().splitlines()[2:]]
A, B = (np.array([[float(r[1]), float(r[2])] for r in ROWS if r[0] == name]).T for name in "AB")


def test_a_cubic() -> None:
    found = straightness(*A)
    assert found.slope == pytest.approx(59 / 80, abs=1e-9)
    assert found.span == pytest.approx(21 / 40, abs=1e-9)
    assert found.rms == pytest.approx(np.sqrt(99 / 2560), abs=1e-9)
    assert found.zone_slope == pytest.approx(0.75, abs=1e-9)
    assert found.zone == pytest.approx(0.5, abs=1e-9)
    assert found.zone_offset == pytest.approx(0.0, abs=1e-9)


def test_b_nine_points() -> None:
    found = straightness(*B)
    assert found.slope == pytest.approx(1 / 120, abs=1e-9)
    assert (found.peak, found.valley) == pytest.approx((47 / 12, 13 / 3), abs=1e-9)
    assert found.span == pytest.approx(8.25, abs=1e-9)
    assert found.rms == pytest.approx(2.440021251, abs=1e-9)
    assert (found.zone_slope, found.zone) == pytest.approx((0.005, 7.75), abs=1e-9)


def test_c_parabola() -> None:
    x = np.linspace(0.0, 400.0, 41)
    found = straightness(x, 0.25 * (1.0 - ((x - 200.0) / 200.0) ** 2))
    assert (found.span, found.zone) == pytest.approx((0.25, 0.25), abs=1e-9)


@pytest.mark.parametrize("seed", range(20))
def test_against_linear_programming(seed: int) -> None:
    """Second route: minimise h with |z - a - b x| <= h / 2."""
    rng = np.random.default_rng(seed)
    x = np.sort(rng.uniform(0.0, 400.0, 60))
    z = np.cumsum(rng.normal(size=60))
    rows = np.column_stack([np.ones(60), x / 400.0, np.full(60, 0.5)])
    above, below = rows * [-1.0, -1.0, -1.0], rows * [1.0, 1.0, -1.0]
    least = linprog(
        [0.0, 0.0, 1.0],
        A_ub=np.vstack([above, below]),
        b_ub=np.concatenate([-z, z]),
        bounds=[(None, None)] * 3,
    )
    found = straightness(x, z)
    assert found.zone == pytest.approx(least.fun, abs=1e-7)
    assert found.zone <= found.span + 1e-12
    line = found.zone_offset + found.zone_slope * x
    assert np.max(np.abs(z - line)) == pytest.approx(0.5 * found.zone, abs=1e-9)


def test_no_line_from_two_points() -> None:
    with pytest.raises(ValueError, match="three or more points"):
        straightness(np.array([0.0, 1.0]), np.array([0.0, 1.0]))
