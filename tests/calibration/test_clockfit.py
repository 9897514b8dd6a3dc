"""Device clocks behind late arrivals: where they stand, how well that is known."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest
from numpy.random import Generator

from calibration.clocks.fit import ClockError, fit_clock

Delay = Callable[[np.ndarray, Generator], np.ndarray]
PASS_S, EVERY_S = 25.0, 28.0


def alone(host: np.ndarray, rng: Generator) -> np.ndarray:
    """Every sample late by itself, 5 ms in the mean."""
    return host + rng.exponential(5e-3, host.size)


def in_order(host: np.ndarray, rng: Generator) -> np.ndarray:
    """The same, and a late one holds up those behind it."""
    return np.asarray(np.maximum.accumulate(alone(host, rng)))


def in_bursts(host: np.ndarray, rng: Generator) -> np.ndarray:
    """A host that looks every 5 ms in the mean, and takes all there is."""
    looks = host[0] + np.cumsum(rng.exponential(5e-3, int(1.3 * np.ptp(host) / 5e-3) + 99))
    return np.asarray(looks[np.searchsorted(looks, host)])


def passes(count: int, rate_hz: float = 400.0) -> np.ndarray:
    """Device seconds of so many passes with pauses between."""
    one = np.arange(0.0, PASS_S, 1.0 / rate_hz)
    return np.concatenate([EVERY_S * n + one for n in range(count)])


def errors(count: int, delay: Delay, rng: Generator) -> tuple[np.ndarray, np.ndarray]:
    """(error of the fit at some times of the session, stated uncertainty there), seconds."""
    rate = 1.0 + 1e-6 * rng.uniform(-50.0, 50.0)
    device = passes(count)
    fit = fit_clock(device, 3.0 + delay(rate * device, rng))
    at = rng.choice(device, 8)
    return fit.host(at) - 3.0 - rate * at, fit.u_at(at)


@pytest.mark.parametrize("delay", [alone, in_order, in_bursts])
def test_the_stated_uncertainty_covers_the_error(delay: Delay) -> None:
    rng = np.random.default_rng(2)
    found = [errors(1, delay, rng) for _ in range(60)]
    error, u = (np.array(column) for column in zip(*found, strict=True))
    assert 0.89 < np.mean(np.abs(error) < 1.96 * u) < 0.995
    assert np.sqrt(np.mean(error**2)) < 40e-6


def test_a_longer_session_is_known_better() -> None:
    rng = np.random.default_rng(3)
    one, many = (fit_clock(passes(n), in_order(passes(n), rng)) for n in (1, 12))
    assert many.u_s < 0.3 * one.u_s
    assert many.u_s < 3e-6


def test_a_clock_whose_rate_wanders_is_followed() -> None:
    """2 parts in a million to and fro, over half an hour: 1.2 ms of bend."""
    rng = np.random.default_rng(4)
    device = passes(60)
    host = device + 6e-4 * np.sin(device / 300.0)
    fit = fit_clock(device, in_order(host, rng))
    off = fit.host(device) - host
    assert np.sqrt(np.mean(off**2)) < 6e-6
    assert np.sqrt(np.mean(off**2)) < 2.5 * fit.u_s


def test_wall_clock_nanoseconds_and_any_scale_of_time() -> None:
    """A simulated rig may run ten times as fast: its clock is no less straight for it."""
    rng = np.random.default_rng(5)
    device = 4000.0 + passes(2)
    arrival = 0.1 * device + rng.exponential(5e-4, device.size)
    fit = fit_clock(device, arrival)
    assert fit.rate == pytest.approx(0.1, rel=1e-5)
    assert fit.offset_s == pytest.approx(0.0, abs=1e-3)
    np.testing.assert_allclose(fit.host(device), 0.1 * device, atol=3e-5)
    assert fit.delay_s == pytest.approx(5e-4 * np.log(2.0), rel=0.1)


def test_a_block_that_was_held_up_whole_says_nothing() -> None:
    rng = np.random.default_rng(6)
    device = passes(1)
    arrival = in_order(device, rng)
    busy = (device > 8.0) & (device < 11.0)
    arrival[busy] = 11.3
    fit = fit_clock(device, arrival)
    assert np.max(np.abs(fit.host(device) - device)) < 2e-4
    assert fit.u_s < 1e-4


def test_beyond_its_ends_the_clock_goes_straight_on() -> None:
    rng = np.random.default_rng(7)
    device = passes(1)
    fit = fit_clock(device, alone(1.00004 * device, rng))
    np.testing.assert_allclose(fit.host(np.array([-1.0, 26.0])), [-1.00004, 26.00104], atol=3e-5)


def test_too_few_samples() -> None:
    with pytest.raises(ClockError, match="239 samples; a clock needs at least 240"):
        fit_clock(np.arange(239.0), np.arange(239.0))


def test_samples_that_stand_alone() -> None:
    device = 3.0 * np.arange(300.0)
    with pytest.raises(ClockError, match="every sample stands alone"):
        fit_clock(device, device)


def test_arrivals_that_do_not_follow_the_clock() -> None:
    device = passes(1)
    with pytest.raises(ClockError, match="do not follow"):
        fit_clock(device, 10.0 - device)
