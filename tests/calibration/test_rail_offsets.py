"""The rail from one object at several offsets."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from calibration.passes import Pad
from calibration.profile import Profile
from calibration.rail.estimate import orthonormal, polynomials
from calibration.rail.map import RailError
from calibration.rail.offsets import OffsetsFit, fit_offsets

Array = np.ndarray
MakeProfile = Callable[..., Profile]
Surface = Callable[[Array], Array]


def rail_error(x: Array) -> Array:
    bow = 0.07 * ((x - 310.0) / 300.0) ** 2
    waves = 0.006 * np.sin(2.0 * np.pi * x / 130.0) + 0.003 * np.sin(2.0 * np.pi * x / 38.0)
    return bow + waves + 0.004 * np.sin(2.0 * np.pi * x / 8.0)


def lumps(u: Array) -> Array:
    """An object nowhere like itself, 200 mm long."""
    z = 0.3 * np.sin(u / 6.0 + (u / 50.0) ** 2) + 0.1 * np.sin(u / 2.3)
    return np.where((u > 0.0) & (u < 200.0), z, np.nan)


def placed(
    make: MakeProfile,
    surface: Surface,
    offsets: tuple[float, ...],
    span: tuple[float, float] = (30.0, 330.0),
    step: float = 0.125,
    seed: int = 4,
    jitter: float = 0.0,
    hand_mm: float = 0.05,
) -> list[list[Profile]]:
    """Laid by hand: each placement a little off, at its own height and tilt."""
    rng = np.random.default_rng(seed)
    placements = []
    for d in offsets:
        there, height, tilt = d + rng.normal(0.0, hand_mm), rng.normal(), rng.normal(0.0, 1e-4)
        passes = []
        for k in range(2):
            x = np.arange(*span, step) + step * rng.uniform()
            z = surface(x - there + jitter * rng.normal(size=x.size)) + rail_error(x)
            z = z + height + tilt * x + rng.normal(0.0, 0.002, x.size)
            passes.append(make(x, z, 1 if k % 2 else -1))
        placements.append(passes)
    return placements


def off_um(found: OffsetsFit) -> Array:
    """Error apart from what the method says it cannot see."""
    off = found.rail.r_mm - rail_error(found.rail.x_mm)
    return 1e3 * (off - (off @ found.rail.free.T) @ found.rail.free)


@pytest.fixture(scope="module")
def by_neck(
    make_neck: Callable[..., Any], walnut: Any, make_profile: MakeProfile, pads: tuple[Pad, ...]
) -> OffsetsFit:
    neck = make_neck(walnut)
    scans = placed(
        make_profile,
        lambda u: neck.ridden_mm(u, 2.5, 1.0),
        (30.0, 61.0, 83.0, 104.0),
        (20.0, 595.0),
        0.0625,
    )
    return fit_offsets(scans, pads)


def test_a_neck_maps_the_rail(by_neck: OffsetsFit) -> None:
    off = off_um(by_neck)
    assert np.std(off) < 0.8
    assert by_neck.scatter == pytest.approx(1.0, abs=0.05)
    # long and short waves alike, and u knows
    assert 0.90 < np.mean(np.abs(off) < 1.96e3 * by_neck.rail.u_seen_mm) < 0.985


def test_it_finds_where_the_neck_lay(by_neck: OffsetsFit) -> None:
    rng = np.random.default_rng(4)
    hand = []
    for d in (30.0, 61.0, 83.0, 104.0):
        hand.append(d + rng.normal(0.0, 0.05))
        rng = _after_a_placement(rng)
    np.testing.assert_allclose(by_neck.offsets_mm, np.array(hand) - hand[0], atol=0.003)


def _after_a_placement(rng: np.random.Generator) -> np.random.Generator:
    """Past the other draws that `placed` makes for one placement of the neck."""
    rng.normal()
    rng.normal(0.0, 1e-4)
    for _ in range(2):
        n = np.arange(20.0, 595.0, 0.0625).size
        rng.uniform()
        rng.normal(size=n)
        rng.normal(0.0, 0.002, n)
    return rng


def test_offset_slope_and_parabola_are_free(by_neck: OffsetsFit) -> None:
    rail = by_neck.rail
    parabola = orthonormal(polynomials(rail.x_mm, 2))
    np.testing.assert_allclose(rail.free @ rail.free.T, np.eye(len(rail.free)), atol=1e-9)
    assert len(rail.free) == 3
    np.testing.assert_allclose(np.sum((parabola @ rail.free.T) ** 2, axis=1), 1.0, atol=1e-9)
    assert "offset, slope, bow (parabola)" in rail.unseen[0]
    # alone, such a map does not pretend to know the bow
    assert rail.map().u_mm.max() > 0.05


def wave_u_um(found: OffsetsFit, period: float) -> float:
    """Standard uncertainty of a wave's amplitude; at least what is assumed of free shapes."""
    rail = found.rail
    wave = np.sin(2.0 * np.pi * rail.x_mm / period) * np.hanning(rail.x_mm.size)
    free = 0.05**2 * rail.x_mm.size * np.sum((rail.free @ wave) ** 2)
    return 1e3 * float(np.sqrt(wave @ rail.covariance_mm2 @ wave + free) / (wave @ wave))


