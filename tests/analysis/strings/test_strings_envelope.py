"""Strings' mass, tension and bends; pluck height and envelope."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from analysis.instrument import Instrument, StringSpec
from analysis.strings.envelope import envelope_mm, pluck_height_mm, pluck_point_mm
from analysis.strings.strings import (
    WIDEST_BEND_MM,
    WOUND_MASS_FACTOR,
    bend_mm,
    bent_tension_n,
    mass_kg_per_m,
    string_loads,
)


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
@given(st.floats(0.1, 3.0), st.floats(60.0, 400.0))
def test_a_bend_stretches_to_its_pitch(walnut: Instrument, semitones: float, at: float) -> None:
    """Two straight parts, their lengths in full."""
    load = string_loads(walnut)[0]
    push = float(bend_mm(load, 641.0, np.array([at]), semitones)[0])
    if push >= WIDEST_BEND_MM:
        return
    stretched = np.hypot(at, push) + np.hypot(641.0 - at, push)
    tension = load.tension_n + load.stiffness_n * (stretched - 641.0) / 641.0
    rise = 6.0 * np.log2(tension / load.tension_n)
    assert rise == pytest.approx(semitones, rel=0.02)


def test_no_finger_pushes_further(walnut: Instrument) -> None:
    load = string_loads(walnut)[0]
    push = bend_mm(load, 641.0, np.array([30.0, 160.0, 320.0]), 12.0)
    assert push[-1] == WIDEST_BEND_MM
    assert np.all(np.diff(push) >= 0.0)


def test_an_octave_is_four_times_the_tension() -> None:
    assert bent_tension_n(70.0, 12.0) == pytest.approx(280.0)


@settings(deadline=None, max_examples=50)
@given(st.floats(0.1, 2.0), st.floats(40.0, 120.0), st.floats(150.0, 650.0), st.floats(60.0, 140.0))
def test_the_corner_balances_the_pull(f: float, tension: float, length: float, p: float) -> None:
    h = float(pluck_height_mm(f, np.array(tension), np.array(length), p))
    # small angles: T (h / p + h / (l - p)) = F
    assert tension * (h / p + h / (length - p)) == pytest.approx(f, rel=1e-9)


def test_a_string_fretted_nearer_than_the_pluck_is_plucked_at_its_middle() -> None:
    assert pluck_point_mm(np.array([640.0, 120.0, 100.0]), 120.0).tolist() == [120.0, 60.0, 50.0]


@settings(deadline=None, max_examples=50)
@given(st.floats(0.0, 1.0), st.floats(80.0, 650.0), st.floats(30.0, 140.0))
def test_the_envelope_is_the_first_shape_turned_about(
    share: float, length: float, p: float
) -> None:
    s = share * length
    corner = p if length > p else length / 2.0
    # the corner stands `corner` from the saddle; turned, it stands that far from the fret
    shape = np.interp(length - s, [0.0, length - corner, length], [0.0, 1.0, 0.0])
    found = envelope_mm(np.array(1.0), np.array(s), np.array(length), p)
    assert found == pytest.approx(shape, abs=1e-9)
