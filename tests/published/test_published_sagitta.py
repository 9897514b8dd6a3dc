"""Sagitta and cone: 40-digit arithmetic, CHECKS 10 (chord c, so y = c / 2). Tolerance 1e-9."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from analysis.board.arc import sagitta_mm

DATA = Path(__file__).parent / "data"


def test_sagitta_table() -> None:
    r, c, s, _ = np.loadtxt(DATA / "sagitta.csv", delimiter=",", skiprows=2).T
    # the table prints 12 decimals
    np.testing.assert_allclose(sagitta_mm(r, c / 2.0), s, rtol=1e-12, atol=6e-13)


@pytest.mark.parametrize(("radius", "chord"), [(5.0, 6.0), (13.0, 10.0)])
def test_whole_triangles(radius: float, chord: float) -> None:
    assert sagitta_mm(np.array(radius), np.array(chord / 2.0)) == 1.0


def test_no_cancellation_on_a_nearly_flat_board() -> None:
    """r = 1e7, c = 450: 0.00253125000032; the subtractive form is 3.7e-7 off."""
    found = float(sagitta_mm(np.array(1e7), np.array(225.0)))
    assert found == pytest.approx(0.00253125000032, rel=1e-12)


def test_cone_of_254_to_406_mm() -> None:
    _, r, drop = np.loadtxt(DATA / "conical_surface.csv", delimiter=",", skiprows=2).T
    np.testing.assert_allclose(sagitta_mm(r, np.full_like(r, 20.0)), drop, rtol=1e-9)
