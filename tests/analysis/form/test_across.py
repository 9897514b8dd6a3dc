"""Circles through fret tops: found through dents, honest, and flat or hollow told as such."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from analysis.board.arc import Arc, fit_arc
from analysis.form.across import across_of, board_form, fret_radius_mm
from analysis.instrument import Instrument
from analysis.neck.neck import Tip, read_neck
from analysis.neck.shape import unstrung_shape

Y = np.linspace(-21.0, 21.0, 11)
U = np.full(11, 0.001)
#: Radii of a file that has nothing to do with the board: it says nothing of the tip.
OTHER_MM = np.array([1e3, 2e3])
NO_TIP = np.zeros(11)
BETWEEN = np.arange(11) % 2 == 1


def circle(radius: float, height: float = 0.0, roll: float = 0.0) -> np.ndarray:
    return height + roll * Y - (radius - np.sqrt(radius**2 - Y**2))


@settings(deadline=None, max_examples=60)
@given(st.floats(60.0, 1500.0), st.floats(-2.0, 2.0), st.floats(-0.01, 0.01))
def test_a_circle_is_found_whatever_its_height_and_roll(
    radius: float, height: float, roll: float
) -> None:
    found, _, lanes = fret_radius_mm(Y, circle(radius, height, roll), U, NO_TIP, BETWEEN)
    assert found == pytest.approx(radius, rel=1e-6)
    assert lanes == 11


def test_dents_under_the_strings_do_not_flatten_it() -> None:
    """All six dented, the outer ones not: the lanes between the strings hold the circle."""
    z = circle(300.0)
    z[::2] -= np.array([0.0, 0.05, 0.06, 0.06, 0.03, 0.0])
    found, u, lanes = fret_radius_mm(Y, z, U, NO_TIP, BETWEEN)
    assert found == pytest.approx(300.0, rel=1e-6)
    assert lanes == 7
    # every lane alike would have been far off
    everything = np.polyfit(Y, z, 2)[0]
    assert abs(-0.5 / everything - 300.0) > 10.0 * u


@pytest.mark.parametrize("lanes", [np.ones(11, dtype=bool), BETWEEN])
def test_radius_uncertainty_covers(lanes: np.ndarray) -> None:
    rng = np.random.default_rng(1)
    off = []
    for _ in range(300):
        z = np.where(lanes, circle(300.0) + rng.normal(0.0, 0.001, 11), np.nan)
        found, u, _ = fret_radius_mm(Y, z, U, NO_TIP, BETWEEN)
        off.append((found - 300.0) / u)
    assert np.mean(np.abs(off) <= 2.0) > 0.9
    assert 0.6 < np.std(off) < 1.25


def test_scatter_past_what_is_stated_widens_u() -> None:
    z = circle(300.0)
    _, calm, _ = fret_radius_mm(Y, z, U, NO_TIP, BETWEEN)
    _, rough, _ = fret_radius_mm(Y, z + 0.01 * np.cos(np.arange(11.0) ** 2), U, NO_TIP, BETWEEN)
    assert rough > 3.0 * calm


def test_the_tip_goes_into_u_as_one_factor() -> None:
    """A ball of 1 mm that climbs, or does not: u of each top ball slope^2 / 2 / sqrt 12."""
    tip = (Y / 300.0) ** 2 / 2.0 / np.sqrt(12.0)
    _, u, _ = fret_radius_mm(Y, circle(300.0), np.full(11, 1e-6), tip, BETWEEN)
    own = fret_radius_mm(Y, circle(300.0), np.full(11, 1e-6), NO_TIP, BETWEEN)[1]
    assert np.sqrt(u**2 - own**2) == pytest.approx(1.0 / np.sqrt(12.0), rel=0.02)


def test_flat_and_hollow_frets_and_unseen_ones() -> None:
    flat = fret_radius_mm(Y, 0.002 * Y, U, NO_TIP, BETWEEN)
    assert flat[0] == np.inf
    assert np.isnan(flat[1])
    assert fret_radius_mm(Y, -circle(300.0), U, NO_TIP, BETWEEN)[0] == np.inf
    z = np.full(11, np.nan)
    z[[1, 9]] = 0.0
    unseen = fret_radius_mm(Y, z, U, NO_TIP, BETWEEN)
    assert np.isnan(unseen[0])
    assert unseen[2] == 0
    z[[3, 5, 7]] = circle(250.0)[[3, 5, 7]]
    z[[1, 9]] = circle(250.0)[[1, 9]]
    assert fret_radius_mm(Y, z, U, NO_TIP, BETWEEN)[0] == pytest.approx(250.0, rel=1e-6)


X = np.linspace(20.0, 450.0, 22)[:, None] * np.ones(11)
WIDE = np.linspace(-1.0, 1.0, 11) * (18.0 + X / 50.0)


def arc_of(nut: float, last: float, noise_mm: float = 0.0015) -> Arc:
    r = nut + (last - nut) * X / 450.0
    noise = np.random.default_rng(3).normal(0.0, noise_mm, X.shape)
    return fit_arc(X, WIDE, noise - WIDE**2 / (r + np.sqrt(r**2 - WIDE**2)), 1.0, 387.0, OTHER_MM)


@pytest.mark.parametrize(
    ("nut", "last", "form"),
    [
        (241.0, 355.0, "cone"),
        (305.0, 305.0, "cylinder"),
        (300.0, 303.0, "cylinder"),
        (300.0, 330.0, "cone"),
        (5e4, 5e4, "flat"),
    ],
)
def test_form(nut: float, last: float, form: str) -> None:
    assert board_form(arc_of(nut, last), (0.0, 450.0), 22.0) == form


def test_noise_makes_no_cone() -> None:
    """Grain so rough that a cone of 20 mm cannot be told: the simpler form."""
    assert board_form(arc_of(300.0, 310.0, 0.05), (0.0, 450.0), 22.0) == "cylinder"


def test_of_a_neck(make_neck: Callable[..., Any], walnut: Instrument) -> None:
    neck = make_neck(walnut, roll_mrad=1.0, twist_mrad_per_mm=0.003)
    read = read_neck(neck.profiles(), walnut, Tip(1.0))
    found = across_of(read)
    real = 1.0 / neck.curvature(walnut.fret_x_mm(np.arange(1, 23), 3.5))
    assert np.mean(np.abs(found.radius_mm - real) <= 2.0 * found.u_radius_mm) > 0.9
    assert found.form == "cone"
    assert found.board_radius_mm == pytest.approx((241.0, 355.0), abs=2.0)
    for radius, u, true in zip(
        found.board_radius_mm, found.u_board_radius_mm, (241.0, 355.0), strict=True
    ):
        assert abs(radius - true) < 2.0 * u
        assert 0.05 < u < 1.0


def test_twist_holds_the_rails_own(make_neck: Callable[..., Any], walnut: Instrument) -> None:
    """A tenth of a milliradian that no calibration tells stands in u, beside the scan's own."""
    neck = make_neck(walnut, roll_mrad=1.0, twist_mrad_per_mm=0.003)
    shape = unstrung_shape(read_neck(neck.profiles(), walnut, Tip(1.0)), walnut)
    true = 0.003 * float(walnut.fret_x_mm(16.0, 3.5))
    assert abs(shape.twist_mrad - true) < 3.0 * shape.u_twist_scan_mrad
    assert shape.u_twist_scan_mrad < 0.05
    assert shape.u_twist_mrad == pytest.approx(np.hypot(shape.u_twist_scan_mrad, 0.1))


def test_too_few_lanes_and_a_flat_board(make_neck: Callable[..., Any], walnut: Instrument) -> None:
    two = read_neck(make_neck(walnut).profiles(lanes=[1.0, 6.0]), walnut, Tip(1.0))
    found = across_of(two)
    assert found.form == "not known"
    assert np.isnan(found.radius_mm).all()
    assert np.isnan(found.board_radius_mm).all()
    flat = replace(walnut, board_radius_mm=(1e7, 1e7))
    plane = across_of(read_neck(make_neck(flat).profiles(), flat, Tip(1.0)))
    assert plane.form == "flat"
    assert plane.board_radius_mm == (np.inf, np.inf)
