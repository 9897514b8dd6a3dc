"""Crowns on a sloping board, and crowns of another shape than the fit knows."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from analysis.instrument import Instrument
from analysis.neck.lean import chord_slope, lean_of, rise_mm
from analysis.neck.neck import Tip, read_neck
from analysis.neck.shape import unstrung_shape
from analysis.neck.tops import tops_along
from calibration.profile import Profile

MakeNeck = Callable[..., Any]
LANES = [1.0, 2.0, 3.0, 4.0, 5.0, 6.0]


@pytest.mark.parametrize("lean", [0.0, 1e-3, -8e-3, 0.1])
@pytest.mark.parametrize("flat", [0.0, 0.02, 0.3, 0.6])
def test_rise_is_that_of_the_highest_point(lean: float, flat: float) -> None:
    x = np.linspace(-0.4, 0.4, 800001)
    round_ = np.sqrt(1.2**2 - x**2) - np.sqrt(1.2**2 - (flat / 2) ** 2)
    highest = np.max(np.minimum(round_, 0.0) + lean * x)
    found = rise_mm(np.array([lean]), np.array([flat]), np.array([1.2]))
    assert found[0] == pytest.approx(highest, abs=1e-9)


def test_chord_and_what_leans_against_it() -> None:
    x = np.tile(np.linspace(0.0, 400.0, 9)[:, None], 3)
    z = 2e-3 * x + 1e-6 * (x - 200.0) ** 2
    z[0, 0], z[:, 2] = np.nan, np.nan
    assert chord_slope(x, z) == pytest.approx(2e-3, abs=1e-4)
    assert chord_slope(x, np.full_like(x, np.nan)) == 0.0
    np.testing.assert_array_equal(lean_of(np.array([1e-3, np.nan]), 5e-3), [1e-3, 5e-3])


def leaning(neck: Any, noise_mm: float) -> tuple[list[Profile], np.ndarray]:
    """Profiles of a point probe over crowns that stand square to the board; their true tops."""
    walnut, rng = neck.instrument, np.random.default_rng(2)
    frets = np.arange(1, walnut.frets + 1)
    profiles, tops = [], []
    for string in LANES:
        at = walnut.fret_x_mm(frets.astype(float), string)
        d = 1e-3
        slope = (neck.bow_mm(at + d) - neck.bow_mm(at - d)) / (2 * d)
        rise = rise_mm(slope, neck.flats(), np.full(frets.size, neck.crown_mm))
        tops.append(neck.top_mm(string) + rise)
        for direction in (1, -1):
            p = neck.profile(string, direction, rng, noise_mm=noise_mm, ball_mm=1e-9)
            off = p.x_mm - neck.nut_mm - at[:, None]
            near = np.argmin(np.abs(off), axis=0)
            along = off[near, np.arange(p.x_mm.size)]
            z = p.z_mm + np.where(np.abs(along) < 1.2, slope[near] * along, 0.0)
            profiles.append(replace(p, z_mm=z))
    return profiles, np.stack(tops, axis=1)


@pytest.mark.parametrize("tilt", [0.0, 6e-3])
def test_flats_on_a_bow_are_read_where_they_are_highest(
    make_neck: MakeNeck, walnut: Instrument, tilt: float
) -> None:
    """Up to 9 mrad of bow; how the neck lies on the rig changes nothing."""
    neck = make_neck(
        replace(walnut, board_radius_mm=(1e6, 1e6)),
        bow_mm=lambda x: 1.0 * ((x - 225.0) / 225.0) ** 2,
        flat_mm=np.full(22, 0.5),
    )
    profiles, true = leaning(neck, 0.0005)
    profiles = [replace(p, z_mm=p.z_mm + tilt * p.x_mm) for p in profiles]
    read = read_neck(profiles, neck.instrument, Tip(0.0))
    off = read.top_mm - true - tilt * (neck.nut_mm + read.x_mm)
    # the line through both ends of the board is level here only if the last fret ends the bow
    assert np.std(off[1:21]) < 0.35e-3
    middles = np.std(off[1:21] + rise_mm(
        np.gradient(neck.bow_mm(read.x_mm[:, 0]), read.x_mm[:, 0])[1:21, None],
        np.full((20, 1), 0.5), np.full((20, 1), 1.2)))  # fmt: skip
    assert middles > 2.0 * np.std(off[1:21])


def test_a_crown_of_another_shape_is_doubtful(make_neck: MakeNeck, walnut: Instrument) -> None:
    """A dent of 40 um along the string on one crown: no circle, no flat."""
    neck = make_neck(walnut)
    clean = neck.profiles(seed=4, lanes=LANES)
    at = neck.nut_mm + float(walnut.fret_x_mm(5.0, 3.0))
    hit = [
        replace(p, z_mm=p.z_mm - 0.04 * np.exp(-0.5 * ((p.x_mm - at + 0.2) / 0.15) ** 2))
        if p.string == 3.0 else p for p in clean
    ]  # fmt: skip
    read = read_neck(hit, walnut, Tip(1.0))
    before = read_neck(clean, walnut, Tip(1.0))
    assert read.misfit.shape == read.top_mm.shape
    assert read.misfit[4, 2] > 10.0
    assert np.nanmedian(read.misfit) == pytest.approx(1.0, abs=0.15)
    assert read.u_top_mm[4, 2] > 2.0 * before.u_top_mm[4, 2]
    status = tops_along(read, walnut, np.array(LANES)).status
    assert status[4, 2] == "doubtful: the crown's shape fits none"
    assert np.count_nonzero(status == "ok") == 22 * 6 - 1
    assert "doubtful: the crown's shape fits none" in unstrung_shape(read, walnut).status
