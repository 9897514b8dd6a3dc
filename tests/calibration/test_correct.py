"""The chain: spikes, drift, lag, rail, in one order."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest

from calibration.correct import correct
from calibration.lag.lag import Lag
from calibration.passes import Pad, RawPass
from calibration.rail.map import RailMap

MakePass = Callable[..., RawPass]
LAG = Lag(3e-3, 0.0, 0.04, 0.0)


def hills(x: np.ndarray) -> np.ndarray:
    """Soft hills between the pads, steel at them."""
    inside = (x > 30.0) & (x < 585.0)
    return np.where(inside, 0.5 * np.sin(2.0 * np.pi * x / 30.0), 0.0)


def rail_error(x: np.ndarray) -> np.ndarray:
    return 0.02 * np.sin(2.0 * np.pi * x / 300.0)


@pytest.fixture(scope="module")
def rail() -> RailMap:
    x = np.arange(0.0, 620.0, 0.5)
    return RailMap(x, rail_error(x), np.full_like(x, 0.0015))


@pytest.fixture(scope="module")
def dirty(make_pass: MakePass) -> list[RawPass]:
    """Both ways over two lanes with everything wrong at once, and 60 spikes in each."""
    passes = []
    for k in range(4):
        one = make_pass(
            lambda x: hills(x) + rail_error(x),
            direction=1 if k % 2 == 0 else -1,
            lane=1 + k // 2,
            lag_s=LAG.lag_s,
            backlash_mm=LAG.backlash_mm,
            start_s=40.0 * k,
            drift=lambda t: 0.02 * np.sin(t / 90.0),
            noise_mm=0.002,
            seed=k,
        )
        hit = np.random.default_rng(k).choice(one.z_mm.size, 60, replace=False)
        one.z_mm[hit] += 0.5
        passes.append(one)
    return passes


def test_everything_is_undone(dirty: list[RawPass], pads: tuple[Pad, ...], rail: RailMap) -> None:
    profiles = correct(dirty, pads, 0.001, LAG, rail)
    for profile in profiles:
        inside = profile.ok & (profile.x_mm > 35.0) & (profile.x_mm < 580.0)
        off = profile.z_mm[inside] - hills(profile.x_mm[inside])
        off -= np.mean(off)
        assert np.std(off) == pytest.approx(0.002, rel=0.05)
        assert np.max(np.abs(off)) < 0.03
    levels = [
        np.mean((p.z_mm - hills(p.x_mm))[p.ok & (p.x_mm > 35) & (p.x_mm < 580)]) for p in profiles
    ]
    assert np.ptp(levels) < 1.5e-3


def test_each_correction_is_needed(
    dirty: list[RawPass], pads: tuple[Pad, ...], rail: RailMap
) -> None:
    def spread(lag: Lag | None, error: RailMap | None, seen: tuple[Pad, ...]) -> float:
        offs = []
        for p in correct(dirty, seen, 0.001, lag, error):
            inside = p.ok & (p.x_mm > 35.0) & (p.x_mm < 580.0)
            offs.append(p.z_mm[inside] - hills(p.x_mm[inside]))
        return float(np.std(np.concatenate(offs)))

    whole = spread(LAG, rail, pads)
    assert spread(None, rail, pads) > 2.0 * whole
    assert spread(LAG, None, pads) > 3.0 * whole
    assert spread(LAG, rail, ()) > 2.0 * whole


def test_profiles_rise_in_x_and_keep_their_lane(
    dirty: list[RawPass], pads: tuple[Pad, ...]
) -> None:
    for raw, profile in zip(dirty, correct(dirty, pads, 0.001, LAG, None), strict=True):
        assert np.all(np.diff(profile.x_mm) >= 0.0)
        assert (profile.lane, profile.direction) == (raw.lane, raw.direction)
        assert np.all(profile.ok == np.isfinite(profile.z_mm))


def test_raw_is_never_changed(dirty: list[RawPass], pads: tuple[Pad, ...], rail: RailMap) -> None:
    before = [one.z_mm.copy() for one in dirty]
    correct(dirty, pads, 0.001, LAG, rail)
    for one, z in zip(dirty, before, strict=True):
        np.testing.assert_array_equal(one.z_mm, z)


def test_spikes_are_flagged_and_noise_is_told(dirty: list[RawPass], pads: tuple[Pad, ...]) -> None:
    for profile in correct(dirty, pads, 0.001, None, None):
        # 60 spikes, now and then two in one median
        assert 55 <= np.count_nonzero(~profile.ok) <= 64
        assert profile.noise_mm == pytest.approx(0.002, rel=0.1)


def test_rail_uncertainty_is_carried(
    dirty: list[RawPass], pads: tuple[Pad, ...], rail: RailMap
) -> None:
    with_map = correct(dirty, pads, 0.001, LAG, rail)[0]
    without = correct(dirty, pads, 0.001, LAG, None)[0]
    np.testing.assert_allclose(with_map.u_rail_mm, 0.0015, atol=1e-9)
    assert np.all(without.u_rail_mm == 0.0)
    assert 0.0 < with_map.u_drift_mm < 0.5e-3


def test_quantised_still_readings_get_the_rounding_noise(
    make_pass: MakePass, pads: tuple[Pad, ...]
) -> None:
    one = make_pass(lambda x: np.zeros_like(x), quantum_mm=0.001)
    (profile,) = correct([one], pads, 0.001, None, None)
    assert profile.noise_mm == pytest.approx(0.001 / np.sqrt(12.0))
    assert profile.ok.all()


def test_the_screw_comes_first(make_pass: MakePass, pads: tuple[Pad, ...]) -> None:
    """Counts that are 1 % short: lag and backlash are of the carriage, not of the counts."""

    class Long:
        def true_x_mm(self, x_mm: np.ndarray) -> np.ndarray:
            return 1.01 * x_mm

    one = make_pass(lambda x: np.zeros_like(x))
    plain, corrected = (correct([one], pads, 0.001, LAG, None, s)[0] for s in (None, Long()))
    middle = (plain.x_mm > 50.0) & (plain.x_mm < 550.0)
    travel = one.speed_mm_s * LAG.lag_s
    expected = 1.01 * (plain.x_mm + travel + LAG.backlash_mm / 2.0)
    expected -= 1.01 * travel + LAG.backlash_mm / 2.0
    np.testing.assert_allclose(corrected.x_mm[middle], expected[middle], atol=1e-9)
