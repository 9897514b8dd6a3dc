"""Cores, materials, and strings that break or rattle."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from analysis.instrument import Instrument, StringSpec
from analysis.strings.materials import MATERIALS
from analysis.strings.soundness import (
    RATTLE_MM,
    breaking_share,
    everyday_swing_mm,
    least_pull_n,
)
from analysis.strings.strings import core_mm, mass_kg_per_m, string_load, string_loads

D3 = StringSpec("D3", 146.832384, 0.6604, True)


def test_the_core_alone_pulls() -> None:
    given_core = replace(D3, core_mm=0.35)
    assert core_mm(given_core) == 0.35
    assert core_mm(replace(D3, wound=False)) == 0.6604
    load = string_load(given_core, 641.0)
    assert load.stiffness_n == pytest.approx(200e9 * np.pi * 0.35e-3**2 / 4.0)
    assert load.bending_nm2 == pytest.approx(200e9 * np.pi * 0.35e-3**4 / 64.0)
    # the winding weighs, the core does not change that
    assert load.mass_kg_per_m == string_load(D3, 641.0).mass_kg_per_m


@pytest.mark.parametrize(
    ("diameter_mm", "core"), [(0.40, 0.24), (0.66, 0.30), (1.168, 0.4672), (2.667, 0.65)]
)
def test_a_core_nobody_gave(diameter_mm: float, core: float) -> None:
    """0.4 of the diameter, from 0.30 to 0.65 mm; never thicker than leaves room for a winding."""
    assert core_mm(replace(D3, diameter_mm=diameter_mm)) == pytest.approx(core)


def test_nylon_weighs_a_seventh_and_stretches_forty_times_as_much() -> None:
    steel = StringSpec("E4", 329.6, 0.7, False)
    nylon = replace(steel, material="nylon")
    assert mass_kg_per_m(nylon) / mass_kg_per_m(steel) == pytest.approx(1140.0 / 7850.0)
    strain = [load.tension_n / load.stiffness_n for load in
              (string_load(spec, 650.0) for spec in (steel, nylon))]  # fmt: skip
    assert strain[1] / strain[0] == pytest.approx(40.0 * 1140.0 / 7850.0)


@settings(deadline=None, max_examples=40)
@given(st.sampled_from(list(MATERIALS)), st.floats(0.2, 1.2), st.floats(80.0, 400.0))
def test_whether_a_plain_string_breaks_hardly_depends_on_its_gauge(
    material: str, diameter_mm: float, hz: float
) -> None:
    """rho (2 L f)^2 over the strength; only steel's goes with the diameter, and weakly."""
    spec = StringSpec("E4", hz, diameter_mm, False, None, material)
    share = breaking_share(string_load(spec, 641.0), spec)
    stress = MATERIALS[material].density_kg_per_m3 * (2.0 * 0.641 * hz) ** 2
    weaker = diameter_mm ** (0.145 if material == "steel" else 0.0)
    first = {"steel": 2211e6, "nylon": 500e6, "fluorocarbon": 600e6, "gut": 320e6}[material]
    assert share == pytest.approx(stress / first * weaker, rel=1e-9)


@settings(deadline=None, max_examples=40)
@given(st.floats(50.0, 500.0), st.floats(300.0, 900.0), st.floats(1e-4, 1e-2))
def test_tension_goes_with_the_square_of_pitch_and_length_and_with_mass(
    hz: float, length: float, mass: float
) -> None:
    spec = StringSpec("E4", hz, 0.5, False, mass)
    pull = string_load(spec, length).tension_n
    assert string_load(replace(spec, frequency_hz=2 * hz), length).tension_n / pull == (
        pytest.approx(4.0)
    )
    assert string_load(spec, 2 * length).tension_n / pull == pytest.approx(4.0)
    assert string_load(replace(spec, mass_kg_per_m=3 * mass), length).tension_n / pull == (
        pytest.approx(3.0)
    )


def test_a_slack_string_swings_past_any_action() -> None:
    least = least_pull_n(641.0)
    assert least == pytest.approx(14.4, abs=0.05)
    assert everyday_swing_mm(least, 641.0) == pytest.approx(RATTLE_MM)
    # 0.6 N, 120 mm from the saddle: h = F p (l - p) / (T l), and h (l/2) / (l - p) over fret 12
    h = 0.6 * 120.0 * 521.0 / (14.4 * 641.0)
    assert everyday_swing_mm(14.4, 641.0) == pytest.approx(h * 320.5 / 521.0)


def test_a_saddle_further_back_pulls_its_string_harder(walnut: Instrument) -> None:
    past = (1.2, 1.7, 2.2, 2.7, 3.2, 3.7)
    moved = replace(walnut, compensation_mm=past)
    for plain, load, mm in zip(string_loads(walnut), string_loads(moved), past, strict=True):
        assert load.tension_n / plain.tension_n == pytest.approx(((641.0 + mm) / 641.0) ** 2)
