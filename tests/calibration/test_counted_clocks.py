"""Sensors without a clock of their own: a count of lines, or the time of arrival."""

from __future__ import annotations

import numpy as np
import pytest

from calibration.clocks.clock import unwrap_by_host
from calibration.clocks.fit import ClockError, fit_clock, fit_of_arrivals
from calibration.clocks.slips import without_slips
from calibration.clocks.stamped import Stamped
from calibration.clocks.two import place_samples

ORIGIN_NS = 1_700_000_000_123_456_789
SPEED_MM_S = 10.0


def late(host_s: np.ndarray, rng: np.random.Generator, mean_s: float) -> np.ndarray:
    return np.maximum.accumulate(host_s + rng.exponential(mean_s, host_s.size))


def stamped(t_s: np.ndarray, arrival_s: np.ndarray, *, counted: bool = False) -> Stamped:
    t_us = (np.rint(1e6 * t_s).astype(np.int64) % 2**32).astype(np.uint32)
    return Stamped(t_us, ORIGIN_NS + np.rint(1e9 * arrival_s).astype(np.int64), counted)


def carriage(rng: np.random.Generator, until_s: float) -> tuple[np.ndarray, Stamped]:
    host_s = np.arange(0.0, until_s, 0.02)
    return host_s, stamped(host_s, late(host_s, rng, 2e-3))


def counted(
    period_s: float, until_s: float, lost_one_in: float, surplus_one_in: float, seed: int
) -> tuple[np.ndarray, np.ndarray]:
    """(when the lines were printed, the count's time of each) with slips of both kinds."""
    rng = np.random.default_rng(seed)
    host_s = np.arange(1.0, until_s, period_s)
    host_s = host_s[rng.random(host_s.size) > 1.0 / lost_one_in]
    surplus = rng.random(host_s.size) < 1.0 / surplus_one_in
    return host_s, (np.arange(host_s.size) + np.cumsum(surplus)) * period_s


@pytest.mark.parametrize(
    ("period_s", "delay_s", "rate"), [(0.1, 5e-3, 1.0), (0.02, 5e-3, 1.004), (0.0025, 2e-3, 0.99)]
)
def test_lines_lost_and_lines_too_many_are_put_right(
    period_s: float, delay_s: float, rate: float
) -> None:
    rng = np.random.default_rng(4)
    # some slips each way, whatever the rate
    lost_one_in = 300.0 / period_s / 20.0
    true_s, device_s = counted(period_s, 300.0, lost_one_in, 3.0 * lost_one_in, 3)

    right_s = without_slips(device_s, late(rate * true_s, rng, delay_s))

    off = np.rint((right_s - right_s[0] - (true_s - true_s[0])) / period_s)
    before = np.rint((device_s - (true_s - true_s[0])) / period_s)
    assert np.mean(before != 0) > 0.5
    assert np.mean(off != 0) < 0.02
    assert off[-1] == 0


@pytest.mark.parametrize("lines_before", [1, 2, 4, 8, 11])
def test_a_line_lost_just_before_a_pause_is_not_taken_for_the_pause(lines_before: int) -> None:
    """A hundred lines were never printed, one a little earlier was lost: two slips, not one."""
    rng = np.random.default_rng(9)
    true_s = np.delete(np.arange(0.0, 60.0, 0.02), np.r_[1500 - lines_before, 1501:1601])
    device_s = 0.02 * np.arange(true_s.size)

    right_s = without_slips(device_s, late(true_s, rng, 3e-3))

    off = np.rint((right_s - true_s) / 0.02)
    assert np.abs(off).max() <= 1.0
    assert np.count_nonzero(off) <= 1


def test_without_slips_nothing_is_touched() -> None:
    rng = np.random.default_rng(5)
    device_s = np.arange(0.0, 300.0, 0.02)

    for arrival_s in (device_s, 0.93 * device_s, late(device_s, rng, 8e-3)):
        np.testing.assert_array_equal(without_slips(device_s, arrival_s), device_s)


