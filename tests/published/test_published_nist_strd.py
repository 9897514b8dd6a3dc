"""NIST Statistical Reference Datasets, linear regression (public domain): certified values.

Norris is a calibration of ozone monitors, a line; Pontius of a load cell, a quadratic; Filip a
polynomial of degree 10, of the higher level of difficulty. Tolerance 1e-9 relative for the first
two, as double precision attains it; 1e-6 for Filip, a test of conditioning.
"""

from __future__ import annotations

from math import comb
from pathlib import Path

import numpy as np
import pytest
from scipy.stats import f as f_distribution

from calibration.sensor.curve import SensorFit, fit_sensor
from calibration.sensor.order import Scaled, fit_order
from calibration.sensor.readings import GaugeReadings

DATA = Path(__file__).parent / "data"
FILIP_B = [
    -1467.48961422980, -2772.17959193342, -2316.37108160893, -1127.97394098372,
    -354.478233703349, -75.1242017393757, -10.8753180355343, -1.06221498588947,
    -0.670191154593408e-01, -0.246781078275479e-02, -0.402962525080404e-04,
]  # fmt: skip
FILIP_SD = [
    298.084530995537, 559.779865474950, 466.477572127796, 227.204274477751, 71.6478660875927,
    15.2897178747400, 2.23691159816033, 0.221624321934227, 0.142363763154724e-01,
    0.535617408889821e-03, 0.896632837373868e-05,
]  # fmt: skip


def about_zero(middle: float, half: float, terms: int) -> np.ndarray:
    """Takes coefficients of ((x - middle) / half)^k to those of x^k."""
    move = np.zeros((terms, terms))
    for power in range(terms):
        for k in range(power + 1):
            move[k, power] = comb(power, k) * (-middle) ** (power - k) / half**power
    return move


def certified_form(fit: SensorFit) -> tuple[np.ndarray, np.ndarray]:
    """Coefficients about 0 and their standard deviations."""
    curve = fit.curve
    move = about_zero(curve.reference_mm, 1.0, curve.order + 1)
    return move @ curve.coefficients, np.sqrt(np.diag(move @ curve.covariance @ move.T))


def readings(name: str) -> GaugeReadings:
    y, x = np.loadtxt(DATA / name, delimiter=",", skiprows=3).T
    return GaugeReadings.once(x, y, np.zeros_like(y))


def test_norris_is_a_line() -> None:
    fit = fit_sensor(readings("nist_strd_norris.csv"))
    b, sd = certified_form(fit)
    np.testing.assert_allclose(b, [-0.262323073774029, 1.00211681802045], rtol=1e-9)
    np.testing.assert_allclose(sd, [0.232818234301152, 0.429796848199937e-3], rtol=1e-9)
    assert fit.curve.scatter_mm == pytest.approx(0.884796396144373, rel=1e-9)
    np.testing.assert_array_equal(fit.order.order, 1)


def test_pontius_is_a_quadratic() -> None:
    fit = fit_sensor(readings("nist_strd_pontius.csv"))
    assert fit.order.order == 2
    b, sd = certified_form(fit)
    certified = [0.673565789473684e-3, 0.732059160401003e-6, -0.316081871345029e-14]
    np.testing.assert_allclose(b, certified, rtol=1e-9)
    deviations = [0.107938612033077e-3, 0.157817399981659e-9, 0.486652849992036e-16]
    np.testing.assert_allclose(sd, deviations, rtol=1e-9)
    assert fit.curve.scatter_mm == pytest.approx(0.205177424076185e-3, rel=1e-9)


def test_filip_keeps_its_digits() -> None:
    """The published degree is given: readings scaled to -1..1 and a QR keep it well conditioned."""
    filip = readings("nist_strd_filip.csv")
    fit, scaled = fit_order(filip, 10), Scaled.of(filip)
    move = about_zero(scaled.middle_mm, scaled.half_mm, 11)
    np.testing.assert_allclose(move @ fit.coefficients, FILIP_B, rtol=1e-6)
    np.testing.assert_allclose(
        np.sqrt(np.diag(move @ fit.covariance @ move.T)), FILIP_SD, rtol=1e-6
    )
    # 0.00334801051324544 as certified; exact rational arithmetic gives the same digits
    assert np.sqrt(fit.variance) == pytest.approx(0.334801051324544e-2, rel=1e-6)


@pytest.mark.parametrize(("name", "order"), [("norris", 1), ("pontius", 1), ("pontius", 2)])
def test_the_chance_of_no_bend_is_that_of_the_f_test(name: str, order: int) -> None:
    """Against the sums of squares themselves and scipy's F distribution."""
    data = readings(f"nist_strd_{name}.csv")
    low, high = fit_order(data, order), fit_order(data, order + 1)
    free = data.gauge_mm.size - order - 2
    ss_low, ss_high = np.sum(low.left**2), np.sum(high.left**2)
    expected = f_distribution.sf((ss_low - ss_high) / (ss_high / free), 1, free)
    found = high.chance_of_none(slice(order + 1, order + 2))
    assert found == pytest.approx(expected, rel=1e-4, abs=1e-12)
