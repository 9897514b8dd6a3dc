"""Thermal expansion: a steel gauge block's coefficient, and Timoshenko's bimetal strip.

JCGM 100:2008, H.1.3.4: expansion of a steel gauge block 11.5e-6 per degree. Timoshenko, Analysis
of bi-metal thermostats, J. Opt. Soc. Am. 11 (1925) 233-255: for layers of one thickness and
modulus the curvature is 3 (a2 - a1) rise / (2 h). The lengths and sagittas below are worked by
hand from these; the coefficient of aluminium and the moduli are from memory.
"""

from __future__ import annotations

import pytest

from calibration.drift.thermal import (
    ALUMINIUM_BED,
    ALUMINIUM_PER_K,
    STEEL_PER_K,
    STEEL_RAIL,
    Layer,
    bimetal_bow_mm,
    expansion_mm,
    gradient_bow_mm,
)


def test_the_gauge_block_of_the_guide() -> None:
    assert pytest.approx(11.5e-6) == STEEL_PER_K


@pytest.mark.parametrize(
    ("length_mm", "per_k", "rise_k", "um"),
    [
        (650.0, STEEL_PER_K, 5.0, 37.375),
        (650.0, ALUMINIUM_PER_K, 5.0, 74.750),
        (450.0, STEEL_PER_K, 1.0, 5.175),
        (450.0, ALUMINIUM_PER_K, 1.0, 10.350),
    ],
)
def test_a_bar_grows(length_mm: float, per_k: float, rise_k: float, um: float) -> None:
    assert 1e3 * expansion_mm(length_mm, per_k, rise_k) == pytest.approx(um, abs=1e-9)


@pytest.mark.parametrize(("per_k", "um"), [(STEEL_PER_K, 1.455469), (ALUMINIUM_PER_K, 2.910938)])
def test_a_tenth_of_a_degree_across_a_bar(per_k: float, um: float) -> None:
    assert 1e3 * gradient_bow_mm(450.0, 20.0, per_k, 0.1) == pytest.approx(um, abs=1e-6)


def test_two_metals() -> None:
    bow = bimetal_bow_mm(450.0, STEEL_RAIL, ALUMINIUM_BED, 1.0)
    assert 8.0 * bow / 450.0**2 == pytest.approx(5.99404319e-7, rel=1e-8)
    assert 1e3 * bow == pytest.approx(15.172422, abs=1e-6)


def test_equal_layers_are_timoshenko_s_short_formula() -> None:
    one, other = Layer(5.0, STEEL_PER_K, 70.0), Layer(5.0, ALUMINIUM_PER_K, 70.0)
    curvature = 8.0 * bimetal_bow_mm(450.0, one, other, 1.0) / 450.0**2
    assert curvature == pytest.approx(1.725e-6, rel=1e-9)
    assert curvature == pytest.approx(1.5 * (ALUMINIUM_PER_K - STEEL_PER_K) / 10.0, rel=1e-9)
