"""The sensor's calibration curve. Published values: tests/published."""

from __future__ import annotations

import json

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from calibration.sensor import SensorError, fit_sensor, from_document, to_document

GAUGES = np.array([0.0, 0.5, 1.0, 1.5, 2.0, 2.5])
NO_U = np.zeros_like(GAUGES)
NO_U_12 = np.zeros(12)


def test_exact_line_is_found_and_not_called_bent() -> None:
    curve = fit_sensor((GAUGES - 0.02) / 1.003, GAUGES, NO_U)
    value, u, inside = curve.apply(np.array([0.7]))
    assert value[0] == pytest.approx(1.003 * 0.7 + 0.02, abs=1e-12)
    assert u[0] < 1e-9
    assert inside[0]
    assert not curve.bent
    assert curve.linearity_mm < 1e-12


def test_exact_quadratic_is_called_bent_and_its_linearity_is_shown() -> None:
    reading = np.linspace(-1.0, 1.0, 9)
    gauge = 1.5 + reading + 0.03 * reading**2
    curve = fit_sensor(reading, gauge, np.zeros(9))
    assert curve.bent
    np.testing.assert_allclose(curve.residuals_mm, 0.0, atol=1e-12)
    # furthest off its own line: at the ends, 0.03 (1 - mean of r^2)
    assert curve.linearity_mm == pytest.approx(0.03 * (1.0 - np.mean(reading**2)), abs=1e-12)


def test_f_test_takes_a_line_for_bent_as_often_as_it_says() -> None:
    rng = np.random.default_rng(4)
    gauge = np.tile(GAUGES, 2)
    bent = [
        fit_sensor(gauge + rng.normal(0, 0.002, 12), gauge, np.zeros(12)).bent for _ in range(1000)
    ]
    assert 0.002 < np.mean(bent) < 0.025


def test_stated_uncertainty_covers() -> None:
    """Scatter from the readings, and one error for all readings of a gauge."""
    rng = np.random.default_rng(9)
    true = np.repeat(np.linspace(0.0, 3.0, 6), 3)
    within = []
    for _ in range(400):
        wrong = np.repeat(rng.normal(0.0, 0.001, 6), 3)
        curve = fit_sensor(true + rng.normal(0.0, 0.002, 18), true - wrong, np.full(18, 0.001))
        value, u, _ = curve.apply(np.array([0.4, 2.0]))
        within.append(np.abs(value - [0.4, 2.0]) < 2.0 * u)
    assert 0.93 < np.mean(within) <= 1.0


def test_uncertainty_of_a_bent_curve_keeps_its_covariance() -> None:
    """Against the scatter of curves fitted anew: at the middle, offset and bend work together."""
    rng = np.random.default_rng(3)
    reading = np.linspace(0.0, 2.0, 12)
    gauge = reading + 0.2 * reading**2
    at = np.array([0.0, 1.0, 2.0])
    curves = [fit_sensor(reading, gauge + rng.normal(0, 0.002, 12), NO_U_12) for _ in range(600)]
    assert all(curve.bent for curve in curves)
    values, u, _ = zip(*(curve.apply(at) for curve in curves), strict=True)
    np.testing.assert_allclose(
        np.std(values, axis=0), np.sqrt(np.mean(np.square(u), axis=0)), rtol=0.1
    )


def test_gauges_own_uncertainty_stays_however_often_they_are_read() -> None:
    gauge = np.repeat(GAUGES, 100)
    curve = fit_sensor(gauge, gauge, np.full(gauge.size, 0.001))
    middle = curve.apply(np.array([1.25]))[1][0]
    assert middle == pytest.approx(0.001 / np.sqrt(6.0), rel=1e-6)


def test_extrapolated_and_missing_readings_are_flagged() -> None:
    curve = fit_sensor(GAUGES, GAUGES, NO_U)
    value, _, inside = curve.apply(np.array([-0.01, 0.0, 2.5, 2.51, np.nan]))
    assert inside.tolist() == [False, True, True, False, False]
    assert np.isnan(value[4])
    assert curve.range_mm == (0.0, 2.5)


def test_uncertainty_grows_away_from_the_gauges() -> None:
    rng = np.random.default_rng(1)
    curve = fit_sensor(GAUGES + rng.normal(0, 0.002, 6), GAUGES, NO_U)
    u = curve.apply(np.array([1.25, 2.5, 5.0]))[1]
    assert u[0] < u[1] < u[2]


@pytest.mark.parametrize(
    ("reading", "gauge", "says"),
    [
        ([0.0, 1.0], [0.0, 1.0], "2 readings"),
        ([0.0, 0.0, 0.0, 0.0], [1.0, 1.0, 1.0, 1.0], "only 1 different"),
        ([0.0, 1.0, 0.0, 1.0], [0.0, 1.0, 0.0, 1.0], "only 2 different"),
        ([0.0, 1.0, 0.5, 1.5], [0.0, 0.5, 1.0, 1.5], "not one way: gauges 0.5 and 1"),
        ([0.7, 0.7, 0.7], [0.0, 0.5, 1.0], "not one way"),
        ([0.0, 0.5, 1.0, 1.0, 0.8], [0.0, 0.5, 1.0, 1.5, 2.0], "not one way: gauges 1.5 and 2"),
    ],
)
def test_what_determines_no_curve_is_refused(
    reading: list[float], gauge: list[float], says: str
) -> None:
    with pytest.raises(SensorError, match=says):
        fit_sensor(np.array(reading), np.array(gauge), np.zeros(len(gauge)))


def test_a_curve_that_turns_back_is_refused() -> None:
    reading = np.linspace(0.0, 1.0, 9)
    with pytest.raises(SensorError, match="turns back"):
        fit_sensor(reading, (reading - 0.05) ** 2, np.zeros(9))


def test_close_gauges_in_the_wrong_order_are_noise_not_a_mistake() -> None:
    reading = np.array([0.0, 1.001, 1.0, 2.0])
    curve = fit_sensor(reading, np.array([0.0, 1.0, 1.0005, 2.0]), np.zeros(4))
    assert curve.coefficients[1] == pytest.approx(1.0, abs=0.01)


def test_falling_sensor_is_as_good() -> None:
    curve = fit_sensor(-GAUGES, GAUGES, NO_U)
    assert curve.apply(np.array([-1.0]))[0][0] == pytest.approx(1.0, abs=1e-12)


@settings(deadline=None, max_examples=50)
@given(
    st.lists(st.floats(-0.01, 0.01), min_size=6, max_size=6),
    st.floats(0.9, 1.1),
    st.floats(-0.02, 0.02),
)
def test_document_round_trip_is_exact(noise: list[float], slope: float, bend: float) -> None:
    reading = GAUGES + np.array(noise)
    curve = fit_sensor(reading, slope * GAUGES + bend * GAUGES**2, np.full(6, 5e-4))
    kept = json.loads(json.dumps({**to_document(curve), "rig": "garage-rail", "made": "now"}))
    back = from_document(kept)
    at = np.linspace(-1.0, 4.0, 30)
    for one, other in zip(curve.apply(at), back.apply(at), strict=True):
        np.testing.assert_array_equal(one, other)
    assert to_document(back) == to_document(curve)


def test_documents_of_another_kind_or_cut_short_are_refused() -> None:
    whole = to_document(fit_sensor(GAUGES, GAUGES, NO_U))
    with pytest.raises(SensorError, match="kind: found 'rail'"):
        from_document({**whole, "kind": "rail"})
    del whole["covariance"]
    with pytest.raises(SensorError, match="covariance missing"):
        from_document(whole)
