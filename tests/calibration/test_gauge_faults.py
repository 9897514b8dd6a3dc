"""Gauges that were not the ones they were said to be."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from calibration.sensor.faults import check_gauges
from calibration.sensor.readings import GaugeReadings, SensorError

GAUGES = np.array([0.0, 0.5, 1.0, 1.5, 2.0])
WHICH = np.array([0, 1, 2, 3, 4, 3, 2, 1, 0])
WAY = np.array([1, 1, 1, 1, 1, -1, -1, -1, -1])


def both_ways(seed: int = 1, bend: float = 0.0) -> GaugeReadings:
    rng = np.random.default_rng(seed)
    true = GAUGES[WHICH]
    reading = 1.01 * true + bend * true**2 + rng.normal(0.0, 2e-4, true.size)
    t_s = 10.0 * np.arange(true.size)
    return GaugeReadings(true, np.full(true.size, 3e-4), reading, WAY, t_s, 1e-4)


def one_way(*reading: float) -> GaugeReadings:
    return GaugeReadings.once(
        np.array(reading), GAUGES[: len(reading)], np.full(len(reading), 3e-4)
    )


def exchanged(readings: GaugeReadings, *pairs: tuple[int, int]) -> GaugeReadings:
    reading = readings.reading_mm.copy()
    for a, b in pairs:
        reading[[a, b]] = reading[[b, a]]
    return replace(readings, reading_mm=reading)


def moved(readings: GaugeReadings, by_mm: float, *rows: int) -> GaugeReadings:
    reading = readings.reading_mm.copy()
    reading[list(rows)] += by_mm
    return replace(readings, reading_mm=reading)


@pytest.mark.parametrize("bend", [0.0, 0.02])
def test_good_gauges_pass(bend: float) -> None:
    for seed in range(25):
        check_gauges(both_ways(seed, bend))


def test_a_wild_gauge_is_not_called_so_by_chance() -> None:
    """What the gauges' stated errors allow is no mistake."""
    rng = np.random.default_rng(3)
    for _ in range(25):
        readings = both_ways()
        wrong = rng.normal(0.0, 0.004, GAUGES.size)[WHICH]
        loose = replace(readings, u_gauge_mm=np.full(WHICH.size, 0.004))
        check_gauges(replace(loose, reading_mm=loose.reading_mm + wrong))


@pytest.mark.parametrize(
    ("readings", "says"),
    [
        (
            exchanged(both_ways(), (2, 3)),
            r"gauges 1 and 1\.5 mm seem to have been exchanged \(tip rising\): they read 1\.5",
        ),
        (
            exchanged(both_ways(), (5, 6)),
            r"gauges 1 and 1\.5 mm seem to have been exchanged \(tip sinking\)",
        ),
        (
            exchanged(both_ways(), (2, 3), (5, 6)),
            r"gauges 1 and 1\.5 mm seem to have been exchanged both times",
        ),
        (exchanged(both_ways(), (1, 4)), r"gauges 0\.5 and 2 mm seem to have been exchanged"),
        (
            one_way(0.0, 1.01, 0.505, 1.515),
            r"gauges 0\.5 and 1 mm seem to have been exchanged: they read 1\.01 and 0\.505 mm",
        ),
        (
            moved(both_ways(), 0.505, 2),
            r"gauges 1 and 1\.5 mm read the same, 1\.515 mm \(tip rising\): was one of them put",
        ),
        (one_way(0.0, 0.5, 1.0, 1.0), r"gauges 1 and 1\.5 mm read the same.*at its stop\?"),
        (
            moved(both_ways(), 0.05, 3),
            r"gauge 1\.5 mm does not belong to the others: it reads \+\d\d\.\d µm .*\(tip rising\)",
        ),
        (
            moved(both_ways(), 0.05, 3, 5),
            r"gauge 1\.5 mm does not belong to the others: it reads \+\d\d\.\d µm off the curve",
        ),
        (one_way(0.0, 0.9, 0.3, 0.2, 2.0), "not one way: gauges 0.5 and 1 mm"),
        (one_way(0.7, 0.7, 0.701, 0.7), "hardly change with the gauges"),
        (one_way(0.0, 0.3, 1.01), "do not follow the gauges: scatter .* over 1 mm"),
    ],
)
def test_mistakes_are_named(readings: GaugeReadings, says: str) -> None:
    with pytest.raises(SensorError, match=says):
        check_gauges(readings)


def test_close_gauges_in_the_wrong_order_are_noise_not_a_mistake() -> None:
    gauge = np.array([0.0, 1.0, 1.0005, 2.0])
    check_gauges(GaugeReadings.once(np.array([0.0, 1.001, 1.0, 2.0]), gauge, np.zeros(4)))


def test_a_sensor_that_counts_downwards_is_checked_alike() -> None:
    good = both_ways()
    check_gauges(replace(good, reading_mm=-good.reading_mm))
    with pytest.raises(SensorError, match=r"gauges 1 and 1\.5 mm seem to have been exchanged"):
        check_gauges(exchanged(replace(good, reading_mm=-good.reading_mm), (2, 3)))
