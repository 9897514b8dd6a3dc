"""Which crown is which fret."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from analysis.faults import NeckError
from analysis.instrument import Instrument
from analysis.pattern.bumps import find_bumps
from analysis.pattern.cells import cells_of
from analysis.pattern.register import register
from calibration.profile import Profile

MakeNeck = Callable[..., Any]
LANES = [1.5, 3.5, 5.5]


@pytest.mark.parametrize("offset", [-15.0, -4.3, 0.0, 7.7, 15.0])
def test_nut_is_found_far_from_where_the_file_says(
    make_neck: MakeNeck, walnut: Instrument, offset: float
) -> None:
    neck = make_neck(walnut, nut_mm=61.0 + offset, screw=1.0007)
    found = register(neck.profiles(lanes=LANES), walnut)
    assert found.nut_mm == pytest.approx(61.0 + offset, abs=max(0.05, 4.0 * found.u_nut_mm))
    assert found.scale == pytest.approx(1.0007, abs=max(2e-4, 4.0 * found.u_scale))
    assert found.found > 0.95


@pytest.mark.parametrize("gone", [(1,), (22,), (1, 2, 3), (5, 12, 13, 21)])
def test_missing_frets_do_not_shift_the_numbering(
    make_neck: MakeNeck, walnut: Instrument, gone: tuple[int, ...]
) -> None:
    neck = make_neck(walnut, hidden=gone, nut_mm=66.0)
    found = register(neck.profiles(lanes=LANES), walnut)
    assert found.nut_mm == pytest.approx(66.0, abs=0.1)
    assert found.found == pytest.approx(1.0 - len(gone) / 22.0, abs=0.02)


@pytest.mark.parametrize("extra", [(60.0,), (38.4,), (20.0, 150.0, 230.0, 420.0)])
def test_doubled_and_foreign_bumps_do_not_shift_the_numbering(
    make_neck: MakeNeck, walnut: Instrument, extra: tuple[float, ...]
) -> None:
    """A capo, a second bump beside fret 1, dirt like crowns all over."""
    neck = make_neck(walnut, extra_x_mm=extra, nut_mm=55.0)
    found = register(neck.profiles(lanes=LANES), walnut)
    assert found.nut_mm == pytest.approx(55.0, abs=0.1)
    assert found.scale == pytest.approx(1.0, abs=4e-4)


def test_a_foreign_bump_in_the_place_of_a_missing_fret(
    make_neck: MakeNeck, walnut: Instrument
) -> None:
    """1.3 mm off the last fret's place: too far to be that fret."""
    place = float(walnut.fret_x_mm(22.0, 1.0)) + 1.3
    neck = make_neck(walnut, hidden=(22,), extra_x_mm=(place,))
    found = register(neck.profiles(lanes=LANES), walnut)
    assert found.nut_mm == pytest.approx(61.0, abs=0.04)
    assert found.found == pytest.approx(21.0 / 22.0, abs=0.02)


@pytest.mark.parametrize("wrong", [628.0, 648.0, 660.0])
def test_a_wrong_scale_length_is_named(
    make_neck: MakeNeck, walnut: Instrument, wrong: float
) -> None:
    file = replace(walnut, scale_bass_mm=wrong, scale_treble_mm=wrong)
    profiles = make_neck(walnut).profiles(lanes=LANES)
    with pytest.raises(NeckError, match=rf"scale_mm: the file says {wrong:g}.*6(40|41)\.\d ±"):
        register(profiles, file)


def test_inches_for_millimetres_are_refused(make_neck: MakeNeck, walnut: Instrument) -> None:
    file = replace(walnut, scale_bass_mm=350.0, scale_treble_mm=350.0)
    with pytest.raises(NeckError, match="scale_mm"):
        register(make_neck(walnut).profiles(lanes=LANES), file)


def test_fanned_scales(make_neck: MakeNeck, walnut: Instrument) -> None:
    fanned = replace(walnut, scale_bass_mm=660.0, scale_treble_mm=635.0, square_fret=7)
    found = register(make_neck(fanned, nut_mm=68.0).profiles(lanes=LANES), fanned)
    assert found.nut_mm == pytest.approx(68.0, abs=0.05)
    assert found.scale == pytest.approx(1.0, abs=2e-4)


def test_a_straight_file_for_a_fanned_neck_is_not_taken(
    make_neck: MakeNeck, walnut: Instrument
) -> None:
    """Its lanes do not agree on one scale: the fit is bad, and far from the fan's own."""
    fanned = replace(walnut, scale_bass_mm=690.0, scale_treble_mm=600.0, square_fret=7)
    profiles = make_neck(fanned).profiles(lanes=[1.0, 2.0, 5.0, 6.0])
    try:
        found = register(profiles, replace(walnut, scale_bass_mm=645.0, scale_treble_mm=645.0))
    except NeckError:
        return
    assert found.u_nut_mm > 10.0 * register(profiles, fanned).u_nut_mm


def test_no_neck(make_profile: Callable[..., Profile], walnut: Instrument) -> None:
    x = np.arange(45.0, 595.0, 0.0625)
    flat = make_profile(x, np.random.default_rng(1).normal(0.0, 0.002, x.size))
    with pytest.raises(NeckError, match="shows 0 crowns in 2 passes"):
        register([flat, flat], walnut)
    with pytest.raises(NeckError, match="shows 0 crowns"):
        register([make_profile(x, np.full_like(x, np.nan))], walnut)


def test_bumps_are_crowns_and_not_what_is_wide_or_low(
    make_profile: Callable[..., Profile],
) -> None:
    x = np.arange(0.0, 120.0, 0.05)
    z = np.where((x > 20.0) & (x < 30.0), 2.0, 0.0)  # a block
    z += np.where(np.abs(x - 60.0) < 1.2, 1.0, 0.0)  # a crown
    z += np.where(np.abs(x - 90.0) < 0.6, 0.1, 0.0)  # dirt
    one = make_profile(x, z)
    np.testing.assert_allclose(find_bumps([one], cells_of([one])).x_mm, [60.0], atol=0.1)


def test_stated_uncertainties(make_neck: MakeNeck, walnut: Instrument) -> None:
    off = []
    for seed in range(20):
        found = register(make_neck(walnut).profiles(seed=seed, lanes=LANES), walnut)
        off.append([(found.nut_mm - 61.0) / found.u_nut_mm, (found.scale - 1.0) / found.u_scale])
    assert np.sqrt(np.mean(np.square(off))) < 2.0


def test_carriage_and_neck_positions_are_inverse(make_neck: MakeNeck, walnut: Instrument) -> None:
    found = register(make_neck(walnut).profiles(lanes=LANES), walnut)
    x = np.linspace(0.0, 480.0, 7)
    np.testing.assert_allclose(found.neck_mm(found.carriage_mm(x)), x, atol=1e-9)
