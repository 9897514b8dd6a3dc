"""JCGM 100:2008 (GUM), annex H.3: calibration of a thermometer, table H.6, t0 = 20 degC.

The fitted correction b(t) = y1 + y2 (t - t0) stands here as the gauge's true value t + b.
"""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from calibration.sensor.curve import SensorCurve, fit_sensor
from calibration.sensor.readings import GaugeReadings

DATA = Path(__file__).parent / "data" / "gum_h3_thermometer.csv"
#: table H.6, fitted corrections and the differences from the observed ones
FITTED = [-0.1679, -0.1668, -0.1657, -0.1646, -0.1635, -0.1625, -0.1614, -0.1603, -0.1592]
FITTED += [-0.1581, -0.1570]
LEFT = [-0.0031, -0.0022, -0.0003, 0.0056, -0.0005, -0.0025, 0.0054, 0.0033, 0.0002, -0.0029]
LEFT += [-0.0030]


@pytest.fixture(scope="module")
def thermometer() -> SensorCurve:
    t, b = np.loadtxt(DATA, delimiter=",", skiprows=3).T
    return fit_sensor(GaugeReadings.once(t, t + b, np.zeros_like(t))).curve


def at_20(curve: SensorCurve) -> np.ndarray:
    """Covariance of (y1, y2) about 20 degC instead of the mean reading."""
    move = np.array([[1.0, 20.0 - curve.reference_mm], [0.0, 1.0]])
    return move @ curve.covariance @ move.T


def test_a_line_is_taken(thermometer: SensorCurve) -> None:
    assert thermometer.order == 1


def test_offset_and_slope(thermometer: SensorCurve) -> None:
    at, _, _ = thermometer.apply(np.array([20.0]))
    assert at[0] - 20.0 == pytest.approx(-0.1712, abs=5e-5)
    assert at[0] - 20.0 == pytest.approx(-0.171203790131, rel=1e-9)
    assert thermometer.coefficients[1] - 1.0 == pytest.approx(0.00218, abs=5e-6)
    assert thermometer.coefficients[1] - 1.0 == pytest.approx(0.00218269773989, rel=1e-9)


def test_standard_uncertainties_and_correlation(thermometer: SensorCurve) -> None:
    covariance = at_20(thermometer)
    u1, u2 = np.sqrt(np.diag(covariance))
    assert u1 == pytest.approx(0.0029, abs=5e-5)
    assert u1 == pytest.approx(0.00287759783516, rel=1e-9)
    assert u2 == pytest.approx(0.00067, abs=5e-6)
    assert u2 == pytest.approx(0.000667938773228, rel=1e-9)
    assert covariance[0, 1] / (u1 * u2) == pytest.approx(-0.930, abs=5e-4)
    assert covariance[0, 1] / (u1 * u2) == pytest.approx(-0.930429603093, rel=1e-9)


def test_scatter_and_residuals(thermometer: SensorCurve) -> None:
    assert thermometer.scatter_mm == pytest.approx(0.0035, abs=5e-5)
    assert thermometer.scatter_mm == pytest.approx(0.00349756396351, rel=1e-9)
    assert np.sum(thermometer.residuals_mm**2) == pytest.approx(1.10096583109e-4, rel=1e-9)
    np.testing.assert_allclose(thermometer.residuals_mm, LEFT, atol=5.1e-5)
    fitted = thermometer.apply(thermometer.reading_mm)[0] - thermometer.reading_mm
    np.testing.assert_allclose(fitted, FITTED, atol=5.1e-5)


def test_predicted_correction_at_30_keeps_the_covariance(thermometer: SensorCurve) -> None:
    value, u, inside = thermometer.apply(np.array([30.0]))
    assert value[0] - 30.0 == pytest.approx(-0.1494, abs=5e-5)
    assert value[0] - 30.0 == pytest.approx(-0.149376812732, rel=1e-9)
    # 0.00727 where the covariance is dropped
    assert u[0] == pytest.approx(0.0041, abs=5e-5)
    assert u[0] == pytest.approx(0.00413859575285, rel=1e-9)
    assert np.hypot(u[0], thermometer.scatter_mm) == pytest.approx(0.00541857255, rel=1e-8)
    assert not inside[0]


def test_about_the_mean_offset_and_slope_do_not_correlate(thermometer: SensorCurve) -> None:
    assert thermometer.reference_mm == pytest.approx(24.008454545, abs=1e-9)
    offset = thermometer.coefficients[0] - thermometer.reference_mm
    # recomputed in CHECKS; the printed -0.1625 and 0.0011 are from memory and left out
    assert offset == pytest.approx(-0.162454545, abs=5e-10)
    assert np.sqrt(thermometer.covariance[0, 0]) == pytest.approx(0.001054555, abs=5e-10)
    assert thermometer.covariance[0, 1] == pytest.approx(0.0, abs=1e-15)


def test_coverage_factor_is_students_t(thermometer: SensorCurve) -> None:
    """Nine degrees of freedom, 95 %: t = 2.26 (GUM, table G.2)."""
    assert thermometer.factor == pytest.approx(2.26, abs=5e-3)