def test_periods_that_divide_the_offsets(make_profile: MakeProfile, pads: tuple[Pad, ...]) -> None:
    """0, 20, 60: waves of 20 mm and of 10 are not seen, of 14 they are; 33 more mends it."""
    exact = placed(make_profile, lumps, (60.0, 80.0, 120.0, 93.0), hand_mm=0.0)
    three, four = (fit_offsets(exact[:n], pads) for n in (3, 4))
    for period in (20.0, 10.0):
        assert wave_u_um(three, period) > 10.0
        assert wave_u_um(four, period) < 1.0
    assert wave_u_um(three, 14.0) < 1.0
    assert len(three.rail.free) >= 5
    assert "waves with periods of" in three.rail.unseen[0]
    assert "20" in three.rail.unseen[0].split("periods of")[1]


def test_periods_that_nearly_divide_them(make_profile: MakeProfile, pads: tuple[Pad, ...]) -> None:
    by_hand = placed(make_profile, lumps, (60.0, 80.3, 120.2))
    found = fit_offsets(by_hand, pads)
    assert wave_u_um(found, 20.0) > 4.0 * wave_u_um(found, 14.0)


def test_position_jitter_is_weighed(make_profile: MakeProfile, pads: tuple[Pad, ...]) -> None:
    scans = placed(make_profile, lumps, (60.0, 83.0, 121.0, 94.0), jitter=0.02)
    blind, told = (fit_offsets(scans, pads, jitter_mm=j) for j in (0.0, 0.02))
    assert told.scatter == pytest.approx(1.0, abs=0.06)
    assert blind.scatter > 1.1
    assert np.std(off_um(told)) < np.std(off_um(blind))


def test_wild_readings_do_not_count(make_profile: MakeProfile, pads: tuple[Pad, ...]) -> None:
    scans = placed(make_profile, lumps, (60.0, 83.0, 121.0, 94.0))
    clean = np.std(off_um(fit_offsets(scans, pads)))
    scans[1][0].z_mm[::50] += 0.4
    assert np.std(off_um(fit_offsets(scans, pads))) < 1.1 * clean


def test_an_even_object_at_given_offsets(make_profile: MakeProfile, pads: tuple[Pad, ...]) -> None:
    """A plank: too even to register, and its place need not be known well."""

    def plank(u: Array) -> Array:
        return np.where((u > 0.0) & (u < 200.0), 0.02 * np.sin(u / 30.0), np.nan)

    d = (60.0, 83.0, 121.0, 94.0)
    scans = placed(make_profile, plank, d)
    found = fit_offsets(scans, pads, [0.0, 23.0, 61.0, 34.0])
    assert np.std(off_um(found)) < 2.0


@pytest.mark.parametrize(
    ("offsets", "given", "says"),
    [
        ((60.0, 83.0), None, "found 2 placements; at least 3 are needed"),
        ((60.0, 83.0, 83.5), None, "found 2 offsets that differ by over 4 mm; at least 3"),
        ((60.0, 66.0, 72.0), None, r"reach over 12 mm; at least 2\d mm is needed"),
        ((60.0, 83.0, 121.0), [0.0, 23.0], "found 2 offsets for 3 placements"),
        ((60.0, 83.0, 121.0), [0.0, 30.0, 61.0], "scatter .* same object"),
    ],
)
def test_refused(
    offsets: tuple[float, ...],
    given: list[float] | None,
    says: str,
    make_profile: MakeProfile,
    pads: tuple[Pad, ...],
) -> None:
    with pytest.raises(RailError, match=says):
        fit_offsets(placed(make_profile, lumps, offsets), pads, given)


def test_two_objects(make_profile: MakeProfile, pads: tuple[Pad, ...]) -> None:
    scans = placed(make_profile, lumps, (60.0, 83.0))
    scans += placed(make_profile, lambda u: lumps(200.0 - u), (121.0,))
    with pytest.raises(RailError, match="placement 3 and placement 1 do not look like one object"):
        fit_offsets(scans, pads)


def test_an_object_that_repeats_itself(make_profile: MakeProfile, pads: tuple[Pad, ...]) -> None:
    def comb(u: Array) -> Array:
        return np.where((u > 0.0) & (u < 200.0), 0.3 * np.sin(u / 3.0), np.nan)

    with pytest.raises(RailError, match="could stand in more than one place"):
        fit_offsets(placed(make_profile, comb, (60.0, 83.0, 121.0)), pads)


def test_a_pass_with_nothing(make_profile: MakeProfile, pads: tuple[Pad, ...]) -> None:
    scans = placed(make_profile, lumps, (60.0, 83.0, 121.0))
    scans[1] = [replace(p, ok=np.zeros_like(p.ok)) for p in scans[1]]
    with pytest.raises(RailError, match="no readings between the pads"):
        fit_offsets(scans, pads)
