"""JCGM 100:2008 (GUM), annex H.5: between-day variation, table H.9, ten days of five readings.

The table prints means and standard deviations rounded, so that F comes to 2.26 where 2.25 is
printed; tolerances 0.5 uV and 0.02.
"""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from scipy.stats import f as f_distribution

from calibration.uncertainty.anova import OneWay, one_way

DATA = Path(__file__).parent / "data" / "gum_h5_zener_anova.csv"


@pytest.fixture(scope="module")
def zener() -> OneWay:
    """Five readings a day that have the printed mean and standard deviation, in microvolts."""
    _, mean, s, _ = np.loadtxt(DATA, delimiter=",", skiprows=3).T
    pattern = np.array([-2.0, -1.0, 0.0, 1.0, 2.0]) / np.sqrt(2.5)
    return one_way(1e6 * (mean[:, None] - 10.0) + s[:, None] * pattern)


def test_within_and_between(zener: OneWay) -> None:
    assert zener.s_r == pytest.approx(85.0, abs=0.5)
    assert zener.s_r == pytest.approx(84.8870, abs=5e-5)
    assert zener.s_l == pytest.approx(43.0, abs=0.5)
    assert zener.s_l == pytest.approx(42.6386, abs=5e-5)
    assert np.sqrt(zener.ms_between / 5) == pytest.approx(57.0, abs=0.5)


def test_f_and_its_critical_values(zener: OneWay) -> None:
    assert zener.f == pytest.approx(2.25, abs=0.02)
    assert (zener.dof_between, zener.dof_within) == (9, 40)
    assert f_distribution.isf(0.05, 9, 40) == pytest.approx(2.124029, abs=5e-7)
    assert f_distribution.isf(0.025, 9, 40) == pytest.approx(2.451939, abs=5e-7)
    assert 0.025 < zener.p < 0.05


def test_uncertainty_of_the_mean(zener: OneWay) -> None:
    """57 / sqrt(10) with the days as they are; 13 were they all one."""
    assert zener.u_mean == pytest.approx(18.0533, abs=5e-5)
    together = (9 * zener.ms_between + 40 * zener.ms_within) / 49
    assert np.sqrt(together / 50) == pytest.approx(13.3232, abs=5e-5)
