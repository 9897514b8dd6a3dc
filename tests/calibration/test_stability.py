"""Allan deviation of a still sensor, and the advice drawn from it."""

from __future__ import annotations

import numpy as np
import pytest

from calibration.drift.still import (
    allan_deviation,
    drift_advice_s,
    hadamard_deviation,
    pad_noise_mm,
)

TAU0_S = 0.01


def by_definition(z: np.ndarray, m: int) -> float:
    means = [np.mean(z[i : i + m]) for i in range(z.size - m + 1)]
    steps = [means[i + m] - means[i] for i in range(len(means) - m)]
    return float(np.sqrt(np.mean(np.square(steps)) / 2.0))


def test_it_is_its_definition() -> None:
    z = 5000.0 + np.cumsum(np.random.default_rng(2).normal(size=300))
    m = np.array([1, 2, 7, 60, 150])
    np.testing.assert_allclose(
        allan_deviation(z, m), [by_definition(z, int(k)) for k in m], rtol=1e-9
    )


def test_white_noise_falls_with_the_root() -> None:
    z = np.random.default_rng(3).normal(0.0, 0.002, 200_000)
    m = np.array([1, 10, 100, 1000])
    np.testing.assert_allclose(allan_deviation(z, m), 0.002 / np.sqrt(m), rtol=0.15)


def test_steady_drift_rises_with_time() -> None:
    slope = 1e-6
    z = slope * np.arange(10_000)
    m = np.array([10, 1000])
    np.testing.assert_allclose(allan_deviation(z, m), slope * m / np.sqrt(2.0), rtol=1e-9)


@pytest.mark.parametrize("m", [0, 51])
def test_lengths_out_of_range_are_refused(m: int) -> None:
    with pytest.raises(ValueError, match=f"found {m} to {m}; allowed 1 to 50"):
        allan_deviation(np.zeros(100), np.array([m]))


def test_missing_readings_are_refused() -> None:
    with pytest.raises(ValueError, match="missing"):
        allan_deviation(np.array([0.0, np.nan, 1.0, 2.0]), np.array([1]))


def test_steady_drift_costs_nothing_between_two_pads() -> None:
    rng = np.random.default_rng(5)
    white = rng.normal(0.0, 0.002, 60_000)
    steady = white + 5e-5 * TAU0_S * np.arange(60_000)
    np.testing.assert_allclose(
        hadamard_deviation(steady, np.array([100, 5000])),
        hadamard_deviation(white, np.array([100, 5000])),
        rtol=1e-6,
    )
    assert drift_advice_s(steady, TAU0_S, 100, 0.001) == drift_advice_s(white, TAU0_S, 100, 0.001)


@pytest.mark.parametrize(("size_mm", "period_s"), [(0.003, 200.0), (0.01, 200.0), (0.01, 100.0)])
def test_advice_on_a_wander(size_mm: float, period_s: float) -> None:
    """What a straight line between pads leaves of a sine is the noise of a pad reading, 0.2 um."""
    t = TAU0_S * np.arange(240_000)
    noise = np.random.default_rng(5).normal(0.0, 0.002, t.size)
    z = noise + size_mm * np.sin(2.0 * np.pi * t / period_s)
    advice = drift_advice_s(z, TAU0_S, 100, 0.001)
    left = size_mm * (1.0 - np.cos(np.pi * advice / period_s)) / np.sqrt(2.0)
    assert 0.3 * 2e-4 < left < 1.3 * 2e-4


def test_no_drift_shows_for_as_long_as_was_watched() -> None:
    z = np.random.default_rng(6).normal(0.0, 0.002, 40_000)
    assert drift_advice_s(z, TAU0_S, 100, 0.001) == pytest.approx(13_300 * TAU0_S, rel=0.5)


def test_faster_drift_brings_one_back_sooner() -> None:
    white = np.random.default_rng(7).normal(0.0, 0.002, 60_000)
    walk = np.cumsum(np.random.default_rng(8).normal(0.0, 1.0, 60_000))
    advice = [drift_advice_s(white + q * walk, TAU0_S, 100, 0.001) for q in (1e-6, 1e-5, 1e-4)]
    assert advice[0] > advice[1] > advice[2] >= 100 * TAU0_S


def test_a_quantised_still_sensor_has_no_zero_noise() -> None:
    """Every reading equal: the deviation is zero, the pad's noise is its rounding."""
    still = np.full(4000, 1.234)
    assert allan_deviation(still, np.array([1, 100])).tolist() == [0.0, 0.0]
    assert pad_noise_mm(still, 100, 0.001) == pytest.approx(0.001 / np.sqrt(12.0))
    assert drift_advice_s(still, TAU0_S, 100, 0.001) == pytest.approx(1332 * TAU0_S)


def test_pad_noise_averages_down_where_noise_hides_the_steps() -> None:
    z = 0.001 * np.round(np.random.default_rng(1).normal(0.0, 2.0, 50_000))
    assert pad_noise_mm(z, 100, 0.001) == pytest.approx(2.02e-4, rel=0.03)


def test_short_records_are_refused() -> None:
    with pytest.raises(ValueError, match="at least 1200"):
        drift_advice_s(np.zeros(1199), TAU0_S, 100, 0.001)
