"""Where the carriage of one device was at the samples of another."""

from __future__ import annotations

import numpy as np
import pytest

from calibration.clocks.clock import unwrap_by_host
from calibration.clocks.fit import ClockError
from calibration.clocks.stamped import Stamped
from calibration.clocks.two import place_samples

ORIGIN_NS = 1_700_000_000_123_456_789
WRAP = 2**32


def stamped(
    host_s: np.ndarray, rng: np.random.Generator, ppm: float = 0.0, start_us: int = 0
) -> Stamped:
    """Samples at these host times, by a clock of its own, up to 5 ms and more late."""
    ticks = start_us + np.rint(1e6 * host_s * (1.0 + 1e-6 * ppm)).astype(np.int64)
    late = np.maximum.accumulate(host_s + rng.exponential(5e-3, host_s.size))
    return Stamped(
        (ticks % WRAP).astype(np.uint32), ORIGIN_NS + np.rint(1e9 * late).astype(np.int64)
    )


def pair(seed: int = 1, **carriage: float) -> tuple[np.ndarray, Stamped, np.ndarray, Stamped]:
    """Two passes; the sensor's times lie between the carriage's. Clocks wrap in the middle."""
    rng = np.random.default_rng(seed)
    one = np.arange(0.0, 25.0, 0.0025)
    host = np.concatenate([1.0 + one, 31.0 + one])
    sensor = stamped(host + 0.0009, rng, ppm=45.0, start_us=WRAP - 40_000_000)
    moved = stamped(host, rng, ppm=carriage.get("ppm", -45.0), start_us=WRAP - 12_000_000)
    return host + 0.0009, sensor, host, moved


def test_every_reading_gets_its_place() -> None:
    """At 25 mm/s 40 µs are a micrometre."""
    sensor_s, sensor, carriage_s, carriage = pair()
    placed, clocks = place_samples(sensor, carriage)
    place_mm = placed.at(25.0 * carriage_s)
    off_um = 1e3 * (place_mm - 25.0 * sensor_s)[placed.ok]
    assert np.count_nonzero(~placed.ok) <= 2
    assert np.sqrt(np.mean(off_um**2)) < 0.6
    assert clocks.travel_jitter_um(25.0) == pytest.approx(25e3 * clocks.u_s)
    assert 0.05 < clocks.travel_jitter_um(-25.0) < 1.0


def test_readings_without_carriage_samples_about_them_have_no_place() -> None:
    sensor_s, sensor, carriage_s, carriage = pair()
    seen = (carriage_s > 3.0) & ~((carriage_s > 10.0) & (carriage_s < 10.5))
    placed, _ = place_samples(sensor, Stamped(carriage.t_us[seen], carriage.arrival_ns[seen]))
    expected = (sensor_s > 3.0) & ~((sensor_s > 10.0) & (sensor_s < 10.5))
    assert np.count_nonzero(placed.ok != expected) <= 6
    assert np.all(np.isfinite(placed.share))


def test_a_few_lost_carriage_samples_are_bridged() -> None:
    sensor_s, sensor, carriage_s, carriage = pair()
    seen = np.arange(carriage_s.size) % 40 > 4
    placed, _ = place_samples(sensor, Stamped(carriage.t_us[seen], carriage.arrival_ns[seen]))
    off_mm = placed.at(25.0 * carriage_s[seen]) - 25.0 * sensor_s
    assert np.mean(placed.ok) > 0.999
    assert np.max(np.abs(off_mm[placed.ok])) < 0.003


def test_a_device_that_started_anew_between_passes() -> None:
    rng = np.random.default_rng(2)
    sensor_s, _, carriage_s, carriage = pair()
    first = sensor_s < 28.0
    before = stamped(sensor_s[first], rng, start_us=123_000_000)
    after = stamped(sensor_s[~first], rng, start_us=-int(1e6 * sensor_s[~first][0]) + 700_000)
    both = Stamped(
        np.concatenate([before.t_us, after.t_us]),
        np.concatenate([before.arrival_ns, after.arrival_ns]),
    )
    placed, clocks = place_samples(both, carriage)
    assert len(clocks.sensor) == 2
    off_um = 1e3 * (placed.at(25.0 * carriage_s) - 25.0 * sensor_s)[placed.ok]
    assert np.mean(placed.ok) > 0.99
    assert np.sqrt(np.mean(off_um**2)) < 1.5


def test_clocks_that_cannot_both_be_right() -> None:
    _, sensor, _, carriage = pair(ppm=30_000.0)
    with pytest.raises(ClockError, match=r"go 3\.\d% apart"):
        place_samples(sensor, carriage)


@pytest.mark.parametrize("count", [0, 100])
def test_too_little_on_one_link(count: int) -> None:
    _, sensor, _, carriage = pair()
    few = Stamped(carriage.t_us[:count], carriage.arrival_ns[:count])
    with pytest.raises(ClockError, match=r"no samples came on one|too few"):
        place_samples(sensor, few)


def test_a_pause_of_any_length_is_counted_by_the_host() -> None:
    passed_s = np.array([0.0, 1.0, 4000.0, 20_000.0, 20_000.5])
    ticks = ((4_294_000_000 + np.rint(1e6 * passed_s).astype(np.int64)) % WRAP).astype(np.uint32)
    found = unwrap_by_host(ticks, 55.0 + passed_s + 0.004)
    np.testing.assert_allclose(found - found[0], passed_s, atol=1e-6)
    assert found[0] == pytest.approx(4294.0)
