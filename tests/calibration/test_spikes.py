"""Noise of a reading, and readings that stand alone."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from calibration.spikes import noise_mm, spike_flags

ROUNDING = 0.001 / np.sqrt(12.0)


@pytest.mark.parametrize("sigma", [0.0005, 0.002, 0.01])
def test_noise_on_a_slope_with_crowns_and_spikes(sigma: float) -> None:
    rng = np.random.default_rng(1)
    x = np.arange(0.0, 500.0, 0.0625)
    z = 0.01 * x + np.maximum(0.0, 1.1 - 0.4 * ((x % 50.0) - 12.0) ** 2)
    z += rng.normal(0.0, sigma, x.size)
    z[::97] += 0.3
    assert noise_mm(z, 1e-6) == pytest.approx(sigma, rel=0.12)


def test_zero_median_deviation_means_rounding_noise() -> None:
    """A coarse sensor on a still surface: most differences are nothing."""
    z = np.full(1000, 0.123)
    z[::50] += 0.001
    assert noise_mm(z, 0.001) == pytest.approx(ROUNDING)


@pytest.mark.parametrize("z", [[], [1.0], [1.0, 2.0], [np.nan] * 10, [1.0, np.nan, 2.0] * 3])
def test_too_little_to_tell_means_rounding_noise(z: list[float]) -> None:
    assert noise_mm(np.array(z), 0.001) == pytest.approx(ROUNDING)


def test_missing_readings_do_not_count() -> None:
    z = np.random.default_rng(2).normal(0.0, 0.002, 20_000)
    z[::7] = np.nan
    assert noise_mm(z, 1e-6) == pytest.approx(0.002, rel=0.05)


def test_lone_spikes_are_flagged_on_flats_and_flanks() -> None:
    rng = np.random.default_rng(3)
    x = np.arange(-5.0, 5.0, 0.0625)
    z = np.maximum(0.0, np.sqrt(np.clip(1.44 - x**2, 0.0, None)) - 0.1)
    z += rng.normal(0.0, 0.002, x.size)
    hit = np.array([10, 40, 75, 80, 84, 120])
    z[hit] += np.array([0.03, -0.05, 0.4, 0.5, -0.4, 0.03])
    assert spike_flags(z, 0.002)[hit].all()


def test_two_neighbouring_spikes_are_both_flagged() -> None:
    z = np.zeros(50)
    z[20:22] = 0.5
    assert np.flatnonzero(spike_flags(z, 0.001)).tolist() == [20, 21]


def test_flanks_of_a_crown_are_no_spikes() -> None:
    """Readings 0.0625 mm apart on a crown that rises 1 mm from the board in two of them."""
    x = np.arange(-5.0, 5.0, 0.0625)
    z = np.where(np.abs(x) < 1.2, np.sqrt(np.clip(1.44 - x**2, 0.0, None)), 0.0)
    flags = spike_flags(z, 0.0003)
    # the top itself lies off the median of five by its sagitta, far under eight deviations
    assert not flags[np.abs(x) < 0.8].any()


def test_false_alarms_are_rare_in_white_noise() -> None:
    z = np.random.default_rng(4).normal(0.0, 0.002, 100_000)
    assert np.count_nonzero(spike_flags(z, 0.002)) == 0


@pytest.mark.parametrize("size", [0, 1, 4])
def test_short_passes_flag_only_what_is_missing(size: int) -> None:
    z = np.full(size, 1.0)
    z[:1] = np.nan
    assert spike_flags(z, 0.001).tolist() == np.isnan(z).tolist()


def test_nothing_but_missing_readings() -> None:
    assert spike_flags(np.full(9, np.nan), 0.001).all()


@settings(deadline=None, max_examples=100)
@given(st.lists(st.one_of(st.floats(-1, 1), st.just(np.nan)), max_size=60), st.floats(1e-4, 0.1))
def test_missing_is_always_flagged_and_shape_kept(z: list[float], noise: float) -> None:
    readings = np.array(z, dtype=float)
    flags = spike_flags(readings, noise)
    assert flags.shape == readings.shape
    assert flags.dtype == bool
    assert flags[np.isnan(readings)].all()


@settings(deadline=None, max_examples=50)
@given(st.floats(-10, 10), st.floats(-0.5, 0.5))
def test_a_straight_slope_has_no_spikes(offset: float, slope: float) -> None:
    assert not spike_flags(offset + slope * np.arange(50.0), 0.0003)[2:-2].any()
