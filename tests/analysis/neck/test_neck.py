"""A whole scan read: tops, heights and board within their tolerances."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from analysis.faults import NeckError
from analysis.instrument import Instrument
from analysis.neck.neck import Neck, Tip, read_neck

MakeNeck = Callable[..., Any]


def off_top_um(read: Neck, neck: Any) -> np.ndarray:
    """Tops as shapes: found less true, the best plane taken off."""
    off = 1e3 * (read.top_mm - np.stack([neck.top_mm(s) for s in read.string], axis=1))
    design = np.column_stack([np.ones(off.size), read.x_mm.ravel(), read.y_mm.ravel()])
    seen = np.isfinite(off).ravel()
    plane, *_ = np.linalg.lstsq(design[seen], off.ravel()[seen], rcond=None)
    return off - (design @ plane).reshape(off.shape)


@pytest.fixture(scope="module")
def worn(make_neck: MakeNeck, walnut: Instrument) -> Any:
    """Twisted and rolled, frets of many heights, flats from none to 0.6 mm."""
    rng = np.random.default_rng(8)
    return make_neck(
        walnut,
        roll_mrad=2.0,
        twist_mrad_per_mm=-0.006,
        height_mm=1.1 + rng.normal(0.0, 0.03, (22, 6)),
        flat_mm=rng.choice([0.0, 0.3, 0.45, 0.6], 22),
        nut_mm=63.5,
        screw=0.9996,
    )


@pytest.fixture(scope="module")
def read(worn: Any, walnut: Instrument) -> Neck:
    return read_neck(worn.profiles(seed=2), walnut, Tip(1.0))


def test_every_lane_and_fret_is_there(read: Neck) -> None:
    assert read.string.tolist() == [1, 1.5, 2, 2.5, 3, 3.5, 4, 4.5, 5, 5.5, 6]
    assert read.top_mm.shape == (22, 11)
    assert np.isfinite(read.top_mm).all()


def test_tops_within_tolerance(read: Neck, worn: Any) -> None:
    off = off_top_um(read, worn)
    # half the ball's lift across is taken off, for it may be a wheel: that is 0.5 um here
    assert np.std(off) < 0.9
    assert np.max(np.abs(off)) < 4.0


def test_tops_are_covered(read: Neck, worn: Any) -> None:
    covered = np.abs(off_top_um(read, worn)) < 2e3 * read.u_top_mm
    assert np.mean(covered) > 0.9
    # and not by saying a lot
    assert np.median(read.u_top_mm) < 1.2e-3


def test_heights_over_the_board(read: Neck, worn: Any) -> None:
    true = np.array([[worn.fret_height(n, s) for s in read.string] for n in range(1, 23)])
    off = read.height_mm - true
    assert np.max(np.abs(off[:21])) < 5e-3
    assert np.mean(np.abs(off) < 2.0 * read.u_height_mm) > 0.93


def test_ways_agree_within_their_noise(read: Neck) -> None:
    # one pass has sqrt(2) of both ways' mean, their difference twice that
    assert np.std(read.ways_um) < 3.0 * 1e3 * np.median(read.u_top_mm)


def test_flats_and_radii(read: Neck, worn: Any) -> None:
    np.testing.assert_allclose(np.median(read.flat_mm, axis=1), worn.flats(), atol=0.04)
    assert np.median(read.radius_mm) == pytest.approx(1.2, abs=0.03)


def test_arc_twist_and_place(read: Neck, walnut: Instrument) -> None:
    assert read.arc.nut_radius_mm == pytest.approx(241.0, abs=2.0)
    assert read.arc.last_radius_mm == pytest.approx(355.0, abs=4.0)
    joint = float(walnut.fret_x_mm(16.0, 1.0))
    twist, u = read.arc.twist_mrad(36.0, joint)
    assert twist == pytest.approx(-0.006 * (joint - 36.0), abs=max(0.1, 3.0 * u))
    assert read.registration.scale == pytest.approx(0.9996, abs=2e-4)


def test_strung_lanes_lie_between(worn: Any, walnut: Instrument) -> None:
    read = read_neck(worn.profiles(seed=3, strung=True), walnut, Tip(1.0))
    assert read.string.tolist() == [1.5, 2.5, 3.5, 4.5, 5.5]
    assert np.max(np.abs(off_top_um(read, worn))) < 4.5


def test_a_larger_ball_is_undone(worn: Any, walnut: Instrument) -> None:
    small = read_neck(worn.profiles(seed=4, ball_mm=0.5), walnut, Tip(0.5))
    assert np.max(np.abs(off_top_um(small, worn))) < 4.5
    # told a ball of twice the size, the board's own radius says that half of it climbs
    wrong = read_neck(worn.profiles(seed=4, ball_mm=0.5), walnut, Tip(1.0))
    assert wrong.arc.climb.share == pytest.approx(0.5, abs=0.2)
    # of a board that is not as its file says nothing is known: the outer strings' tops move
    other = replace(walnut, board_radius_mm=(300.0, 300.0))
    ball, none = (
        read_neck(worn.profiles(seed=4, ball_mm=0.5), other, Tip(told)) for told in (2.0, 0.0)
    )
    moved = np.mean(ball.top_mm - none.top_mm, axis=0)
    slope2 = np.mean(small.arc.slope(small.x_mm, small.y_mm) ** 2, axis=0)
    lift = ball.arc.climb.share * 0.5 * 2.0 * (slope2[0] - slope2[5])
    assert lift > 0.8e-3
    assert moved[0] - moved[5] == pytest.approx(-lift, abs=0.4e-3)


def test_a_light_spot_puts_the_top_back(make_neck: MakeNeck, walnut: Instrument) -> None:
    """A spot sees the mean under it: what it takes off a crown is put back, with its u."""
    neck = make_neck(replace(walnut, board_radius_mm=(1e6, 1e6)), flat_mm=0.02 * np.arange(22.0))
    profiles = neck.profiles(seed=5, ball_mm=1e-9, lanes=[2.0, 3.0, 4.0], step_mm=0.01)
    mean = np.ones(20) / 20.0
    spots = [
        replace(p, z_mm=np.convolve(p.z_mm, mean, "same"), noise_mm=0.002 / np.sqrt(20.0))
        for p in profiles
    ]
    thin = [
        replace(p, x_mm=p.x_mm[::6] - 0.005, y_mm=p.y_mm[::6], z_mm=p.z_mm[::6], ok=p.ok[::6],
                u_rail_mm=p.u_rail_mm[::6]) for p in spots
    ]  # fmt: skip
    thin = [replace(p, ok=np.isfinite(p.z_mm)) for p in thin]
    whole, flat = slice(0, 3), slice(15, 22)
    true = np.stack([neck.top_mm(s) for s in (2.0, 3.0, 4.0)], axis=1)
    as_point = read_neck(thin, walnut, Tip(0.0, 0.0)).top_mm - true
    as_spot = read_neck(thin, walnut, Tip(0.0, 0.2))
    off = as_spot.top_mm - true
    taken = 0.2**2 / (24.0 * 1.2)
    np.testing.assert_allclose(np.mean(as_point[whole]), -taken, rtol=0.5)
    assert abs(np.mean(off[whole])) < 0.2e-3
    assert abs(np.mean(off[flat])) < 0.4e-3
    # a spot that lies all on a flat takes nothing off it
    spot = as_spot.terms.parts["spot"]
    np.testing.assert_allclose(spot[whole], 0.5 * taken, rtol=0.1)
    assert np.all(spot[flat] < 0.1e-3)


def test_fanned_frets(make_neck: MakeNeck, walnut: Instrument) -> None:
    fanned = replace(walnut, scale_bass_mm=655.0, scale_treble_mm=635.0, square_fret=7)
    neck = make_neck(fanned, nut_mm=66.0)
    assert (
        np.max(np.abs(off_top_um(read_neck(neck.profiles(seed=6), fanned, Tip(1.0)), neck))) < 5.0
    )


def test_one_missing_fret_stays_unknown(make_neck: MakeNeck, walnut: Instrument) -> None:
    """Fret 9 is out: the others keep their numbers and their tops."""
    neck = make_neck(walnut, hidden=(9,))
    off = np.abs(off_top_um(read_neck(neck.profiles(seed=7), walnut, Tip(1.0)), neck))
    assert np.max(np.delete(off, 8, axis=0)) < 4.5
    assert np.isnan(off[8]).all()


def test_too_coarse_a_scan_is_refused(make_neck: MakeNeck, walnut: Instrument) -> None:
    profiles = make_neck(walnut).profiles(step_mm=0.3, lanes=[2.0, 3.0])
    with pytest.raises(NeckError, match=r"samples lie 0\.30 mm apart"):
        read_neck(profiles, walnut, Tip(1.0))


def test_a_blind_pass_costs_nothing_but_itself(worn: Any, walnut: Instrument) -> None:
    profiles = worn.profiles(seed=9)
    blind = np.zeros(profiles[3].x_mm.size, dtype=bool)
    profiles[3] = replace(profiles[3], ok=blind, z_mm=np.full(blind.size, np.nan))
    read = read_neck(profiles, walnut, Tip(1.0))
    assert np.max(np.abs(off_top_um(read, worn))) < 5.0
    assert np.isnan(read.ways_um[:, 1]).all()
