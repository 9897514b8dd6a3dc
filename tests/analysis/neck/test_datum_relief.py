"""The datum plane and relief."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from analysis.instrument import Instrument
from analysis.neck.datum import datum_plane
from analysis.neck.neck import Tip, read_neck
from analysis.neck.relief import reliefs

X = np.cumsum(np.linspace(36.0, 12.0, 22))[:, None]
U = np.full_like(X, 0.001)


def test_relief_of_a_known_bow() -> None:
    joint = X[15, 0]
    z = -0.3 * 4.0 * (X - X[0]) * (joint - X) / (joint - X[0, 0]) ** 2
    (found,) = reliefs(X, z, U, 16)
    assert found.relief_mm == pytest.approx(0.3, abs=0.005)
    assert found.at_fret == 1 + int(np.argmin(z[:16, 0]))
    assert 0.001 < found.u_relief_mm < 0.001 * np.sqrt(2.0)


@settings(deadline=None, max_examples=50)
@given(st.floats(-2, 2), st.floats(-0.01, 0.01))
def test_a_tilt_is_no_relief(offset: float, slope: float) -> None:
    bow = 0.001 * (X - 200.0) ** 2 / 200.0
    (straight,) = reliefs(X, bow, U, 16)
    (tilted,) = reliefs(X, bow + offset + slope * X, U, 16)
    assert tilted.relief_mm == pytest.approx(straight.relief_mm, abs=1e-9)
    assert tilted.at_fret == straight.at_fret


def test_a_back_bow_is_negative() -> None:
    z = -0.001 * (X - 200.0) ** 2 / 200.0
    (found,) = reliefs(X, z, U, 16)
    assert found.relief_mm < 0.0


def test_frets_past_the_joint_do_not_count() -> None:
    z = np.where(X[15] < X, -5.0, 0.0)
    (found,) = reliefs(X, z, U, 16)
    assert found.relief_mm == pytest.approx(0.0, abs=1e-12)


def test_unseen_tops() -> None:
    z = -0.001 * (200.0 - np.abs(X - 200.0)) / 200.0
    inner, outer = z.copy(), z.copy()
    inner[7] = np.nan
    outer[0] = np.nan
    assert np.isfinite(reliefs(X, inner, U, 16)[0].relief_mm)
    (lost,) = reliefs(X, outer, U, 16)
    assert np.isnan(lost.relief_mm)
    assert lost.at_fret == 0


def test_uncertainty_covers_away_from_the_deepest_choice() -> None:
    """A sharp deepest fret, so that noise does not choose it."""
    z = np.zeros_like(X)
    z[7] = -0.2
    # the ends are known worse than the rest, each in its own measure
    u = U.copy()
    u[0], u[15] = 0.009, 0.006
    rng = np.random.default_rng(1)
    found = [reliefs(X, z + rng.normal(0, 1, X.shape) * u, u, 16)[0] for _ in range(600)]
    spread = np.std([f.relief_mm for f in found])
    assert spread == pytest.approx(found[0].u_relief_mm, rel=0.15)


def test_datum_is_the_board_at_both_ends(make_neck: Callable[..., Any], walnut: Instrument) -> None:
    level = replace(walnut, board_radius_mm=(1e6, 1e6))
    neck = make_neck(level, bow_mm=lambda x: 7.0 + 0.004 * x, roll_mrad=3.0)
    read = read_neck(neck.profiles(), level, Tip(1.0))
    plane = datum_plane(read, walnut)
    assert plane.along == pytest.approx(0.004, abs=1e-5)
    assert plane.across == pytest.approx(0.003, abs=1e-4)
    assert plane.offset_mm == pytest.approx(7.0, abs=2e-3)
    ends = np.array([0, 1, 14, 15])
    y = np.stack([walnut.string_y_mm(s, read.gap_x_mm[ends, i]) for i, s in enumerate(read.string)])
    off = read.board_mm[ends] - plane.at(read.gap_x_mm[ends], y.T)
    assert abs(np.mean(off)) < 1e-6
