"""95 % intervals of the sensor's curve and hysteresis hold the truth 95 times in a hundred."""

from __future__ import annotations

import sys

import numpy as np
import pytest

from calibration.sensor.curve import fit_sensor
from calibration.sensor.readings import GaugeReadings

#: name: (gauges, u of the gauges, noise of a reading, order of the truth)
CASES = {
    "noise counts": (7, 1e-4, 5e-4, 1),
    "gauges count": (7, 1e-3, 1e-4, 1),
    "both count, bent": (8, 3e-4, 3e-4, 2),
    "both count, an S": (9, 3e-4, 3e-4, 3),
    "five gauges": (5, 3e-4, 3e-4, 1),
}
AT_MM = np.array([0.3, 1.1, 1.8, 2.6])
LOOP_MM, DRIFT_MM_S = 0.0015, 1.5e-4


def sensor_reads(true_mm: np.ndarray, order: int) -> np.ndarray:
    """The reading of a height: a gain, and a bend far too large to be missed."""
    reading = np.linspace(-0.2, 3.2, 20001)
    height = 0.996 * reading
    if order == 2:
        height = height - 0.008 * reading**2
    if order == 3:
        height = height - 0.01 * (reading - 1.5) ** 3
    return np.interp(true_mm, height, reading)


def visited(
    count: int, u: float, noise: float, order: int, rng: np.random.Generator
) -> GaugeReadings:
    there = np.arange(count)
    which = np.concatenate([there, there[-2::-1]])
    way = np.concatenate([np.ones(count, int), -np.ones(count - 1, int)])
    nominal = np.linspace(0.0, 3.0, count)
    true = (nominal + rng.normal(0.0, u, count))[which]
    t_s = 12.0 * np.arange(which.size) + rng.uniform(-3.0, 3.0, which.size)
    run = DRIFT_MM_S * (t_s - t_s.mean()) - 0.5 * way * LOOP_MM
    reading = sensor_reads(true + run, order) + rng.normal(0.0, noise, which.size)
    return GaugeReadings(nominal[which], np.full(which.size, u), reading, way, t_s, 0.0)


def coverage(name: str, runs: int, seed: int) -> tuple[float, float, float]:
    """(curve, hysteresis, share of right orders)."""
    count, u, noise, order = CASES[name]
    rng = np.random.default_rng(seed)
    at = sensor_reads(AT_MM, order)
    curve, loop, right = [], [], []
    for _ in range(runs):
        fit = fit_sensor(visited(count, u, noise, order, rng))
        assert fit.hysteresis is not None
        curve.append(np.abs(fit.curve.apply(at)[0] - AT_MM) <= fit.curve.half_width_mm(at))
        off = abs(fit.hysteresis.whole_mm - LOOP_MM)
        loop.append(off <= fit.hysteresis.half_width_mm)
        right.append(fit.order.order == order)
    return float(np.mean(curve)), float(np.mean(loop)), float(np.mean(right))


@pytest.mark.parametrize("name", ["both count, bent", "gauges count"])
def test_short(name: str) -> None:
    curve, loop, right = coverage(name, 80, 11)
    assert 0.89 <= curve <= 0.99
    assert 0.87 <= loop <= 0.99
    assert right > 0.95


@pytest.mark.campaign
@pytest.mark.parametrize("name", CASES)
def test_long(name: str, capsys: pytest.CaptureFixture[str]) -> None:
    curve, loop, right = coverage(name, 2000, 12)
    with capsys.disabled():
        sys.stdout.write(
            f"\n{name}: curve {curve:.3f}, hysteresis {loop:.3f}, right order {right:.3f}\n"
        )
    assert 0.93 <= curve <= 0.97
    assert 0.93 <= loop <= 0.97
    assert right > 0.98
