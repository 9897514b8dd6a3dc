"""The sensor's calibration curve. Published values: tests/published."""

from __future__ import annotations

import numpy as np
import pytest

from calibration.sensor.curve import SensorCurve, SensorFit, fit_sensor
from calibration.sensor.readings import GaugeReadings, SensorError

GAUGES = np.array([0.0, 0.5, 1.0, 1.5, 2.0, 2.5])


def fitted(reading: np.ndarray, gauge: np.ndarray, u_gauge: np.ndarray | float = 0.0) -> SensorFit:
    return fit_sensor(GaugeReadings.once(reading, gauge, np.broadcast_to(u_gauge, gauge.shape)))


def curve_of(reading: np.ndarray, gauge: np.ndarray, u: np.ndarray | float = 0.0) -> SensorCurve:
    return fitted(reading, gauge, u).curve


def test_exact_line_is_found_and_not_called_bent() -> None:
    curve = curve_of((GAUGES - 0.02) / 1.003, GAUGES)
    value, u, inside = curve.apply(np.array([0.7]))
    assert value[0] == pytest.approx(1.003 * 0.7 + 0.02, abs=1e-12)
    assert u[0] < 1e-9
    assert inside[0]
    assert curve.order == 1
    assert curve.linearity_mm < 1e-12


def test_exact_quadratic_is_called_bent_and_its_linearity_is_shown() -> None:
    reading = np.linspace(-1.0, 1.0, 9)
    curve = curve_of(reading, 1.5 + reading + 0.03 * reading**2)
    assert curve.order == 2
    np.testing.assert_allclose(curve.residuals_mm, 0.0, atol=1e-12)
    # furthest off its own line: at the ends, 0.03 (1 - mean of r^2)
    assert curve.linearity_mm == pytest.approx(0.03 * (1.0 - np.mean(reading**2)), abs=1e-12)


@pytest.mark.parametrize("power", [3, 4])
def test_an_s_and_a_quartic_are_found(power: int) -> None:
    """Over even gauges an S has no part in the quadratic: one term more does not show it."""
    rng = np.random.default_rng(7)
    reading = np.linspace(-1.0, 1.0, 12)
    gauge = reading + 0.01 * reading**power + rng.normal(0.0, 2e-4, 12)
    assert fitted(reading, gauge).order.order == power


def test_f_test_takes_a_line_for_bent_as_often_as_it_says() -> None:
    rng = np.random.default_rng(4)
    gauge = np.tile(GAUGES, 2)
    bent = [fitted(gauge + rng.normal(0, 0.002, 12), gauge).curve.order > 1 for _ in range(400)]
    assert 0.001 < np.mean(bent) < 0.025


def test_a_bend_the_gauges_could_make_is_no_bend() -> None:
    """12 µm off in the middle: much for gauges known to 1 µm, nothing for shims known to 10."""
    rng = np.random.default_rng(1)
    bend = 0.012 * (1.0 - ((GAUGES - 1.25) / 1.25) ** 2)
    gauge = np.repeat(GAUGES, 2)
    reading = gauge + np.repeat(bend, 2) + rng.normal(0.0, 1e-4, gauge.size)
    assert fitted(reading, gauge, 0.001).order.order == 2
    assert fitted(reading, gauge, 0.010).order.order == 1


def test_the_unseen_bend_is_the_size_that_is_missed_as_often_as_not() -> None:
    rng = np.random.default_rng(2)
    gauge = np.linspace(0.0, 3.0, 9)
    scaled = (gauge - 1.5) / 1.5
    shape = scaled**2 - np.mean(scaled**2)
    unseen = np.mean(
        [fitted(gauge + rng.normal(0, 5e-4, 9), gauge).order.unseen_mm for _ in range(60)]
    )
    bend = unseen / np.max(np.abs(shape)) * shape
    seen = [
        fitted(gauge + rng.normal(0, 5e-4, 9), gauge + bend).order.order > 1 for _ in range(120)
    ]
    assert 0.3 < np.mean(seen) < 0.7


