"""The modal string against closed forms: d'Alembert, the clearance example, stiff partials."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from . import modal
from .wires import STEEL_PA, Array, Wires, bent, push_for, wires

PUBLISHED = Path(__file__).parents[1] / "published/data"
LENGTH = np.array([0.650])
#: 130 mm from the saddle, counted from the nut.
PLUCK = np.array([0.520])
#: Plain G fretted two frets up, plucked 120 mm from its saddle; what lifts its corner 1 mm.
SHORTER, SHORTER_PLUCK = np.array([0.570]), np.array([0.450])
PLACES = np.linspace(0.02, 0.44, 12)[None, :]
NEWTON = 1e-3 * 74.63 * 0.570 / (0.450 * 0.120)


def ideal() -> Wires:
    """No bending stiffness at all."""
    one = np.ones(1)
    return Wires(4e-4 * one, 73.0 * one, 0.0 * one, 1e4 * one)


def plain_g() -> Wires:
    """String G3 of CHECKS 8.1."""
    one = np.ones(1)
    return wires(1.14954192e-3 * one, 74.6300184 * one, 0.4318 * one, np.array([False]))


def newtons(corner_mm: float) -> float:
    """The force that pulls the ideal string this far aside at PLUCK."""
    return float(1e-3 * corner_mm * 73.0 * LENGTH[0] / (PLUCK[0] * (LENGTH - PLUCK)[0]))


def swung(at_mm: Array, partials: int = 2000) -> tuple[Array, Array]:
    """(highest, lowest), mm, over one swing of the ideal string let go from 3 mm."""
    u = modal.motion(
        ideal(), LENGTH, PLUCK, 1e-3 * at_mm[None, :], 1.0, partials, moments=2000, damped=False
    )
    scale = 1e3 * newtons(3.0)
    return scale * u[0].max(axis=1), scale * u[0].min(axis=1)


def test_an_ideal_string_swings_as_d_alembert_says() -> None:
    x, highest, lowest = np.loadtxt(
        PUBLISHED / "plucked_string_envelope.csv", delimiter=",", skiprows=3
    ).T
    found = swung(x)
    # at the corner the series is 2 h L^2 / (pi^2 p (L - p) N) = 0.002 mm short at N = 2000
    np.testing.assert_allclose(found[0], highest, atol=2e-3)
    np.testing.assert_allclose(found[1], lowest, atol=2e-3)


def test_the_first_fret_touched_is_the_fourth() -> None:
    table = np.loadtxt(PUBLISHED / "clearance_example.csv", delimiter=",", skiprows=2)
    _, x, clearance, _, corner = table.T
    found = clearance / (-swung(x)[1] / 3.0)
    assert int(np.argmin(found)) + 1 == 4
    assert found.min() == pytest.approx(0.819048, abs=1e-3)
    np.testing.assert_allclose(found, corner, rtol=2e-3)


def test_partials_of_a_stiff_string() -> None:
    """CHECKS 8.1: Hz from the formula, and how sharp partials 2, 5 and 10 are against n f1."""
    hz = modal.frequencies(plain_g(), LENGTH)[0] / (2.0 * np.pi)
    np.testing.assert_allclose(hz[[0, 4, 9]], [196.00819, 981.2964, 1970.419], rtol=3e-7)
    sharp = 1200.0 * np.log2(hz[[1, 4, 9]] / (np.array([2, 5, 10]) * hz[0]))
    np.testing.assert_allclose(sharp, [0.277345, 2.216279, 9.105803], rtol=1e-5)


def test_a_stiff_string_dips_deeper_than_an_ideal_one() -> None:
    """Beside its end, where the bend that ran ahead is thrown back."""
    at = np.array([[0.015, 0.03, 0.1]])
    stiff = modal.dips(plain_g(), LENGTH, PLUCK, at)[0]
    soft = modal.dips(plain_g().softened(), LENGTH, PLUCK, at)[0]
    assert np.all(stiff / soft > [1.1, 1.1, 1.0])
    assert np.all(stiff / soft < 1.4)


def test_more_partials_and_moments_change_nothing() -> None:
    """Dips of 1 mm to a micrometre, everywhere but at the corner itself."""
    usual = modal.dips(plain_g(), SHORTER, SHORTER_PLUCK, PLACES)
    fine = modal.dips(plain_g(), SHORTER, SHORTER_PLUCK, PLACES, partials=240, moments=960)
    np.testing.assert_allclose(NEWTON * np.array(usual), NEWTON * np.array(fine), atol=1e-6)


def test_longer_changes_nothing() -> None:
    """After SWINGS swings what is left is too little to dip any deeper."""
    usual = modal.dips(plain_g(), SHORTER, SHORTER_PLUCK, PLACES)
    long = modal.dips(plain_g(), SHORTER, SHORTER_PLUCK, PLACES, swings=96.0)
    short = modal.dips(plain_g(), SHORTER, SHORTER_PLUCK, PLACES, swings=8.0)
    np.testing.assert_allclose(NEWTON * np.array(usual), NEWTON * np.array(long), atol=2e-6)
    assert np.max(NEWTON * (np.array(usual) - np.array(short))) > 2e-5


def test_stretch_and_rise_of_a_string_pushed_aside() -> None:
    """CHECKS 8.1: E4, 2 mm at a quarter: 0.255837 N, 3.0268 cents but for the longer string."""
    one = np.ones(1)
    wire = wires(3.97765371e-4 * one, 73.0399890 * one, 0.254 * one, np.array([False]))
    assert wire.stretch[0] == pytest.approx(STEEL_PA * np.pi * 0.254e-3**2 / 4.0)
    tension, semitones = bent(wire, np.array(650.0), np.array(487.5), np.array([2.0]), 0.0)
    assert tension[0] - wire.tension[0] == pytest.approx(0.255837, rel=5e-5)
    longer = 1200.0 * np.log2(np.hypot(162.5, 2.0) / 162.5)
    assert 100.0 * semitones[0] == pytest.approx(3.0268 - longer, abs=1e-4)


def test_the_push_for_a_bend_gives_that_bend() -> None:
    fret = np.array([100.0, 300.0, 450.0])
    push = push_for(plain_g(), np.array(650.0), fret, 1.0)
    np.testing.assert_allclose(bent(plain_g(), np.array(650.0), fret, push)[1], 1.0, atol=1e-6)
