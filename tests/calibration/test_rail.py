"""The rail's error from a straightedge."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numpy as np
import pytest

from calibration.passes import Pad
from calibration.profile import Profile
from calibration.rail.map import RailError, RailMap
from calibration.rail.straightedge import estimate_rail

X = np.arange(2.0, 616.0, 0.0625)
ON_EDGE = (X > 40.0) & (X < 580.0)


def rail_error(x: np.ndarray) -> np.ndarray:
    """A bow of 30 um, a screw's wave of 4 um every 8 mm."""
    return 0.03 * ((x - 310.0) / 300.0) ** 2 + 0.004 * np.sin(2.0 * np.pi * x / 8.0)


def readings(noise: float, seed: int, tilt: float = 1e-4) -> np.ndarray:
    """Pads, a straightedge 18 mm up and a little askew, nothing between."""
    z = np.where(ON_EDGE, 18.0 + tilt * X, np.nan)
    z[(X > 4.0) & (X < 16.0) | (X > 600.0) & (X < 614.0)] = 0.0
    return z + rail_error(X) + np.random.default_rng(seed).normal(0.0, noise, X.size)


def scans(make_profile: Callable[..., Profile], count: int = 4, noise: float = 0.002) -> list:
    return [make_profile(X, readings(noise, k), 1 if k % 2 else -1) for k in range(count)]


def off_truth(rail: RailMap) -> np.ndarray:
    off = rail.r_mm - rail_error(rail.x_mm)
    return off - np.polyval(np.polyfit(rail.x_mm, off, 1), rail.x_mm)


def test_the_map_is_the_rail_within_noise(
    make_profile: Callable[..., Profile], pads: tuple[Pad, ...]
) -> None:
    rail = estimate_rail(scans(make_profile), pads, 0.0).map()
    assert rail.x_mm[0] < 43.0
    assert rail.x_mm[-1] > 577.0
    off = off_truth(rail)
    # 32 readings in a cell: 0.35 um, and u says so
    assert np.std(off) < 0.5e-3
    assert np.mean(np.abs(off) < 2.0 * rail.u_mm) > 0.93


def test_a_line_is_taken_off(make_profile: Callable[..., Profile], pads: tuple[Pad, ...]) -> None:
    rail = estimate_rail(scans(make_profile), pads, 0.0).map()
    slope, offset = np.polyfit(rail.x_mm, rail.r_mm, 1)
    assert slope == pytest.approx(0.0, abs=1e-12)
    assert offset == pytest.approx(0.0, abs=1e-9)


def test_the_straightedge_stands_in_the_uncertainty(
    make_profile: Callable[..., Profile], pads: tuple[Pad, ...]
) -> None:
    scanned = scans(make_profile, noise=1e-4)
    good, bent = (estimate_rail(scanned, pads, um).map().u_mm for um in (0.0, 3.0))
    assert np.sqrt(np.mean(good**2)) < 2e-4
    # 3 µm rms over it, of which the best line is worth next to nothing
    assert np.sqrt(np.mean(bent**2)) == pytest.approx(3e-3, rel=0.3)


def test_between_and_outside_the_cells(
    make_profile: Callable[..., Profile], pads: tuple[Pad, ...]
) -> None:
    rail = estimate_rail(scans(make_profile, noise=0.0), pads, 0.0).map()
    x = np.arange(60.0, 560.0, 0.173)
    value, _ = rail.at(x)
    off = value - rail_error(x)
    assert np.std(off - np.polyval(np.polyfit(x, off, 1), x)) < 0.2e-3
    held, u = rail.at(rail.x_mm[-1] + np.array([0.0, 10.0]))
    assert held[0] == held[1]
    assert u[1] - u[0] == pytest.approx(0.010, abs=1e-12)


def test_wild_readings_do_not_count(
    make_profile: Callable[..., Profile], pads: tuple[Pad, ...]
) -> None:
    profiles = scans(make_profile)
    hit = profiles[0].z_mm.copy()
    hit[::60] += 0.4
    profiles[0] = make_profile(X, hit)
    assert np.max(np.abs(off_truth(estimate_rail(profiles, pads, 0.0).map()))) < 3e-3


def test_a_neck_on_the_rig_is_no_straightedge(
    make_neck: Callable[..., Any], walnut: Any, pads: tuple[Pad, ...]
) -> None:
    profiles = make_neck(walnut).profiles(lanes=[2.5])
    with pytest.raises(RailError, match=r"is a neck on the rig\?"):
        estimate_rail(profiles, pads, 0.0).map()


def test_nothing_between_the_pads(
    make_profile: Callable[..., Profile], pads: tuple[Pad, ...]
) -> None:
    z = np.where((X > 4.0) & (X < 16.0), 0.0, np.nan)
    with pytest.raises(RailError, match="is the straightedge on the rig"):
        estimate_rail([make_profile(X, z)], pads, 0.0).map()


def test_no_reading_at_all(make_profile: Callable[..., Profile], pads: tuple[Pad, ...]) -> None:
    with pytest.raises(RailError):
        estimate_rail([make_profile(X, np.full_like(X, np.nan))], pads, 0.0).map()


def test_a_short_piece_is_refused(
    make_profile: Callable[..., Profile], pads: tuple[Pad, ...]
) -> None:
    z = np.where((X > 200.0) & (X < 290.0), 18.0, np.nan)
    with pytest.raises(RailError, match=r"is 8\d mm long"):
        estimate_rail([make_profile(X, z)], pads, 0.0).map()