@pytest.mark.parametrize(("busy_s", "read_every_s"), [(0.8, 0.0), (4.0, 0.0), (4.0, 1e-3)])
def test_a_host_that_was_busy_is_no_slip(busy_s: float, read_every_s: float) -> None:
    rng = np.random.default_rng(6)
    device_s = np.arange(0.0, 100.0, 0.02)
    arrival_s = late(device_s, rng, 2e-3)
    held = (device_s > 50.0) & (device_s < 50.0 + busy_s)
    # caught up with in reads of ten lines each
    arrival_s[held] = 50.0 + busy_s + read_every_s * (np.arange(held.sum()) // 10)
    arrival_s = np.maximum.accumulate(arrival_s)

    np.testing.assert_array_equal(without_slips(device_s, arrival_s), device_s)


@pytest.mark.parametrize("count", [0, 1, 2, 30])
def test_few_lines(count: int) -> None:
    device_s = 0.02 * np.arange(count)

    np.testing.assert_array_equal(without_slips(device_s, device_s), device_s)


def test_a_sensor_that_prints_two_percent_off_and_loses_lines_has_its_place() -> None:
    rng = np.random.default_rng(7)
    carriage_s, axis = carriage(rng, 120.0)
    true_s, count_s = counted(0.0204, 119.0, 600.0, 2000.0, 8)
    sensor = stamped(count_s / 1.02, late(true_s, rng, 3e-3), counted=True)

    placed, clocks = place_samples(sensor, axis)

    off_mm = placed.at(SPEED_MM_S * carriage_s) - SPEED_MM_S * true_s
    # where a line was lost it is not known by a few samples which
    assert np.mean(np.abs(off_mm[placed.ok]) > 0.1) < 0.01
    shift_um = 1e3 * np.median(off_mm[placed.ok])
    assert abs(shift_um) < 3.0 * clocks.travel_jitter_um(SPEED_MM_S)
    assert clocks.travel_jitter_um(SPEED_MM_S) < 5.0
    np.testing.assert_allclose(clocks.sensor[0].rate / clocks.carriage[0].rate, 1.02, atol=2e-4)


def test_a_rate_that_was_set_wrong_is_told() -> None:
    rng = np.random.default_rng(9)
    _, axis = carriage(rng, 60.0)
    true_s = np.arange(1.0, 59.0, 0.025)
    sensor = stamped(0.02 * np.arange(true_s.size), late(true_s, rng, 3e-3), counted=True)

    with pytest.raises(ClockError, match=r"prints 0\.8 times as many lines a second"):
        place_samples(sensor, axis)


def test_arrivals_that_are_the_devices_time_exactly() -> None:
    device_s = np.arange(0.0, 60.0, 0.02)

    fit = fit_clock(device_s, device_s)

    np.testing.assert_allclose(fit.host(device_s), device_s, atol=1e-9)
    assert fit.u_s < 1e-9
    assert fit.rate == pytest.approx(1.0, abs=1e-12)


def by_arrival(arrival_s: np.ndarray) -> Stamped:
    arrival_ns = ORIGIN_NS + np.rint(1e9 * arrival_s).astype(np.int64)
    return Stamped((arrival_ns // 1000 % 2**32).astype(np.uint32), arrival_ns)


@pytest.mark.parametrize("scatter_s", [0.0, 1e-3, 4e-3])
def test_a_polled_sensor_is_known_no_better_than_its_answers_scatter(scatter_s: float) -> None:
    rng = np.random.default_rng(10)
    carriage_s, axis = carriage(rng, 120.0)
    asked_s = np.arange(1.0, 119.0, 0.02)
    answered_s = asked_s + 0.005 + scatter_s * np.abs(rng.normal(size=asked_s.size))

    placed, clocks = place_samples(by_arrival(answered_s), axis)

    off_mm = placed.at(SPEED_MM_S * carriage_s) - SPEED_MM_S * asked_s
    blur_um = 1e3 * float(np.std(off_mm[placed.ok]))
    told_um = clocks.travel_jitter_um(SPEED_MM_S)
    assert 0.9 * blur_um < told_um + 0.5 < 2.0 * blur_um + 3.0
    # the mean of it is one with the latency, and no more than it can be
    assert np.mean(off_mm[placed.ok]) == pytest.approx(SPEED_MM_S * 0.005, abs=0.05)


def test_a_sensor_read_seldom_and_a_carriage_with_it() -> None:
    rng = np.random.default_rng(11)
    carriage_s = np.arange(0.0, 100.0, 0.2)
    axis = stamped(carriage_s, late(carriage_s, rng, 2e-3))
    asked_s = np.arange(1.03, 99.0, 0.2)

    placed, _ = place_samples(by_arrival(asked_s), axis)

    assert placed.ok.all()
    assert np.abs(placed.at(carriage_s) - asked_s).max() < 0.005


def test_one_arrival_is_a_clock_too() -> None:
    fit = fit_of_arrivals(np.array([3.0]))

    assert (fit.host(np.array([5.0])).tolist(), fit.u_s) == ([5.0], 0.0)


def test_a_wrapped_clock_of_arrivals_is_seen_as_one() -> None:
    arrival_s = np.arange(0.0, 9000.0, 7.0)
    stamps = by_arrival(arrival_s)

    assert not stamps.has_clock
    assert not np.array_equal(np.sort(stamps.t_us), stamps.t_us)
    np.testing.assert_allclose(np.diff(unwrap_by_host(stamps.t_us, arrival_s)), 7.0, atol=2e-6)
