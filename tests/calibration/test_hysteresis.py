"""Rising against falling, and what drift does to it."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from calibration.sensor.curve import fit_sensor
from calibration.sensor.readings import GaugeReadings

GAUGES = np.array([0.0, 0.5, 1.0, 1.5, 2.0, 2.5])
WHICH = np.array([0, 1, 2, 3, 4, 5, 4, 3, 2, 1, 0])
WAY = np.array([1, 1, 1, 1, 1, 1, -1, -1, -1, -1, -1])


def visited(
    loop_mm: float, drift_mm_s: float, noise_mm: float = 1e-4, timed: bool = True, seed: int = 1
) -> GaugeReadings:
    rng = np.random.default_rng(seed)
    t_s = 10.0 * np.arange(WHICH.size)
    reading = GAUGES[WHICH] - 0.5 * WAY * loop_mm + drift_mm_s * t_s
    reading = reading + rng.normal(0.0, noise_mm, WHICH.size)
    t_s = t_s if timed else np.zeros_like(t_s)
    return GaugeReadings(GAUGES[WHICH], np.full(WHICH.size, 1e-4), reading, WAY, t_s, 0.0)


@settings(deadline=None, max_examples=25)
@given(st.floats(-0.01, 0.01), st.floats(-2e-4, 2e-4))
def test_without_noise_both_come_out_as_they_are(loop_mm: float, drift_mm_s: float) -> None:
    found = fit_sensor(visited(loop_mm, drift_mm_s, 0.0)).hysteresis
    assert found is not None
    assert found.whole_mm == pytest.approx(loop_mm, abs=1e-9)
    assert found.drift_mm_s == pytest.approx(drift_mm_s, abs=1e-11)
    np.testing.assert_allclose(found.each_mm, loop_mm, atol=1e-9)
    assert found.gauge_mm.tolist() == GAUGES[:-1].tolist()


def test_drift_does_not_tilt_the_curve() -> None:
    """10 µm a minute over two minutes: read one way it is an error of scale, and no scatter."""
    both = visited(0.0, 1.7e-4)
    there = both.kept(WAY > 0)
    assert fit_sensor(both).curve.coefficients[1] == pytest.approx(1.0, abs=2e-4)
    blind = fit_sensor(there)
    assert abs(blind.curve.coefficients[1] - 1.0) > 2e-3
    assert blind.curve.scatter_mm < 3e-4
    assert blind.hysteresis is None


def test_a_loop_that_is_seen_adds_its_half_and_one_that_is_not_adds_nothing() -> None:
    seen, none = fit_sensor(visited(0.004, 0.0)), fit_sensor(visited(0.0, 0.0))
    assert seen.hysteresis is not None
    assert seen.hysteresis.seen
    assert seen.hysteresis.half_mm == pytest.approx(0.002, abs=2e-4)
    at = np.array([1.0])
    assert seen.curve.apply(at)[1][0] == pytest.approx(0.002, abs=2e-4)
    assert seen.curve.half_width_mm(at)[0] < 5e-4
    between = seen.curve.u_of_difference(1.0, 2.0, same_way=False)
    assert between == pytest.approx(0.0028, abs=3e-4)
    assert seen.curve.u_of_difference(1.0, 2.0) < 5e-4
    assert none.hysteresis is not None
    assert not none.hysteresis.seen
    assert none.curve.hysteresis_mm == 0.0


def test_a_loop_is_seen_by_chance_as_often_as_it_says() -> None:
    seen = 0
    for seed in range(120):
        found = fit_sensor(visited(0.0, 1e-4, seed=seed)).hysteresis
        assert found is not None
        seen += found.seen
    assert seen <= 5


def test_without_times_drift_is_in_the_loop() -> None:
    found = fit_sensor(visited(0.003, 0.0, timed=False)).hysteresis
    assert found is not None
    assert found.whole_mm == pytest.approx(0.003, abs=3e-4)
    assert found.drift_mm_s == 0.0