def test_uncertainty_of_a_bent_curve_keeps_its_covariance() -> None:
    """Against the scatter of curves fitted anew: at the middle, offset and bend work together."""
    rng = np.random.default_rng(3)
    reading = np.linspace(0.0, 2.0, 12)
    gauge = reading + 0.2 * reading**2
    at = np.array([0.0, 1.0, 2.0])
    curves = [curve_of(reading, gauge + rng.normal(0, 0.002, 12)) for _ in range(150)]
    quadratic = [curve for curve in curves if curve.order == 2]
    assert len(quadratic) > 143
    values, u, _ = zip(*(curve.apply(at) for curve in quadratic), strict=True)
    np.testing.assert_allclose(
        np.std(values, axis=0), np.sqrt(np.mean(np.square(u), axis=0)), rtol=0.2
    )


def test_gauges_own_uncertainty_stays_however_often_they_are_read() -> None:
    gauge = np.repeat(GAUGES, 100)
    curve = curve_of(gauge, gauge, 0.001)
    assert curve.apply(np.array([1.25]))[1][0] == pytest.approx(0.001 / np.sqrt(6.0), rel=1e-3)


def test_a_gauge_known_better_counts_for_more() -> None:
    u = np.array([1e-4, 1e-2, 1e-4, 1e-2, 1e-4, 1e-4])
    gauge = GAUGES.copy()
    gauge[1] += 0.008
    curve = curve_of(GAUGES + 1e-5 * np.array([1, -1, -1, 1, 1, -1]), gauge, u)
    assert curve.apply(np.array([1.5]))[0][0] == pytest.approx(1.5, abs=2e-4)


def test_differences_lose_what_both_heights_share() -> None:
    rng = np.random.default_rng(5)
    gauge = np.repeat(GAUGES, 2)
    curve = curve_of(gauge + rng.normal(0.0, 1e-4, 12), gauge, 0.001)
    u = curve.apply(np.array([0.5, 0.8]))[1]
    between = curve.u_of_difference(0.5, np.array([0.5, 0.8, 1.1]))
    assert between[0] == 0.0
    assert between[1] < 0.3 * u[0]
    # a line: nothing but its error of scale
    assert between[2] == pytest.approx(2.0 * between[1], rel=1e-9)
    assert between[1] == pytest.approx(0.3 * np.sqrt(curve.covariance[1, 1]), rel=1e-9)


def test_extrapolated_and_missing_readings_are_flagged() -> None:
    curve = curve_of(GAUGES, GAUGES)
    value, _, inside = curve.apply(np.array([-0.01, 0.0, 2.5, 2.51, np.nan]))
    assert inside.tolist() == [False, True, True, False, False]
    assert np.isnan(value[4])
    assert curve.range_mm == (0.0, 2.5)


def test_uncertainty_grows_away_from_the_gauges() -> None:
    rng = np.random.default_rng(1)
    curve = curve_of(GAUGES + rng.normal(0, 0.002, 6), GAUGES)
    u = curve.apply(np.array([1.25, 2.5, 5.0]))[1]
    assert u[0] < u[1] < u[2]


@pytest.mark.parametrize(
    ("reading", "gauge", "says"),
    [
        ([0.0, 1.0], [0.0, 1.0], "only 2 different"),
        ([0.0, 0.0, 0.0, 0.0], [1.0, 1.0, 1.0, 1.0], "only 1 different"),
        ([0.0, 1.0, 0.0, 1.0], [0.0, 1.0, 0.0, 1.0], "only 2 different"),
        ([0.7, 0.7, 0.7], [0.0, 0.5, 1.0], "every gauge reads the same"),
    ],
)
def test_what_determines_no_curve_is_refused(
    reading: list[float], gauge: list[float], says: str
) -> None:
    with pytest.raises(SensorError, match=says):
        fitted(np.array(reading), np.array(gauge))


def test_a_curve_that_turns_back_is_refused() -> None:
    reading = np.linspace(0.0, 1.0, 9)
    with pytest.raises(SensorError, match="turns back"):
        fitted(reading, (reading - 0.05) ** 2)


def test_falling_sensor_is_as_good() -> None:
    assert curve_of(-GAUGES, GAUGES).apply(np.array([-1.0]))[0][0] == pytest.approx(1.0, abs=1e-12)
