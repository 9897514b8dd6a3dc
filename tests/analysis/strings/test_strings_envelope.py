"""Strings' mass and tension; pluck height and envelope."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from analysis.instrument import Instrument, StringSpec
from analysis.strings.envelope import envelope_mm, pluck_height_mm, pluck_point_mm
from analysis.strings.materials import WOUND_MASS_FACTOR
from analysis.strings.strings import mass_kg_per_m, string_loads


def test_given_mass_is_taken() -> None:
    assert mass_kg_per_m(StringSpec("E4", 330.0, 0.7, False, 0.00045)) == 0.00045


def test_wound_strings_weigh_less_than_solid() -> None:
    solid = mass_kg_per_m(StringSpec("D3", 147.0, 0.66, False))
    wound = mass_kg_per_m(StringSpec("D3", 147.0, 0.66, True))
    assert wound == pytest.approx(WOUND_MASS_FACTOR * solid)


def test_every_string_pulls_over_its_own_scale(walnut: Instrument) -> None:
    fanned = replace(walnut, scale_bass_mm=700.0, scale_treble_mm=600.0)
    straight, fan = string_loads(walnut), string_loads(fanned)
    assert fan[0].tension_n == pytest.approx(straight[0].tension_n * (600.0 / 641.0) ** 2)
    assert fan[5].tension_n == pytest.approx(straight[5].tension_n * (700.0 / 641.0) ** 2)
    # an everyday set pulls some 50 to 120 N a string
    assert all(50.0 < load.tension_n < 120.0 for load in straight)


@settings(deadline=None, max_examples=50)
@given(st.floats(0.1, 2.0), st.floats(40.0, 120.0), st.floats(150.0, 650.0), st.floats(60.0, 140.0))
def test_the_corner_balances_the_pull(f: float, tension: float, length: float, p: float) -> None:
    h = float(pluck_height_mm(f, np.array(tension), np.array(length), p))
    # small angles: T (h / p + h / (l - p)) = F
    assert tension * (h / p + h / (length - p)) == pytest.approx(f, rel=1e-9)


def test_a_string_fretted_nearer_than_the_pluck_is_plucked_at_its_middle() -> None:
    assert pluck_point_mm(np.array([640.0, 120.0, 100.0]), 120.0).tolist() == [120.0, 60.0, 50.0]


PLUCKED = given(st.floats(0.0, 1.0), st.floats(80.0, 650.0), st.floats(30.0, 140.0))


def first_shape(s: float, length: float, p: float) -> float:
    """Corner 1, a distance p from the saddle; the middle where the string is shorter than p."""
    corner = p if length > p else length / 2.0
    return float(np.interp(s, [0.0, length - corner, length], [0.0, 1.0, 0.0]))


@settings(deadline=None, max_examples=50)
@PLUCKED
def test_the_envelope_is_the_first_shape_turned_about(
    share: float, length: float, p: float
) -> None:
    s = share * length
    found = envelope_mm(np.array(1.0), np.array(s), np.array(length), p)
    assert found == pytest.approx(first_shape(length - s, length, p), abs=1e-9)


@settings(deadline=None, max_examples=50)
@PLUCKED
def test_no_envelope_is_deeper_than_the_corner_and_none_at_the_ends(
    share: float, length: float, p: float
) -> None:
    at = envelope_mm(np.array(1.0), length * np.array([0.0, share, 1.0]), np.array(length), p)
    assert at[0] == 0.0
    assert at[2] == pytest.approx(0.0, abs=1e-12)
    assert 0.0 <= at[1] <= 1.0 + 1e-12
