"""The datum plane and relief; how a map's joint error and one factor for all go into it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from analysis.instrument import Instrument
from analysis.neck.datum import datum_plane, gap_y_mm
from analysis.neck.neck import Tip, read_neck
from analysis.neck.rail import RailAlong
from analysis.neck.relief import reliefs, reliefs_by_terms
from analysis.neck.terms import Terms
from calibration.rail.estimate import (
    RailEstimate,
    estimate,
    independent,
    long_covariance,
    polynomials,
)
from calibration.rail.sums import RailSums

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


CELLS = np.arange(20.0, 600.0, 4.0)


def rail_erring_by(joint: np.ndarray) -> RailEstimate:
    return estimate("straightedge", CELLS, 0.0 * CELLS, joint, polynomials(CELLS, 1), ())


def test_a_bent_map_bends_every_relief_alike() -> None:
    """The map's error drawn from its own covariance: the reliefs scatter as is stated for them."""
    rail = rail_erring_by(independent(np.full(CELLS.size, 2e-4)) + long_covariance(CELLS, 1e-3))
    z = np.zeros_like(X)
    z[7] = -0.2
    terms = Terms({"noise": 0.0 * X, "rail": np.full_like(X, 1e-3)})
    (found,) = reliefs_by_terms(X, z, terms, 16, RailAlong(RailSums.of(rail), 61.0, 1.0))
    rng = np.random.default_rng(5)
    half = np.linalg.cholesky(rail.covariance_mm2 + 1e-14 * np.eye(CELLS.size))
    drawn = []
    for _ in range(1500):
        error = np.interp(61.0 + X, CELLS, half @ rng.normal(size=CELLS.size))
        drawn.append(reliefs(X, z + error, U, 16)[0].relief_mm)
    assert np.std(drawn) == pytest.approx(found.u_relief_mm, rel=0.08)
    assert found.parts["rail"] == found.u_relief_mm
    # as each top's own it would be another number
    alone = reliefs_by_terms(X, z, terms, 16, None)[0].parts["rail"]
    assert abs(alone / found.u_relief_mm - 1.0) > 0.1


def test_a_straight_line_in_the_map_is_no_part_of_relief() -> None:
    """Height and tilt of the straightedge: the map may err by any of it."""
    rail = rail_erring_by(1e-16 * np.eye(CELLS.size))
    terms = Terms({"noise": 0.0 * X, "rail": np.full_like(X, 5e-3)})
    z = np.where(np.arange(22)[:, None] == 7, -0.1, 0.0)
    (found,) = reliefs_by_terms(X, z, terms, 16, RailAlong(RailSums.of(rail), 61.0, 1.0))
    assert found.u_relief_mm < 1e-5


def test_frets_beyond_the_map_show_in_u() -> None:
    rail = rail_erring_by(1e-16 * np.eye(CELLS.size))
    terms = Terms({"noise": 0.0 * X, "rail": np.full_like(X, 5e-3)})
    z = np.where(np.arange(22)[:, None] == 7, -0.1, 0.0)
    (found,) = reliefs_by_terms(X, z, terms, 16, RailAlong(RailSums.of(rail), -40.0, 1.0))
    # fret 1 lies 24 mm before the map: 24 um, by its share of the chord
    share = (X[7, 0] - X[0, 0]) / (X[15, 0] - X[0, 0])
    assert found.u_relief_mm == pytest.approx(0.024 * (1.0 - share), rel=0.01)


def test_one_factor_for_all_tops_bends_no_straight_line() -> None:
    """A tip that lifts every top alike, or more and more along the neck, makes no relief."""
    z = np.where(np.arange(22)[:, None] == 7, -0.1, 0.0)
    for lift in (np.full_like(X, 2e-3), 1e-5 * X):
        assert reliefs_by_terms(X, z, Terms({"tip": lift}), 16, None)[0].u_relief_mm < 1e-12
    only = np.where(np.arange(22)[:, None] == 7, 2e-3, 0.0)
    found = reliefs_by_terms(X, z, Terms({"tip": only}), 16, None)[0]
    assert found.u_relief_mm == pytest.approx(2e-3)


def test_choosing_the_deepest_of_many_alike_is_in_u() -> None:
    """Tops on one straight line: any is the deepest, and that is too deep on the average."""
    z = np.zeros_like(X)
    rng = np.random.default_rng(4)
    found = [reliefs(X, z + rng.normal(0.0, 0.001, X.shape), U, 16)[0] for _ in range(400)]
    depth = np.array([f.relief_mm for f in found])
    u = np.array([f.u_relief_mm for f in found])
    own = np.array([f.parts["noise"] for f in found])
    assert np.mean(depth) > 0.001
    assert np.mean(depth <= 2.0 * u) > 0.83
    assert np.mean(depth <= 2.0 * own) < np.mean(depth <= 2.0 * u) - 0.04
    assert found[0].parts["deepest"] > 0.0002
    # frets that differ by more than their u: nothing is chosen by noise
    z[1:15, 0] = -0.01 * (1 + np.arange(14) % 7)
    assert reliefs(X, z - 0.1 * (X[7] == X), U, 16)[0].parts.get("deepest", 0.0) == 0.0


def _seen_only(read: Any, gaps: slice) -> Any:
    board = np.full_like(read.board_mm, np.nan)
    board[gaps] = read.board_mm[gaps]
    return replace(read, board_mm=board)


def test_a_datum_without_one_end_says_so(make_neck: Callable[..., Any], walnut: Instrument) -> None:
    level = replace(walnut, board_radius_mm=(1e6, 1e6))
    neck = make_neck(level, bow_mm=lambda x: 7.0 + 0.004 * x, roll_mrad=3.0)
    read = read_neck(neck.profiles(), level, Tip(1.0))
    assert datum_plane(read, walnut).remark == ""
    for gaps, word in ((slice(4, None), "frets 1 and 2:"), (slice(0, 9), "frets 15 and 16:")):
        plane = datum_plane(_seen_only(read, gaps), walnut)
        assert word in plane.remark
        assert plane.along == pytest.approx(0.004, abs=2e-5)
        assert plane.across == pytest.approx(0.003, abs=1e-4)
        assert np.isfinite(plane.u_at(read.x_mm, read.y_mm)).all()
    blind = datum_plane(_seen_only(read, slice(5, 6)), walnut)
    assert "no datum plane" in blind.remark
    assert np.isfinite(blind.at(read.x_mm, read.y_mm)).all()


def test_where_the_lanes_cross_the_gaps(make_neck: Callable[..., Any], walnut: Instrument) -> None:
    read = read_neck(make_neck(walnut).profiles(), walnut, Tip(1.0))
    true = walnut.string_y_mm(read.string, read.gap_x_mm)
    np.testing.assert_allclose(gap_y_mm(read), true, atol=0.02)
