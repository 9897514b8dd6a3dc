"""NIST Statistical Reference Datasets, linear regression (public domain): certified values.

Norris is a calibration of ozone monitors, a line; Pontius of a load cell, a quadratic.
Tolerance 1e-9 relative, as double precision attains it.
"""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from calibration.sensor import SensorCurve, fit_sensor

DATA = Path(__file__).parent / "data"


def certified_form(curve: SensorCurve) -> tuple[np.ndarray, np.ndarray]:
    """Coefficients about 0 and their standard deviations."""
    r = curve.reference_mm
    move = np.array([[1.0, -r, r * r], [0.0, 1.0, -2.0 * r], [0.0, 0.0, 1.0]])
    size = curve.coefficients.size
    move = move[:size, :size]
    return move @ curve.coefficients, np.sqrt(np.diag(move @ curve.covariance @ move.T))


def fitted(name: str) -> SensorCurve:
    y, x = np.loadtxt(DATA / name, delimiter=",", skiprows=3).T
    return fit_sensor(x, y, np.zeros_like(y))


def test_norris() -> None:
    curve = fitted("nist_strd_norris.csv")
    b, sd = certified_form(curve)
    np.testing.assert_allclose(b, [-0.262323073774029, 1.00211681802045], rtol=1e-9)
    np.testing.assert_allclose(sd, [0.232818234301152, 0.429796848199937e-3], rtol=1e-9)
    assert curve.scatter_mm == pytest.approx(0.884796396144373, rel=1e-9)


def test_pontius() -> None:
    curve = fitted("nist_strd_pontius.csv")
    b, sd = certified_form(curve)
    certified = [0.673565789473684e-3, 0.732059160401003e-6, -0.316081871345029e-14]
    np.testing.assert_allclose(b, certified, rtol=1e-9)
    deviations = [0.107938612033077e-3, 0.157817399981659e-9, 0.486652849992036e-16]
    np.testing.assert_allclose(sd, deviations, rtol=1e-9)
    assert curve.scatter_mm == pytest.approx(0.205177424076185e-3, rel=1e-9)
